"""A root that runs straight, stands still, or goes in one plain curve between far keys as the legs go on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings import feet
from gaitgen.check.seen import LEAST_SPEED, Seen
from gaitgen.formats.bvh_file import channel_columns, rotation_letters
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

MOST_DECIMALS = 6
CURVED = 40.0  # last digits of the file: differences that are some
MOST_PLAIN = 0.75  # of a root's rows: one that is hardly ever curved is meant to be so
LEGS_TURN = 0.8  # of these rows
TURNS = 0.05  # of the cells of a joint's rotation: legs that turn by less stand
# A curve that goes no farther than rounding is one value; an axis about which a walking body turns by as much
# as this has been keyed (roll and yaw of the pelvis are 1 to 12 degrees in the walks here). [degrees]
STILL_DEG, TURNS_DEG = 1.0e-3, 0.5
AXES = 3  # about which a joint turns
LOST_FEET = 3  # that do not hold: a leg or a pair of them is a fault of its own
LOST = (feet.under_ground, feet.floating, feet.slips, feet.no_stance)  # what a root does to feet that hold
LONGER = 1.8  # times the usual way between two keys of a root that has few of them


@dataclass(frozen=True)
class _Plain:
    """What a curve is without keys: differences of an order that are none, in so many rows at least.

    Rounding alone makes differences of so many last digits at the most.
    """

    order: int
    digits: float
    least_rows: int
    words: str


# Between two keys a curve is straight, or with smooth tangents of the third degree.
STRAIGHT = _Plain(2, 2.5, 3, "runs straight")
CUBIC = _Plain(4, 9.0, 4, "goes in one plain curve")


def missing(seen: Seen) -> list[Finding]:
    """Find frames between which the root's height has no keys, while the legs do not go so plainly.

    One plain curve over them may be all that the motion needs: it is found where feet then do not hold.
    """
    found = _without_keys(seen, STRAIGHT)
    if found:
        return found
    found = _without_keys(seen, CUBIC)
    return found if found and any(find(seen) for find in LOST) else []


def flat(seen: Seen) -> list[Finding]:
    """Find a root that stays at one height all along, while the feet need it to go up and down.

    That is: soles of a fore and a hind foot slip or are off the ground. Where they hold, it is meant.
    """
    file = seen.motion.file
    digit = _last_digit(file.rows[:, channel_columns(file, "position")[0]]) * unit_m(seen.motion.map.unit)
    if float(np.ptp(seen.motion.root_m[:, 2])) > digit or seen.feet.planted.all():
        return []
    others = [k for own in channel_columns(file, "position")[1:] for k in own]
    legs = [joint for limb in LIMBS for joint in seen.motion.limb_joints(limb)]
    turns = np.ptp(seen.motion.local[:, legs].reshape(seen.motion.frames, -1), axis=0)
    if float(turns.max()) < TURNS or (others and float(np.ptp(file.rows[:, others], axis=0).max()) > digit):
        return []
    troubled = {finding.limb for find in LOST for finding in find(seen)}
    if not all(any(limb in troubled for limb in ends) for ends in (LIMBS[:2], LIMBS[2:])):
        return []
    return seen.finding(
        "root keys missing",
        file.joint_names[0],
        (0, seen.motion.frames - 1),
        float(seen.motion.frames),
        "key the root's height again: it is the same in every frame, and with it the feet neither stand nor "
        "reach the ground as their legs are turned",
    )


def flat_turns(seen: Seen) -> list[Finding]:
    """Find a root that turns about two of its axes and not about the third, while the feet need it to.

    That is: soles of three feet slip or are off the ground. Where they hold, it is meant. Joints of the back
    that do not turn about that axis either are named with it.
    """
    if seen.feet.planted.all() or not seen.motion.map.spine:
        return []
    back = seen.motion.map.spine
    ranges = _ranges_deg(seen, back[0])
    still = [letter for letter, wide in ranges.items() if wide < STILL_DEG]
    if len(ranges) != AXES or len(still) != 1:
        return []
    if sorted(ranges.values())[1] < TURNS_DEG:
        return []
    troubled = {finding.limb for find in LOST for finding in find(seen)}.intersection(LIMBS)
    if len(troubled) < LOST_FEET:
        return []
    flat = [name for name in back if _ranges_deg(seen, name).get(still[0], TURNS_DEG) < STILL_DEG]
    return seen.finding(
        "root keys missing",
        back[0],
        (0, seen.motion.frames - 1),
        float(seen.motion.frames),
        f"key the turns of {', '.join(flat)} about {still[0]} again: they are the same in every frame, "
        f"though {back[0]} turns about its other axes, and with them the feet neither stand nor reach the "
        "ground as their legs are turned",
    )


def _ranges_deg(seen: Seen, name: str) -> dict[str, float]:
    """How far each rotation channel of a joint goes, by the letter of its axis. [degrees]"""
    file, joint = seen.motion.file, seen.motion.joint(name)
    rows = file.rows[:, channel_columns(file, "rotation")[joint]]
    return dict(zip(rotation_letters(file, joint), np.ptp(rows, axis=0).tolist(), strict=True))


def _without_keys(seen: Seen, plain: _Plain) -> list[Finding]:
    rows, columns = seen.motion.file.rows, channel_columns(seen.motion.file, "rotation")
    place = channel_columns(seen.motion.file, "position")[0]
    digit = _last_digit(rows[:, place])
    bend = np.abs(np.diff(seen.motion.root_m[:, 2], n=plain.order)) / (digit * unit_m(seen.motion.map.unit))
    is_plain = bend < plain.digits
    spans = [(first, last) for first, last in runs(is_plain) if last - first + 1 >= plain.least_rows]
    if not spans or is_plain.mean() > MOST_PLAIN or np.median(bend[~is_plain]) < CURVED:
        return []
    if plain is CUBIC:
        spans = _far_apart(spans)
    legs = [k for limb in LIMBS for joint in seen.motion.limb_joints(limb) for k in columns[joint]]
    bends = np.abs(np.diff(rows[:, legs], n=plain.order, axis=0))
    turning = bends.max(axis=1) > CURVED * _last_digit(rows[:, legs])
    found: list[Finding] = []
    for first, last in spans:
        ends = (first, last + plain.order)
        if _stays(seen, *ends) or turning[first : last + 1].mean() < LEGS_TURN:
            continue
        path = seen.motion.root_m[ends[0] : ends[1] + 1]
        still = float(np.ptp(path, axis=0).max()) < digit * unit_m(seen.motion.map.unit)
        found += seen.finding(
            "root keys missing",
            seen.motion.file.joint_names[0],
            ends,
            float(ends[1] - ends[0] - 1),
            f"key the root again between frames {seen.frame(ends[0])} and {seen.frame(ends[1])}: it "
            f"{'stands still' if still else plain.words} there while the legs go on",
        )
    return found


def _stays(seen: Seen, first: int, last: int) -> bool:
    """Whether an animal stands there on all its feet: its body shifts its weight in slow plain curves."""
    speed = float(np.linalg.norm(seen.feet.body_m_s))
    is_planted = seen.feet.planted[first : last + 1].all()
    return bool(is_planted) and speed < LEAST_SPEED * seen.motion.hip_height_m


def _far_apart(spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the spans that are much longer than the others: a root may have few keys all along."""
    long = np.array([last - first + CUBIC.order for first, last in spans], dtype=np.float64)
    usual = [np.median(np.delete(long, k)) if len(spans) > 1 else 0.0 for k in range(len(spans))]
    return [span for span, own, most in zip(spans, long, usual, strict=True) if own >= LONGER * most]


def _last_digit(values: Array) -> float:
    """Return what the last decimal counts in which numbers are written."""
    for decimals in range(MOST_DECIMALS):
        if np.abs(values - np.round(values, decimals)).max() < 10.0**-MOST_DECIMALS / 10.0:
            return float(10.0**-decimals)
    return float(10.0**-MOST_DECIMALS)
