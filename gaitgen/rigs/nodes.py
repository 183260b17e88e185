"""Joints and End Sites of a rig as one tree, and the complaint that a pose of it does not stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


# Of the size of a rig: joints that are nearer to one another are at one place; files have six digits.
AT_ONE_PLACE = 1e-5
# Of the joints of a rig: as many are in groups of their own, or none is taken for one (estimate).
GROUPED = 0.5


class NotStandingError(Exception):
    """The pose is no standing quadruped; ``rank`` tells how far the search came."""

    def __init__(self, rank: int, text: str) -> None:
        super().__init__(text)
        self.rank, self.text = rank, text


@dataclass(frozen=True, eq=False)
class Nodes:
    """Joints and End Sites of a standing rig as one tree.

    Attributes
    ----------
    names
        Names of the joints; End Sites have none.
    parents, places
        (nodes,), (nodes, 3); joints first, the root at 0.
    """

    names: tuple[str, ...]
    parents: Ints
    places: Array
    _children: list[list[int]] = field(init=False)

    def __post_init__(self) -> None:
        """List what hangs on each node."""
        below: list[list[int]] = [[] for _ in self.parents]
        for node, parent in enumerate(self.parents.tolist()):
            if parent >= 0:
                below[parent].append(node)
        object.__setattr__(self, "_children", below)

    @property
    def size(self) -> float:
        """Diagonal of the box around all points."""
        return float(np.linalg.norm(np.ptp(self.places, axis=0)))

    def children(self, node: int) -> list[int]:
        """Nodes that hang on a node."""
        return self._children[node]

    def line(self, node: int) -> list[int]:
        """Return a node and all above it, ending with the root."""
        found = [node]
        while self.parents[found[-1]] >= 0:
            found.append(int(self.parents[found[-1]]))
        return found

    def leaves(self) -> Ints:
        """Nodes that nothing hangs on."""
        return np.setdiff1d(np.arange(len(self.parents)), self.parents)


def without_groups(nodes: Nodes, kept: set[int]) -> Nodes:
    """Leave out joints that only carry another one at their own place, where a rig has them over most joints.

    So groups are: what is to turn is the joint itself, the last of them. Where there are only some, either of
    two at one place may be the joint, and all are left in.

    Parameters
    ----------
    nodes
        A rig.
    kept
        Joints that are left in all the same.
    """
    count, parents = len(nodes.names), nodes.parents.copy()
    near = AT_ONE_PLACE * nodes.size
    stay = np.ones(len(parents), dtype=np.bool_)
    for joint in range(1, count):
        below = nodes.children(joint)
        if joint in kept or len(below) != 1 or below[0] >= count:
            continue
        if float(np.linalg.norm(nodes.places[below[0]] - nodes.places[joint])) < near:
            stay[joint] = False
            parents[below] = parents[joint]  # joints come after what they hang on
    in_groups = stay[1:] & ~stay[np.maximum(nodes.parents[1:], 0)]
    if np.count_nonzero(in_groups) < GROUPED * np.count_nonzero(stay[:count]):
        return nodes
    at = np.cumsum(stay) - 1
    names = tuple(name for name, stays in zip(nodes.names, stay, strict=False) if stays)
    return Nodes(names, np.where(parents < 0, -1, at[parents])[stay], nodes.places[stay])


def common_joint(nodes: Nodes, members: Sequence[int]) -> int:
    """Return the lowest joint that all of some nodes hang on."""
    lines = [nodes.line(node)[::-1] for node in members]
    common = 0
    for level in zip(*lines, strict=False):
        if len(set(level)) > 1:
            break
        common = level[0]
    return common
