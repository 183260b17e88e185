"""Legs that a rig has twice, one over the other: those of its skin, and those that are steered."""

from __future__ import annotations

import numpy as np

from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.branches import Branches
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.rig import AT_JOINT
from gaitgen.rigs.rig_map import RigMap

LEAST_TWINS = 3  # joints of a leg that have another one at their place: fewer are goals and pointers


def twin_legs(branches: Branches, found: RigMap) -> dict[str, list[str]]:
    """Find by limb the joints of a second leg, from the top; empty where not all four limbs have one.

    Parameters
    ----------
    branches, found
        The rig, and what was found in it.
    """
    names = branches.nodes.names
    chains = {limb: [names.index(name) for name in found.limbs[limb].joints] for limb in LIMBS}
    taken = {joint for chain in chains.values() for joint in branches.joints_below(chain[0])}
    free = [joint for joint in range(len(names)) if joint not in taken]
    twins = {}
    for limb, chain in chains.items():
        own = []
        for on in chain:
            away = np.linalg.norm(branches.here[free] - branches.here[on], axis=1)
            own += [free[row] for row in np.flatnonzero(away < AT_JOINT * branches.hip)]
        rows = [joint for joint in own if own[0] in branches.nodes.line(joint)]
        if len(rows) < LEAST_TWINS:
            return {}
        twins[limb] = [names[joint] for joint in rows]
    return twins


def twins_doubt(found: RigMap, twins: dict[str, list[str]]) -> Doubt:
    """Say which of two legs at one place was taken, and what becomes of the other."""
    pairs = ", ".join(f"{found.limbs[limb].joints[0]!r} and {twins[limb][0]!r}" for limb in LIMBS)
    text = (
        f"the legs are there twice, at the same places: {pairs}. The first of each two is taken; the second "
        "stays still against what carries it. If the second is the one that moves the skin, name its joints "
        "in [limbs] of the map; once the motion is on the rig, let the other leg follow."
    )
    return Doubt("twins", text)
