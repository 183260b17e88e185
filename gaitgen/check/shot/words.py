"""What an animal does in a clip without a period, in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from gaitgen.check.shot.found import Shot
from gaitgen.check.shot.strides import CHANGES, HALT, JUMPS, STANDS, Stretch
from gaitgen.check.shot.way import Bend, Rise

# Hip heights: radius on which hips go that turn about the forehand, a trunk's length away; estimate.
SPOT = 1.3
OF_NO_GAIT = {STANDS: "stands", JUMPS: "jumps; only ground and pops are judged here"}


def shot_lines(shot: Shot) -> list[str]:
    """Say, stretch by stretch and then bend by bend and rise by rise, what is done in which frames."""
    said = [(each.first, each.last, _stretch_words(each)) for each in shot.stretches]
    way = [
        (bend.first, bend.last, bend_words(bend, on_the_spot=is_on_the_spot(shot, bend)))
        for bend in shot.way.bends
    ]
    way += [(rise.first, rise.last, rise_words(rise)) for rise in shot.way.rises]
    rows = [(f"{first + 1}-{last + 1}", words) for first, last, words in (*said, *sorted(way))]
    return [f"  {frames:<13} {words}" for frames, words in (("frames", "what it does"), *rows)]


def _stretch_words(stretch: Stretch) -> str:
    if stretch.what in OF_NO_GAIT:
        return OF_NO_GAIT[stretch.what]
    if stretch.what != CHANGES:
        return f"{stretch.gait}, a stride of {stretch.period:g} frames"
    before, _, after = stretch.gait.partition(" to ")
    if not after:
        return "strides that are not alike"
    if before == HALT:
        return _halt_words(after)
    if after == HALT:
        return f"comes to a halt from a {before}"
    return f"{before} to {after}" if before != after else f"{before}, at another pace or with another step"


def _halt_words(after: str) -> str:
    """Say what is done out of a halt, where what comes after it is a halt, a gait, or a gait to a halt."""
    if after == HALT:
        return "steps from a halt to a halt"
    through, _, end = after.partition(" to ")
    return f"{through} from a halt to a halt" if end else f"sets off into a {after}"


def is_on_the_spot(shot: Shot, bend: Bend) -> bool:
    """Whether a body turns about a point between or near its own feet."""
    way = shot.way.level_m[bend.first : bend.last + 1]
    length_m = float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())
    return length_m < SPOT * shot.level.hip_height_m * math.radians(abs(bend.degrees))


def bend_words(bend: Bend, *, on_the_spot: bool = False) -> str:
    """Say how far it turns, to which side, and whether on the spot."""
    side = "left" if bend.degrees > 0.0 else "right"
    return f"turns {abs(bend.degrees):.0f} degrees to the {side}{', on the spot' if on_the_spot else ''}"


def rise_words(rise: Rise) -> str:
    """Say how steep the ground is."""
    per_cent = 100.0 * abs(rise.up_m) / max(rise.along_m, 1e-9)
    word = "up" if rise.up_m > 0.0 else "down"
    return f"ground goes {word} by {abs(rise.up_m):.2f} m over {rise.along_m:.1f} m ({per_cent:.0f} %)"


def shot_facts(shot: Shot) -> dict[str, Sequence[dict[str, object]]]:
    """Collect the same as plain numbers and words; frames from 1."""
    return {
        "stretches": [
            {
                "what": each.what,
                "gait": each.gait or None,
                "first_frame": each.first + 1,
                "last_frame": each.last + 1,
                "stride_frames": each.period or None,
            }
            for each in shot.stretches
        ],
        "turns": [
            {
                "first_frame": bend.first + 1,
                "last_frame": bend.last + 1,
                "left_degrees": bend.degrees,
                "is_on_the_spot": is_on_the_spot(shot, bend),
            }
            for bend in shot.way.bends
        ],
        "rises": [
            {
                "first_frame": rise.first + 1,
                "last_frame": rise.last + 1,
                "up_m": rise.up_m,
                "along_m": rise.along_m,
            }
            for rise in shot.way.rises
        ],
    }
