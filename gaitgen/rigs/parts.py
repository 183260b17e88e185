"""Trunk, tail, neck and head of a rig whose feet are known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.rigs.stance import Nodes, NotStandingError, Stance, common_joint

Array = npt.NDArray[np.float64]

MOST_JAW_JOINTS = 2  # a longer line that hangs on the head is none: a trunk, a rein, a tongue
JAW_WORDS = ("jaw", "mand", "chin", "mouth", "kiefer")


@dataclass(frozen=True)
class Trunk:
    """Nodes of the trunk, the tail, and the start of the neck."""

    spine: tuple[int, ...]  # pelvis to chest
    tail: tuple[int, ...]
    neck_start: int | None
    carriers: Mapping[str, int]

    def limb_lines(self, lines: Mapping[str, list[int]]) -> dict[str, list[int]]:
        """Cut each line from the root to a toe where the limb leaves the trunk."""
        return {limb: line[line.index(self.carriers[limb[1]]) + 1 :] for limb, line in lines.items()}


@dataclass(frozen=True)
class HeadParts:
    """Nodes of neck and head; None for what the rig does not have."""

    neck: tuple[int, ...] = ()
    head: int | None = None
    jaw: int | None = None
    ears: tuple[int, int] | None = None  # left, right


def main_line(nodes: Nodes, here: Array, foot: list[int]) -> list[int]:
    """Return the line from the root to a foot's end: the deepest, the foremost of these, the middle toe."""
    depth = {leaf: len(nodes.line(leaf)) for leaf in foot}
    middle = float(here[foot, 1].mean())
    tall = float(np.ptp(here[:, 2]))
    tip = max(
        foot,
        key=lambda leaf: (depth[leaf], round(here[leaf, 0] / tall, 2), -abs(here[leaf, 1] - middle), -leaf),
    )
    return nodes.line(tip)[::-1]


def find_trunk(
    nodes: Nodes, here: Array, stance: Stance, lines: dict[str, list[int]], notices: list[Notice]
) -> Trunk:
    """Find the joints between the limbs, and what hangs on them before and behind."""
    joints = len(nodes.names)
    carriers = {
        letter: common_joint(nodes, [lines["L" + letter][-1], lines["R" + letter][-1]]) for letter in "FH"
    }
    hind, fore = (nodes.line(carriers[letter])[::-1] for letter in "HF")
    shared = sum(a == b for a, b in zip(hind, fore, strict=False))
    spine = (*hind[: shared - 1 : -1], *fore[shared - 1 :]) if shared else ()
    for limb, line in lines.items():
        if line.index(carriers[limb[1]]) + 1 >= len([n for n in line if n < joints]):
            raise NotStandingError(3, f"limb {limb} has no joint of its own")
    above = set(hind) | set(fore)
    limb_tops = {lines[limb][lines[limb].index(carriers[limb[1]]) + 1] for limb in lines}
    flat = stance.mates == np.arange(len(here))
    hanging = [
        child
        for joint in above
        for child in nodes.children(joint)
        if child < joints and child not in above and child not in limb_tops and flat[child]
    ]
    front, rear = (float(here[[lines[s + c][-1] for s in "LR"], 0].mean()) for c in "FH")
    chest_x, pelvis_x = float(here[spine[-1], 0]), float(here[spine[0], 0])
    reach = {child: _reach(nodes, here, child) for child in hanging}
    middle = (chest_x + pelvis_x + front + rear) / 4.0
    necks = [c for c in hanging if reach[c][1] > max(chest_x, middle) and here[c, 0] > middle]
    tails = [c for c in hanging if reach[c][0] < min(pelvis_x, middle) and here[c, 0] < middle]
    neck = max(necks, key=lambda c: (reach[c][1] + reach[c][2], -c), default=None)
    tail = min(tails, key=lambda c: (reach[c][0], c), default=None)
    if len(necks) > 1:
        others = ", ".join(repr(nodes.names[c]) for c in necks if c != neck)
        notices.append(
            Notice(
                "neck",
                f"the neck begins at {nodes.names[neck or 0]!r}; {others} before the chest stay still.",
            )
        )
    return Trunk(spine, () if tail is None else tuple(_middle_line(nodes, here, flat, tail)), neck, carriers)


def _below(nodes: Nodes, node: int) -> list[int]:
    """Return a node and everything that hangs on it."""
    found = [node]
    for member in found:
        found.extend(nodes.children(member))
    return found


def _reach(nodes: Nodes, here: Array, node: int) -> tuple[float, float, float]:
    """Rearmost, foremost and highest point of a branch."""
    branch = here[_below(nodes, node)]
    return float(branch[:, 0].min()), float(branch[:, 0].max()), float(branch[:, 2].max())


def _middle_line(nodes: Nodes, here: Array, flat: npt.NDArray[np.bool_], start: int) -> list[int]:
    """Joints from one on, along the longest branch on the plane of symmetry."""
    line = [start]
    while True:
        below = [c for c in nodes.children(line[-1]) if c < len(nodes.names) and flat[c]]
        if not below:
            return line
        origin = here[line[-1]]
        line.append(
            max(below, key=lambda c: float(np.linalg.norm(here[_below(nodes, c)] - origin, axis=1).max()))
        )


def head_parts(nodes: Nodes, here: Array, stance: Stance, trunk: Trunk, notices: list[Notice]) -> HeadParts:
    """Find neck, head, jaw and ears."""
    if trunk.neck_start is None:
        return HeadParts()
    joints = len(nodes.names)
    flat = stance.mates == np.arange(len(here))
    line = _middle_line(nodes, here, flat, trunk.neck_start)
    pairs = {node: _pairs(nodes, stance, node) for node in line}
    with_pairs = [node for node in line if pairs[node]]
    forks = [n for n in line if sum(c < joints and bool(flat[c]) for c in nodes.children(n)) > 1]
    last = line[-1]
    if with_pairs:
        head = with_pairs[-1]
    elif forks:
        head = forks[-1]
    else:
        tiny = float(np.linalg.norm(here[_below(nodes, last)] - here[last], axis=1).max())
        is_tip = tiny < 0.01 * float(np.ptp(here[:, 2])) and len(line) > 1
        head = line[-2] if is_tip else last
        if any(word in nodes.names[last].lower() for word in JAW_WORDS) and len(line) > 1:
            head = line[-2]
    neck = tuple(line[: line.index(head)])
    ears = max(pairs[head], key=lambda pair: _reach(nodes, here, pair[0])[2], default=None)
    if ears is not None and _reach(nodes, here, ears[0])[2] < here[head, 2]:
        ears = None
    return HeadParts(neck, head, _jaw(nodes, here, flat, head, notices), ears)


def _pairs(nodes: Nodes, stance: Stance, node: int) -> list[tuple[int, int]]:
    """Mirrored joints that hang on a joint, left and right."""
    below = [c for c in nodes.children(node) if c < len(nodes.names)]
    across = nodes.places @ stance.axes[1]
    found = []
    for left in below:
        for right in below:
            alike = (
                stance.mates[left] >= 0
                and np.linalg.norm(nodes.places[stance.mates[left]] - nodes.places[right]) < 0.01 * nodes.size
            )
            if left != right and across[left] > across[right] and alike and stance.mates[left] != left:
                found.append((left, right))
    return found


def _jaw(
    nodes: Nodes, here: Array, flat: npt.NDArray[np.bool_], head: int, notices: list[Notice]
) -> int | None:
    """Return the lower of the branches of the head on the plane of symmetry."""
    below = [c for c in nodes.children(head) if c < len(nodes.names) and flat[c]]
    named = [c for c in below if any(word in nodes.names[c].lower() for word in JAW_WORDS)]
    tall = float(np.ptp(here[:, 2]))
    long = [
        c
        for c in below
        if float(np.linalg.norm(here[_below(nodes, c)] - here[c], axis=1).max()) > 0.02 * tall
    ]
    short = [c for c in long if len(_middle_line(nodes, here, flat, c)) <= MOST_JAW_JOINTS]
    candidates = named or short
    if not candidates:
        return None
    jaw = min(candidates, key=lambda c: float(here[_below(nodes, c), 2].mean()))
    if len(candidates) > 1 or not named:
        notices.append(Notice("jaw", f"the jaw is taken to be {nodes.names[jaw]!r}; see jaw in the map."))
    return jaw
