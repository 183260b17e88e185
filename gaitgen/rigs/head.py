"""Neck, head, jaw and ears of a rig, told from horns, reins and a hanging row."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gaitgen.errors import Notice
from gaitgen.rigs.branches import Branches, Pair
from gaitgen.rigs.doubt import Doubt

JAW_WORDS = ("jaw", "mand", "chin", "mouth", "kiefer")
EAR_WORDS = ("ear", "ohr")
OTHER_WORDS = ("eye", "auge", "lid", "brow", "nost", "horn", "rein", "whisker")
# An ear is no longer than this share of the height of the hips, begins no farther before the joint of the
# head than the next, and does not point forward beyond it by more than the last (estimates).
EAR_LENGTH, EAR_AHEAD, EAR_FORWARD = 0.7, 0.12, 0.1
# ... and where no pair is, one near the end of the row that is as long as this and does not go aside by more
# than that share of its length, as horns and wings do: a hare's (estimates).
LONG_EAR, LONG_ASIDE = 1.5, 0.5
# Of pairs that may be ears, one that begins farther before the rearmost than this is none, and an ear, beside
# the skull, is no shorter than the other (estimates): eyes, and scales beside them.
EARS_BEHIND, LEAST_EAR = 0.08, 0.06
# The last joint of a line that is shorter than this share of the rig's height marks the tip of a head.
TIP_LENGTH = 0.01
# A row of so many joints on the head is no jaw.
MOST_JAW_JOINTS = 3
# Of what may be the jaw, that begins so much farther from the joint of the head than the nearest is none.
HINGE_NEAR = 0.12  # of the height of the hips (estimate)
LEAST_LENGTH = 0.02  # of the height of the rig: what is shorter is no jaw
JAW_COSINE = (
    0.75  # of the angle to the line of the head: what points farther off hangs from it, as a beard does
)


@dataclass(frozen=True)
class HeadParts:
    """Nodes of neck and head; None for what the rig does not have."""

    neck: tuple[int, ...] = ()
    head: int | None = None
    jaw: int | None = None
    ears: Pair | None = None
    hanging: tuple[int, ...] = ()  # a long row that hangs on the head, such as a trunk


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
    if not any(ears.values()):
        ends = line[-1 - MOST_JAW_JOINTS :]
        ears |= {
            node: [pair for pair in pairs[node] if _like_long_ears(branches, node, pair)] for node in ends
        }
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
    is_tip = branches.length(last) < TIP_LENGTH * tall or branches.named(last, JAW_WORDS)
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


def _like_long_ears(branches: Branches, head: int, pair: Pair) -> bool:
    """Tell whether a pair may be ears that are longer than most."""
    aside = float(branches.far(pair[0])[1] - branches.here[pair[0], 1])
    is_aside = aside > LONG_ASIDE * branches.length(pair[0])
    return not is_aside and _like_ears(branches, head, pair, LONG_EAR)


def _like_ears(branches: Branches, head: int, pair: Pair, most: float = EAR_LENGTH) -> bool:
    """Tell whether a pair may be ears: short rows beside the head that do not point ahead."""
    left = pair[0]
    begins, ends, middle = branches.here[left], branches.far(left), branches.here[head]
    long, hip = branches.length(left), branches.hip
    return bool(
        branches.is_row(left)
        and LEAST_LENGTH * hip < long < most * hip
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
    chosen = max(
        named or _back_ones(branches, ears), key=lambda pair: _aside(branches, pair[0]), default=None
    )
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
    elif chosen is not None and branches.length(chosen[0]) > EAR_LENGTH * branches.hip:
        text = (
            f"the ears are taken to be {branches.name(chosen[0])!r} and its mirror image, which are long; if "
            "they are horns, leave ear_left and ear_right out of the map."
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


def _back_ones(branches: Branches, pairs: list[Pair]) -> list[Pair]:
    """Keep what begins about as far back as the rearmost pair that is long enough for an ear."""
    long = [pair for pair in pairs if branches.length(pair[0]) > LEAST_EAR * branches.hip] or pairs
    most = min((branches.here[pair[0], 0] for pair in long), default=0.0) + EARS_BEHIND * branches.hip
    return [pair for pair in long if branches.here[pair[0], 0] <= most]


def _aside(branches: Branches, left: int) -> float:
    """How far down the side of the skull a row of the head begins: ears farther than horns and antlers."""
    begins = branches.here[left]
    return float(begins[1] - begins[2])


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
    hinged = [c for c in hinged if _along_head(branches, head, c) >= JAW_COSINE] or hinged
    jaw = min(hinged, key=lambda c: float(branches.here[branches.below(c), 2].mean()))
    if len(candidates) > 1 or not named:
        notices.append(Doubt("jaw", f"the jaw is taken to be {branches.name(jaw)!r}; see jaw in the map."))
    return jaw


def _along_head(branches: Branches, head: int, child: int) -> float:
    """Cosine of the angle from the line of the head, to its farthest point in the middle, to a branch."""
    middle = [node for node in branches.below(head) if branches.flat[node]]
    away = branches.here[middle] - branches.here[head]
    line = away[int(np.linalg.norm(away, axis=1).argmax())]
    own = branches.far(child) - branches.here[child]
    return float(line @ own / max(np.linalg.norm(line) * np.linalg.norm(own), 1e-12))
