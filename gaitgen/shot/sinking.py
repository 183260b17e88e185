"""Soles that come under the ground where they stand or as they swing: measured, and said."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.limb import LIMBS
from gaitgen.course.ground import Ground
from gaitgen.errors import Notice
from gaitgen.motion.measure import planted, sole_points_m
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]

SAID_M = 1e-3  # less than this under the ground no picture shows (estimate)
SWINGS_M = 2e-3  # and of a foot that swings (the law of joins over level ground)
SINKS = "sinks"  # topic of the notices


def soles_over_m(clip: Motion, ground: Ground) -> Array:
    """Return how far the lowest corner of each sole is over the ground, in the air too, (frames, 4). [m]

    Parameters
    ----------
    clip, ground
        The motion, and what it goes over.
    """
    places, world = clip.joints
    _, soles = sole_points_m(clip.animal, places, world)
    return np.asarray((soles[..., 2] - ground.height_m(soles[..., :2])).min(axis=2))


def sink_notices(clip: Motion, ground: Ground) -> tuple[Notice, ...]:
    """Say where a corner of a sole is under the ground, such as that of a foot on the edge of a step.

    What stands there and what swings through it are said apart.

    Parameters
    ----------
    clip, ground
        The motion, and what it goes over.
    """
    return sinking(soles_over_m(clip, ground), planted(clip))


def sinking(over: Array, stands: npt.NDArray[np.bool_]) -> tuple[Notice, ...]:
    """Say the same of soles that are so far over the ground, (frames, 4), and of which some stand. [m]"""
    stand = (
        "it has no room there to lie flat; longer treads, smoother ground or another place for it would help."
    )
    swing = "it swings through it there; slower gaits, smoother ground or keys by hand would help."
    return (
        *_said(np.where(stands, over, np.inf), SAID_M, stand),
        *_said(np.where(stands, np.inf, over), SWINGS_M, swing),
    )


def _said(over: Array, most_m: float, why: str) -> tuple[Notice, ...]:
    """Say where soles (frames, 4) are farther under the ground than that, if any are. [m]"""
    frame, foot = np.unravel_index(int(over.argmin()), over.shape)
    under_m = -float(over[frame, foot])
    if under_m <= most_m:
        return ()
    frames = int((over < -most_m).any(axis=1).sum())
    where = f"frame {frame + 1}" if frames == 1 else f"{frames} frames, most of all in frame {frame + 1}"
    text = (
        f"a sole is under the ground in {where}, the {LIMBS[int(foot)]} foot by {1e3 * under_m:.1f} mm: {why}"
    )
    return (Notice(SINKS, text),)
