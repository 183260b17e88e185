"""The nodes of a standing rig by what hangs on what: rows, pairs and how far they reach."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.rigs.nodes import Nodes
from gaitgen.rigs.stance import Stance

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Pair = tuple[int, int]  # left, right

# Of the rig's size: how near to each other's mirror image the joints of a pair are (estimate).
PAIR_NEAR = 0.01


@dataclass(frozen=True, eq=False)
class Branches:
    """The nodes of a standing rig, forward, left, up from the ground, by what hangs on what.

    Attributes
    ----------
    nodes, stance
        The rig and how it stands.
    here
        (nodes, 3) places; forward, left, up, the ground at 0.
    hip
        Height of the hips, in the same unit.
    """

    nodes: Nodes
    stance: Stance
    here: Array
    hip: float

    @property
    def flat(self) -> Bools:
        """(nodes,) whether a node is on the plane of symmetry."""
        return np.asarray(self.stance.mates == np.arange(len(self.here)))

    def name(self, node: int) -> str:
        """Return the name of a joint."""
        return self.nodes.names[node]

    def joints_on(self, node: int) -> list[int]:
        """Return the joints that hang on one, without End Sites."""
        return [child for child in self.nodes.children(node) if child < len(self.nodes.names)]

    def below(self, node: int) -> list[int]:
        """Return a node and everything that hangs on it."""
        found = [node]
        for member in found:
            found.extend(self.nodes.children(member))
        return found

    def joints_below(self, node: int) -> list[int]:
        """Return a joint and the joints that hang on it."""
        return [member for member in self.below(node) if member < len(self.nodes.names)]

    def length(self, node: int) -> float:
        """Return how far the farthest point of a branch is from where it begins."""
        return float(np.linalg.norm(self.here[self.below(node)] - self.here[node], axis=1).max())

    def far(self, node: int) -> Array:
        """Return the point of a branch that is farthest from where it begins, (3,)."""
        branch = self.here[self.below(node)]
        return np.asarray(branch[int(np.linalg.norm(branch - self.here[node], axis=1).argmax())])

    def reach(self, node: int) -> tuple[float, float, float]:
        """Return the rearmost, foremost and highest point of a branch."""
        branch = self.here[self.below(node)]
        return float(branch[:, 0].min()), float(branch[:, 0].max()), float(branch[:, 2].max())

    def row_from(self, start: int) -> list[int]:
        """Return joints from one on, along the longest branch on the plane of symmetry."""
        line = [start]
        while True:
            below = [child for child in self.joints_on(line[-1]) if self.flat[child]]
            if not below:
                return line
            origin = self.here[line[-1]]
            line.append(
                max(
                    below,
                    key=lambda c: float(np.linalg.norm(self.here[self.below(c)] - origin, axis=1).max()),
                )
            )

    def row_ahead(self, start: int) -> list[int]:
        """Return joints from one on, on the plane of symmetry, by what reaches farthest ahead and up.

        So a row goes on into the head, and not into a mane that hangs on the neck and is longer.
        """
        line = [start]
        while below := [child for child in self.joints_on(line[-1]) if self.flat[child]]:
            line.append(max(below, key=lambda c: (sum(self.reach(c)[1:]), -c)))
        return line

    def pairs_on(self, node: int) -> list[Pair]:
        """Return mirrored joints that hang on one, left and right; each is in one pair, the nearest."""
        below, mates, places = self.joints_on(node), self.stance.mates, self.nodes.places
        found = []
        for left in below:
            for right in below:
                if left == right or mates[left] in {-1, left} or self.here[left, 1] <= self.here[right, 1]:
                    continue
                away = float(np.linalg.norm(self.here[right] - self.here[left] * [1.0, -1.0, 1.0]))
                if np.linalg.norm(places[mates[left]] - places[right]) < PAIR_NEAR * self.nodes.size:
                    found.append((away, left, right))
        pairs: list[Pair] = []
        for _, left, right in sorted(found):
            if not any({left, right} & {*pair} for pair in pairs):
                pairs.append((left, right))
        return sorted(pairs)

    def is_row(self, node: int) -> bool:
        """Tell whether a branch has no forks."""
        return all(len(self.joints_on(member)) < 2 for member in self.joints_below(node))

    def named(self, node: int, words: tuple[str, ...]) -> bool:
        """Tell whether a name has one of some words."""
        return any(word in self.name(node).lower() for word in words)
