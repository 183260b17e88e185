"""Neck, head, jaw and ears of a rig, told from horns, reins and a hanging row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.stance import Nodes, Stance

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Pair = tuple[int, int]  # left, right

JAW_WORDS = ("jaw", "mand", "chin", "mouth", "kiefer")
EAR_WORDS = ("ear", "ohr")
OTHER_WORDS = ("eye", "auge", "lid", "brow", "nost", "horn", "rein", "whisker")
# An ear is no longer than this share of the height of the hips, begins no farther before the joint of the
# head than the next, and does not point forward beyond it by more than the last (estimates).
EAR_LENGTH, EAR_AHEAD, EAR_FORWARD = 0.7, 0.12, 0.1
# A row of so many joints on the head is no jaw.
MOST_JAW_JOINTS = 3
# Of what may be the jaw, that begins so much farther from the joint of the head than the nearest is none.
HINGE_NEAR = 0.12  # of the height of the hips (estimate)
LEAST_LENGTH = 0.02  # of the height of the rig: what is shorter is no jaw


@dataclass(frozen=True)
class HeadParts:
    """Nodes of neck and head; None for what the rig does not have."""

    neck: tuple[int, ...] = ()
    head: int | None = None
    jaw: int | None = None
    ears: Pair | None = None
    hanging: tuple[int, ...] = ()  # a long row that hangs on the head, such as a trunk


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
                if np.linalg.norm(places[mates[left]] - places[right]) < 0.01 * self.nodes.size:
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


def head_parts(branches: Branches, neck_start: int | None, notices: list[Notice]) -> HeadParts:
    """Find neck, head, jaw, ears, and a long row that hangs on the head.

    Parameters
    ----------
    branches
        The rig.
    neck_start
        First joint of the neck, or None.
    notices
        Gets a doubt where several joints may be the ears, and where some of the head stay still.
    """
    if neck_start is None:
        return HeadParts()
    line = branches.row_ahead(neck_start)
    pairs = {node: branches.pairs_on(node) for node in line}
    ears = {node: [pair for pair in pairs[node] if _like_ears(branches, node, pair)] for node in line}
    head = _head(branches, line, pairs, ears)
    chosen = _ears(branches, head, pairs[head], ears[head], notices)
    _say_rows(branches, chosen, notices)
    jaw = _jaw(branches, head, notices)
    taken = {jaw, *(chosen or ())}
    rows = [
        branches.row_from(child)
        for child in branches.joints_on(head)
        if branches.flat[child] and child not in taken
    ]
    longest = max(rows, key=len, default=[])
    hanging = tuple(longest) if len(longest) > MOST_JAW_JOINTS else ()
    return HeadParts(tuple(line[: line.index(head)]), head, jaw, chosen, hanging)


def _head(
    branches: Branches, line: list[int], pairs: dict[int, list[Pair]], ears: dict[int, list[Pair]]
) -> int:
    """Choose the joint of a row that is the head: the last with ears, with any pair, or with a fork."""
    forks = [n for n in line if sum(bool(branches.flat[c]) for c in branches.joints_on(n)) > 1]
    short = [
        n for n in line if any(branches.length(pair[0]) < EAR_LENGTH * branches.hip for pair in pairs[n])
    ]
    for marked in ([n for n in line if ears[n]], short, forks):
        if marked:
            return marked[-1]
    last = line[-1]
    tall = float(np.ptp(branches.here[:, 2]))
    is_tip = branches.length(last) < 0.01 * tall or branches.named(last, JAW_WORDS)
    if len(line) > 1 and (is_tip or _ends_beside(branches, line[-2], last)):
        return line[-2]
    return last


def _ends_beside(branches: Branches, joint: int, last: int) -> bool:
    """Tell whether the bone of a joint has an end of its own beyond where the last one begins."""
    joints = len(branches.nodes.names)
    below = branches.nodes.children(joint)
    ends = [child for child in below if child >= joints and branches.flat[child]]
    here = branches.here
    return any(
        here[end, 0] > here[last, 0]
        and np.linalg.norm(here[end] - here[joint]) > np.linalg.norm(here[last] - here[joint])
        for end in ends
    )


def _like_ears(branches: Branches, head: int, pair: Pair) -> bool:
    """Tell whether a pair may be ears: short rows beside the head that do not point ahead."""
    left = pair[0]
    begins, ends, middle = branches.here[left], branches.far(left), branches.here[head]
    long, hip = branches.length(left), branches.hip
    return bool(
        branches.is_row(left)
        and LEAST_LENGTH * hip < long < EAR_LENGTH * hip
        and begins[0] - middle[0] < EAR_AHEAD * hip
        and ends[0] - begins[0] < EAR_FORWARD * hip
        and begins[2] > middle[2] - EAR_AHEAD * hip
    )


def _ears(
    branches: Branches, head: int, pairs: list[Pair], ears: list[Pair], notices: list[Notice]
) -> Pair | None:
    """Choose the ears, and say what else is there in pairs."""
    named = [pair for pair in pairs if branches.named(pair[0], EAR_WORDS)]
    ears = [pair for pair in ears if not branches.named(pair[0], OTHER_WORDS)]
    chosen = max(named or ears, key=lambda pair: _at_ears_place(branches, pair[0]), default=None)
    # A single pair without length still tells ears that have no End Site, if it is on top of the head.
    if chosen is None and len(pairs) == 1 and branches.is_row(pairs[0][0]):
        above = branches.reach(pairs[0][0])[2] > branches.here[head, 2]
        is_near = branches.length(pairs[0][0]) < LEAST_LENGTH * branches.hip
        chosen = pairs[0] if above and is_near and not branches.named(pairs[0][0], OTHER_WORDS) else None
    others = [branches.name(pair[0]) for pair in pairs if pair != chosen]
    if others and chosen is not None:
        shown = ", ".join(repr(name) for name in others)
        text = (
            f"the ears are taken to be {branches.name(chosen[0])!r} and its mirror image; {shown}, also "
            "on the head, stays still against it, as horns do; see ear_left in the map."
        )
        notices.append(Doubt("ears", text))
    elif others:
        shown = ", ".join(repr(name) for name in others)
        text = f"{shown} on the head is not taken for an ear and stays still; see ear_left in the map."
        notices.append(Doubt("ears", text))
    return chosen


def _say_rows(branches: Branches, ears: Pair | None, notices: list[Notice]) -> None:
    """Say that ears of several joints are turned at their first, and how their rows swing."""
    rows = [] if ears is None else [branches.joints_below(ear) for ear in ears]
    if not rows or min(map(len, rows)) < 2:
        return
    first, last = branches.name(rows[0][0]), branches.name(rows[0][-1])
    text = (
        f"the ears turn at {first!r} and its mirror image, and all down to {last!r} with it; to let their "
        "rows swing leave ear_left and ear_right out, and write tables [hanging.row_L] and [hanging.row_R] "
        'into the map, with joints and like = "ear".'
    )
    notices.append(Doubt("ear rows", text))


def _at_ears_place(branches: Branches, left: int) -> float:
    """How far back, up and to the side a row of the head is: ears more than eyes, whiskers and horns."""
    begins, ends = branches.here[left], branches.far(left)
    return float(begins[2] - begins[0] + ends[1])


def _jaw(branches: Branches, head: int, notices: list[Notice]) -> int | None:
    """Return the lower of the short branches of the head on the plane of symmetry that begin near its joint.

    What begins farther ahead, such as a snout, a lip or a bit, turns about no jaw's hinge.
    """
    below = [c for c in branches.joints_on(head) if branches.flat[c]]
    named = [c for c in below if branches.named(c, JAW_WORDS)]
    tall = float(np.ptp(branches.here[:, 2]))
    long = [
        c
        for c in below
        if branches.length(c) > LEAST_LENGTH * tall and len(branches.row_from(c)) <= MOST_JAW_JOINTS
    ]
    candidates = named or long
    if not candidates:
        return None
    away = {c: float(np.linalg.norm(branches.here[c] - branches.here[head])) for c in candidates}
    most = min(away.values()) + HINGE_NEAR * branches.hip
    hinged = [c for c in candidates if away[c] <= most]
    jaw = min(hinged, key=lambda c: float(branches.here[branches.below(c), 2].mean()))
    if len(candidates) > 1 or not named:
        notices.append(Doubt("jaw", f"the jaw is taken to be {branches.name(jaw)!r}; see jaw in the map."))
    return jaw
