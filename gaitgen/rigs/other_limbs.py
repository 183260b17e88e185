"""Ends near the ground that hang on a limb whose foot is elsewhere, as a wing on a shoulder blade does."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.rigs.nodes import Nodes, common_joint

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


def without_other_limbs(
    nodes: Nodes, feet: Sequence[Sequence[int]], aside: Bools, along: Array
) -> list[list[int]]:
    """Leave out of the feet of one side the ends that hang on the limb of another foot.

    Parameters
    ----------
    nodes
        A rig.
    feet
        Ends of each foot of one side, from the rear to the front.
    aside, along
        (nodes,) whether a node is aside of the plane of symmetry, and its place fore and aft.

    Returns
    -------
    The feet: each without such ends, unless it has no others; and of two feet on one limb with a foot of
    another limb between them the one that is more nearly under where the limb parts.
    """
    own = []
    for foot in feet:
        others = [other for other in feet if other is not foot]
        own.append([leaf for leaf in foot if not _hang_on_one(nodes, [leaf], others, aside)] or [*foot])
    kept = list(own)
    for rear in range(len(own)):
        for front in range(rear + 2, len(own)):
            pair = own[rear], own[front]
            if all(foot in kept for foot in pair) and _hang_on_one(nodes, pair[0], [pair[1]], aside):
                parts = float(along[common_joint(nodes, [*pair[0], *pair[1]])])
                kept.remove(max(pair, key=lambda foot: abs(float(along[foot].mean()) - parts)))
    return kept


def _hang_on_one(nodes: Nodes, ends: Sequence[int], feet: Sequence[Sequence[int]], aside: Bools) -> bool:
    """Tell whether some ends and an end of one of some feet hang on one joint beside the trunk."""
    return any(bool(aside[common_joint(nodes, [*ends, leaf])]) for foot in feet for leaf in foot)
