"""A clip whose numbers are taken for something else: read the right way, its feet stand.

The root's unit and axes, the order of the angles, left for right, the sign of the turns of the back: each is
tried the other way, and is named where that, and nothing else, brings the feet to rest.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations, product

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.feet import FAR
from gaitgen.check.findings.lying import lying
from gaitgen.check.seen import Seen
from gaitgen.check.shot.found import cut
from gaitgen.check.tracked import place
from gaitgen.check.trial import (
    Body,
    in_another_order,
    taken_apart,
    unrest,
    unrest_in_the_world,
    with_joints_mirrored,
    with_legs_swapped,
)
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.contacts import unrest as feet_unrest
from gaitgen.rigs.rig import axes_of

Array = npt.NDArray[np.float64]

# Units in which a root may be written while the skeleton is in another: centimetres, metres, millimetres,
# inches and feet (0.0254 and 0.3048 m exactly), against each other.
UNITS_M = {"mm": 0.001, "cm": 0.01, "in": 0.0254, "ft": 0.3048, "m": 1.0}
SAME_UNIT = math.log(1.08)
NEAR = 0.06  # hip heights: so near its height over the soles, a root is where it should be
AIR = 0.25  # hip heights: so far no sole is over the ground in a flight (0.16 in the computed runs; estimate)
AWAY_DEG, ALONG_DEG = 60.0, 10.0  # a root that goes aside, and one that goes the way the body faces
GOES = 0.25  # hip heights: a root that goes less far drifts, or stays
# A clip is not judged so unless two feet are this restless, in hip heights, and by this many frames at most;
# what is read the other way leaves so much of it, less than that, and half as much as the next best.
RESTLESS, MOST_FRAMES, STILLER, BETTER = 0.01, 240, 0.2, 0.5
FAR_WAY = 1.0  # hip heights: a body that goes so far travels
A_LITTLE = (
    0.002  # of a pair whose curves are exchanged: the legs do what is right, but for how they turn aside
)


def root_misread(seen: Seen) -> list[Finding]:
    """Find a clip on its side; a root whose positions are in another unit, or along other axes."""
    lies = lying(seen)
    if lies:
        return lies
    heights = _root_over_soles_m(seen)
    height = float(np.median(heights))
    root = seen.motion.root_m
    is_high = abs(float(np.median(root[:, 2])) - height) > FAR * seen.motion.hip_height_m
    frames = (0, seen.motion.frames - 1)
    swapped = _swapped_axes(seen, heights, is_high=is_high)
    if swapped:
        return seen.finding(
            "root axes swapped",
            seen.motion.file.joint_names[0],
            frames,
            2.0,
            f"read the root's position channels as {swapped}: then it "
            + ("is as high over its feet as its legs are long" if is_high else "goes the way the body faces"),
        )
    factor, words = _other_unit(float(np.median(root[:, 2])), height) if is_high else (1.0, "")
    if not words:
        return []
    return seen.finding(
        "root in another unit",
        seen.motion.file.joint_names[0],
        frames,
        max(factor, 1.0 / factor),
        f"multiply the root's position channels by {1.0 / factor:.4g}: they seem to be in {words}",
    )


def _root_over_soles_m(seen: Seen) -> Array:
    """How high the root is over the lowest sole, by the turns of the joints alone, (frames,). [m]"""
    motion = seen.motion
    return np.asarray((motion.root_m[:, None, 2] - motion.toes_m[..., 2]).max(axis=1))


def _swapped_axes(seen: Seen, heights_m: Array, *, is_high: bool) -> str:
    """Name an order of the root's channels in which it is at its height and goes ahead; none if none is."""
    motion = seen.motion
    columns = channel_columns(motion.file, "position")[0]
    letters = [word[0] for word in motion.file.channels[0] if word.endswith("position")]
    axes = unit_m(motion.map.unit) * axes_of(motion.map)
    usual = motion.file.rows[:, columns]
    now = _aside_deg(seen, motion.root_m)
    if not is_high and not (now is not None and abs(now - 90.0) < 90.0 - AWAY_DEG):
        return ""
    for order, signs in _readings(is_high=is_high):
        path = np.zeros((motion.frames, 3))
        for k, letter in enumerate(letters):
            path[:, "XYZ".index(letter)] = signs[k] * usual[:, order[k]]
        path = path @ axes.T
        away = _aside_deg(seen, path)
        if away is not None and away > ALONG_DEG:
            continue
        over = (path[:, 2] - heights_m) / motion.hip_height_m  # of the lowest sole
        if abs(float(over.min())) > NEAR or float(over.max()) > AIR:
            continue
        names = [f"{'-' if signs[k] < 0 else ''}{letters[order[k]]}" for k in range(3)]
        return ", ".join(f"{letters[k]} = {names[k]}" for k in range(3) if order[k] != k)
    return ""


def _readings(*, is_high: bool) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Orders and signs in which a root's channels may be meant, those with the fewest changes first.

    A channel turns its sign only where it changes its place, and the root is not at its height.
    """
    found = [
        (order, signs)
        for order in permutations(range(3))
        for signs in product((1, -1), repeat=3)
        if order != (0, 1, 2) and all(sign > 0 or (is_high and order[k] != k) for k, sign in enumerate(signs))
    ]
    return sorted(found, key=lambda each: (-sum(each[1]), each))


def _aside_deg(seen: Seen, path_m: Array) -> float | None:
    """Angle from where the body faces to the way of a root, 0 to 180; None if it goes nowhere. [degrees]"""
    way = path_m[-1, :2] - path_m[0, :2]
    if float(np.linalg.norm(way)) < GOES * seen.motion.hip_height_m:
        return None
    facing = float(np.angle(np.exp(1j * seen.motion.heading_rad).mean()))
    off = np.arctan2(way[1], way[0]) - facing
    return abs(float(np.degrees(np.angle(np.exp(1j * off)))))


def _other_unit(is_m: float, should_be_m: float) -> tuple[float, str]:
    """How many times too high a root is, and words for the units that make it so; 1 and none if none do."""
    if is_m <= 0.0 or should_be_m <= 0.0:
        return 1.0, ""
    ratio = math.log(is_m / should_be_m)
    factors = {
        f"{written}, the skeleton in {own}": own_m / written_m
        for written, written_m in UNITS_M.items()
        for own, own_m in UNITS_M.items()
        if written != own
    }
    words = min(factors, key=lambda each: abs(ratio - math.log(factors[each])))
    return (factors[words], words) if abs(ratio - math.log(factors[words])) < SAME_UNIT else (1.0, "")


def read_otherwise(seen: Seen) -> list[Finding]:
    """Find angles in another order, legs in each other's place, and a back that turns the wrong way.

    Of what fits alike at one place the best is told.
    """
    motion, measured = seen.motion, unrest
    far = float(np.ptp(motion.root_m[:, :2], axis=0).max()) > FAR_WAY * motion.hip_height_m
    if far and not seen.loop.closes:
        # no belt is under a body whose pace changes, and its feet show no ground if they are read wrongly
        motion, measured = place(motion.file, motion.map, motion.name, motion.rest), unrest_in_the_world
    elif (feet_unrest(seen.feet, motion.hip_height_m) > A_LITTLE).sum() < 2:
        return []
    if motion.frames > MOST_FRAMES:
        motion = cut(motion, 0, MOST_FRAMES - 1)
    now = measured(motion, motion.toes_m)
    body = taken_apart(motion)
    tried = sorted(
        (
            (float(measured(motion, body.toes(turns)).sum()), k, words)
            for k, (turns, *words) in enumerate(_tries(body, now))
        )
    )
    if not tried:
        return []
    best, _, (kind, limb, do) = tried[0]
    second = next((left for left, _, words in tried[1:] if words[:2] != [kind, limb]), math.inf)
    if best > min(STILLER * float(now.sum()), len(LIMBS) * RESTLESS) or best > BETTER * second:
        return []
    return seen.finding(
        kind, limb, (0, seen.motion.frames - 1), 100.0 * float(now.mean()), do, limit_name="misread"
    )


def _tries(body: Body, now: Array) -> Iterator[tuple[Array, str, str, str]]:
    """Yield turns to be tried, with kind, place and what to do, where feet (4,) are as restless as that."""
    motion = body.motion
    restless = now > RESTLESS
    if restless.all():
        for order in ("".join(each) for each in permutations("XYZ")):
            for is_renamed in (False, True):
                turns = in_another_order(body, order, is_renamed=is_renamed)
                if turns is not None:
                    say = "take the three numbers for" if is_renamed else "let the angles apply in the order"
                    yield (
                        turns,
                        "rotation order",
                        "all joints",
                        f"{say} {', '.join(order)}: then the feet stand",
                    )
    yield from _swaps(body, now)
    if restless[:2].all():
        do = "turn it the other way sideways and about its length (change their signs): then the feet stand"
        for name in (motion.file.joint_names[0], *motion.map.spine[1:]):
            yield with_joints_mirrored(body, [motion.joint(name)]), "counter-rotated", name, do


def _swaps(body: Body, now: Array) -> Iterator[tuple[Array, str, str, str]]:
    """Yield the same for legs that have each other's curves, as in a mirror or as they are."""
    for word, pair in (("forelegs", (LIMBS[0], LIMBS[1])), ("hind legs", (LIMBS[2], LIMBS[3]))):
        own = now[[LIMBS.index(limb) for limb in pair]]
        for is_mirrored, least in ((True, RESTLESS), (False, A_LITTLE)):
            if (own > least).all():
                turns = with_legs_swapped(body, pair, is_mirrored=is_mirrored)
                how = "" if is_mirrored else ", as they are (no sign changes)"
                do = f"put the curves of the left and right {word} in each other's place{how}"
                if turns is not None:
                    yield turns, "legs swapped", word, do
        yield from _swaps_below(body, pair, word, own)
    yield from _all_swapped(body, now)


def _all_swapped(body: Body, now: Array) -> Iterator[tuple[Array, str, str, str]]:
    """Yield the same for both pairs at once, as where the channels of all left and right joints are."""
    fore, hind = (LIMBS[0], LIMBS[1]), (LIMBS[2], LIMBS[3])
    for is_mirrored in (True, False) if (now > A_LITTLE).all() else ():
        turns = with_legs_swapped(body, fore, is_mirrored=is_mirrored)
        turns = (
            None
            if turns is None
            else with_legs_swapped(body.with_turns(turns), hind, is_mirrored=is_mirrored)
        )
        how = "" if is_mirrored else ", as they are (no sign changes)"
        do = f"put the curves of all left and right joints in each other's place{how}"
        if turns is not None:
            yield turns, "legs swapped", "all legs", do


def _swaps_below(
    body: Body, pair: tuple[str, str], word: str, own: Array
) -> Iterator[tuple[Array, str, str, str]]:
    """Yield the same for legs that have each other's curves from some joint on."""
    for first in range(1, len(body.motion.limb_joints(pair[0]))) if (own > A_LITTLE).all() else ():
        turns = with_legs_swapped(body, pair, is_mirrored=True, first=first)
        if turns is not None:
            names = [body.motion.map.limbs[limb].joints[first] for limb in pair]
            do = f"put the curves of {' and '.join(names)}, and of what is below, in each other's place"
            yield turns, "legs swapped", word, do
