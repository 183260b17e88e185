"""Trunk and tail of a rig whose feet are known, where its neck begins, and what moves the body."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.errors import Notice
from gaitgen.rigs.branches import Branches
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.nodes import Nodes, NotStandingError, common_joint

Array = npt.NDArray[np.float64]

TAIL_WORDS = ("tail", "dock", "schwanz")
# What is farther before the chest than this share of the height of the hips is no part of the trunk.
AHEAD = 0.25
# What begins lower than this share of the height of the hips is a helper on the ground, no tail or neck ...
LOW = 0.35
# ... as is a tail that begins farther from the hips than this, or is shorter than that (hip heights).
FAR_TAIL, SHORT_TAIL = 0.7, 0.03


@dataclass(frozen=True)
class Trunk:
    """Nodes of the trunk, the tail, and the start of the neck."""

    spine: tuple[int, ...]  # pelvis to chest
    tail: tuple[int, ...]
    neck_start: int | None
    carriers: Mapping[str, int]
    hip: float  # height of the tops of the hind limbs

    def limb_lines(self, lines: Mapping[str, list[int]]) -> dict[str, list[int]]:
        """Cut each line from the root to a toe where the limb leaves the trunk."""
        return {limb: line[line.index(self.carriers[limb[1]]) + 1 :] for limb, line in lines.items()}


def main_line(nodes: Nodes, here: Array, foot: list[int]) -> list[int]:
    """Return the line from the root to a foot's end: the deepest, the foremost of these, the middle toe."""
    depth = {leaf: len(nodes.line(leaf)) for leaf in foot}
    middle = float(here[foot, 1].mean())
    tall = max(float(np.ptp(here[:, 2])), 1e-9)
    tip = max(
        foot,
        key=lambda leaf: (depth[leaf], round(here[leaf, 0] / tall, 2), -abs(here[leaf, 1] - middle), -leaf),
    )
    return nodes.line(tip)[::-1]


def find_trunk(branches: Branches, lines: dict[str, list[int]], notices: list[Notice]) -> Trunk:
    """Find the joints between the limbs, and what hangs on them before and behind."""
    nodes, here = branches.nodes, branches.here
    joints = len(nodes.names)
    carriers = {
        letter: common_joint(nodes, [lines["L" + letter][-1], lines["R" + letter][-1]]) for letter in "FH"
    }
    hind, fore = (nodes.line(carriers[letter])[::-1] for letter in "HF")
    shared = sum(a == b for a, b in zip(hind, fore, strict=False))
    spine = (*hind[: shared - 1 : -1], *fore[shared - 1 :]) if shared else ()
    for limb, line in lines.items():
        own = [node for node in line[line.index(carriers[limb[1]]) + 1 :] if node < joints]
        if not own:
            raise NotStandingError(3, f"limb {limb} has no joint of its own")
        if len(own) == 1:
            text = f"limb {limb} is one joint, {nodes.names[own[0]]!r}"
            raise NotStandingError(3, f"{text}; hang the joints of each leg on one another")
    above = set(hind) | set(fore)
    limb_tops = {lines[limb][lines[limb].index(carriers[limb[1]]) + 1] for limb in lines}
    hip = float(np.mean([here[lines[s + "H"][lines[s + "H"].index(carriers["H"]) + 1], 2] for s in "LR"]))
    hanging = [
        child
        for joint in above
        for child in nodes.children(joint)
        if child < joints and child not in above and child not in limb_tops and branches.flat[child]
        if here[child, 2] > LOW * hip
    ]
    front, rear = (float(here[[lines[s + c][-1] for s in "LR"], 0].mean()) for c in "FH")
    chest_x, pelvis_x = float(here[spine[-1], 0]), float(here[spine[0], 0])
    reach = {child: branches.reach(child) for child in hanging}
    middle = (chest_x + pelvis_x + front + rear) / 4.0
    necks = _necks(branches, [c for c in hanging if here[c, 0] > middle], max(chest_x, middle), hip)
    tails = [c for c in hanging if reach[c][0] < min(pelvis_x, middle) and here[c, 0] < middle]
    neck = max(necks, key=lambda c: (reach[c][1] + reach[c][2], -c), default=None)
    if len(necks) > 1:
        others = ", ".join(repr(nodes.names[c]) for c in necks if c != neck)
        text = f"the neck begins at {nodes.names[neck or 0]!r}; {others} before the chest stays still."
        notices.append(Doubt("neck", text))
    _say_above(branches, hind[: shared - 1], spine, hip, notices)
    _say_pairs(Branches(nodes, branches.stance, here, hip), above, limb_tops, notices)
    tail = _tail(Branches(nodes, branches.stance, here, hip), spine[0], tails, notices)
    return Trunk(tuple(spine), () if tail is None else tuple(branches.row_from(tail)), neck, carriers, hip)


def _necks(branches: Branches, ahead: list[int], chest: float, hip: float) -> list[int]:
    """List what may be the neck among what hangs on the trunk: rows in the middle that end before the chest.

    What begins far behind the chest, as a rider does, is none where something else is.
    """
    here = branches.here
    rows = {child: branches.row_ahead(child) for child in ahead}
    ends = {
        child: [n for m in rows[child] for n in (m, *branches.nodes.children(m)) if branches.flat[n]]
        for child in ahead
    }
    necks = [c for c in ahead if here[ends[c], 0].max() > chest]
    return [c for c in necks if here[c, 0] > chest - AHEAD * hip] or necks


def _say_above(
    branches: Branches, line: list[int], spine: tuple[int, ...], hip: float, notices: list[Notice]
) -> None:
    """Say that joints above the trunk in the tree are before it: a neck from which the trunk hangs."""
    ahead = float(branches.here[spine[-1], 0]) + AHEAD * hip
    before = [node for node in line if branches.here[node, 0] > ahead and branches.here[node, 2] > LOW * hip]
    if before:
        names = ", ".join(repr(branches.name(node)) for node in before)
        text = (
            f"the trunk hangs on {names}, which lie before it; a neck and a head that carry the trunk stay "
            "still against the chest. Let the rig begin at the pelvis or the chest if they are to move."
        )
        notices.append(Doubt("neck", text))
    behind = float(branches.here[spine[0], 0]) - AHEAD * hip
    after = [node for node in line if branches.here[node, 0] < behind and branches.here[node, 2] > LOW * hip]
    if len(after) > 1:
        names = ", ".join(repr(branches.name(node)) for node in after)
        text = (
            f"the trunk hangs on {names}, which lie behind it; a tail that carries the trunk stays still. "
            "Let the rig begin at the pelvis or the chest if it is to swing."
        )
        notices.append(Doubt("tail", text))


def _say_pairs(branches: Branches, above: set[int], limb_tops: set[int], notices: list[Notice]) -> None:
    """Say that rows in pairs hang behind the hips, such as two tails, which swing if the map says so."""
    nodes, here = branches.nodes, branches.here
    lowest = min(float(here[top, 0]) for top in limb_tops)
    for joint in sorted(above):
        for child in nodes.children(joint):
            is_row = child < len(nodes.names) and child not in above and child not in limb_tops
            if (
                not is_row
                or branches.flat[child]
                or here[child, 1] < 0.0
                or here[child, 2] < LOW * branches.hip
            ):
                continue
            if here[child, 0] < lowest and any(below < len(nodes.names) for below in nodes.children(child)):
                text = (
                    f"{branches.name(child)!r} and its mirror image hang behind the hips and stay still; to "
                    "let them swing write tables [hanging.NAME_L] and [hanging.NAME_R] into the map, with "
                    'joints and like = "tail".'
                )
                notices.append(Doubt("tail", text))


def _tail(branches: Branches, pelvis: int, tails: list[int], notices: list[Notice]) -> int | None:
    """Choose the tail among what hangs behind: near the hips, and long enough to be no helper."""

    def is_tail(child: int) -> bool:
        away = float(np.linalg.norm(branches.here[child] - branches.here[pelvis]))
        is_long = branches.length(child) > SHORT_TAIL * branches.hip
        return away < FAR_TAIL * branches.hip and is_long

    named = [child for child in tails if branches.named(child, TAIL_WORDS)]
    likely = named or [child for child in tails if is_tail(child)]
    chosen = max(likely, key=lambda c: (len(branches.row_from(c)), -branches.reach(c)[0], -c), default=None)
    others = [branches.name(child) for child in tails if child != chosen]
    if chosen is not None and (others or len(branches.row_from(chosen)) == 1) and chosen not in named:
        text = f"the tail is taken to begin at {branches.name(chosen)!r}"
        text += f"; {', '.join(repr(name) for name in others)} behind the hips stays still" if others else ""
        notices.append(Doubt("tail", f"{text}; see tail in the map."))
    elif chosen is None and others:
        shown = ", ".join(repr(name) for name in others)
        text = f"{shown} behind the hips is taken for a helper, not for a tail; see tail in the map."
        notices.append(Doubt("tail", text))
    return chosen


def find_body(branches: Branches, spine: tuple[int, ...], movable: set[int]) -> tuple[int | None, list[int]]:
    """Find the joint that carries the body where the root stands on the ground or cannot move.

    Parameters
    ----------
    branches, spine
        The rig, and its joints from pelvis to chest.
    movable
        Joints with three position channels.

    Returns
    -------
    The joint, or None if it is the root; and the joints above the trunk, the root first.
    """
    lines = [branches.nodes.line(node)[::-1] for node in (spine[0], spine[-1])]
    shared = sum(a == b for a, b in zip(*lines, strict=False))
    line = lines[0][:shared]  # from the root to the top of the trunk
    heights = [float(branches.here[node, 2]) for node in line]
    if heights[0] > LOW * branches.hip and 0 in movable:
        return None, line[:-1]
    lifted = [n for n, up in zip(line, heights, strict=True) if up > LOW * branches.hip and n in movable]
    return (lifted[0] if lifted else None), line[:-1]
