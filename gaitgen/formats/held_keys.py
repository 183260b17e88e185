"""Chooses keys whose splines hold planted feet, at frames and between them.

Small errors of many joints add up at a foot. So the farther a channel can move a planted toe, the more
closely it is kept while that toe is down.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
import numpy.typing as npt

from gaitgen.course.steps import stance_state
from gaitgen.formats.bvh import ChannelTable
from gaitgen.motion.hermite import own_slopes, spline_rows
from gaitgen.motion.keys import Keys, choose_keys, stride_rows
from gaitgen.motion.measure import time_s
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Share of the drift allowed that one channel may make. Errors of several add up, but not all at once:
# measured on walks of 16 to 96 frames, this is nearly always enough at first.
FIRST_SHARE = 1.0 / 3.0
MOST_TRIES = 5
# Tolerances per frame that a slope may differ from the curve's own: toes are looked at between frames too.
SLOPE_FREEDOM = 3.0
SMALLEST_LEVER = 1e-9
# Of the drift allowed; the rest is for the drift that the motion has itself.
HOLD = 0.99
# Where feet are looked at between frames, and how far they may be off there if a key on every frame
# leaves them far off too, as it does in cycles of few frames: times as far.
STEPS = 4
BETWEEN = 1.25


class ToeFinder(Protocol):
    """Knows where rows of channels put the toes of four feet, in LIMBS order."""

    def toes(self, table: Array) -> Array:
        """Follow the toes through rows of channels, (rows, 4, 3)."""

    def toes_and_levers(self, table: Array, is_near: Bools) -> tuple[Array, Array]:
        """Follow the toes, and find how far one unit of each channel can move those (rows, 4) that count.

        Returns
        -------
        toes
            (rows, 4, 3)
        levers
            (rows, channels) in the unit of the toes per unit of the channel.
        """


def held_keys(clip: Motion, table: ChannelTable, allowed: Array, feet: ToeFinder, most: float) -> Keys:
    """Choose the keys of all channels of a clip so that planted toes hold.

    Parameters
    ----------
    clip
        The motion.
    table
        Its channels.
    allowed
        (channels,) tolerances of channels that do not move planted feet.
    feet
        Finds the toes.
    most
        How far planted toes may drift. In a cycle of few frames that cannot be had between frames, even
        with a key on every one. [unit of the toes]

    Returns
    -------
    Keys
        Those of the last of a few tries, each a little closer than the one before.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    most = HOLD * most
    planted = stance_state(clip.steps, time_s(clip)).planted
    toes, levers = feet.toes_and_levers(table.values, _with_neighbours(planted))
    ground, counts = _between_frames(toes, planted)
    share = FIRST_SHARE * most
    for _ in range(MOST_TRIES):
        closely = np.minimum(allowed, share / np.maximum(levers, SMALLEST_LEVER))
        keys = choose_keys(clip, table.names, table.values, closely, slope_freedom=SLOPE_FREEDOM)
        away = np.where(counts, np.linalg.norm(feet.toes(keys.played(STEPS)) - ground, axis=2), 0.0)
        drift = float(away.max()) / most
        if drift > 1.0:
            every_frame = feet.toes(_with_a_key_on_every_frame(clip, table.values))
            least = np.where(counts, np.linalg.norm(every_frame - ground, axis=2), 0.0)
            between = float(away.max()) / max(most, BETWEEN * float(least.max()))
            drift = max(float(away[::STEPS].max()) / most, between)
        if drift <= 1.0:
            break
        share *= max(0.3, 0.8 / drift)
    return keys


def _with_a_key_on_every_frame(clip: Motion, values: Array) -> Array:
    slopes = own_slopes(values, is_closed=stride_rows(clip) is not None)
    return spline_rows(values, slopes, np.ones(values.shape, dtype=np.bool_), STEPS)


def _with_neighbours(planted: Bools) -> Bools:
    """Feet that are planted in a frame, or in one beside it, (frames, 4)."""
    near = planted.copy()
    near[1:] |= planted[:-1]
    near[:-1] |= planted[1:]
    return near


def _between_frames(toes: Array, planted: Bools) -> tuple[Array, Bools]:
    """Where toes are that are planted in a frame and the next: they go evenly from one to the other.

    Returns
    -------
    places
        ((frames - 1) * STEPS + 1, 4, 3)
    counts
        ((frames - 1) * STEPS + 1, 4) whether the foot is planted in the frames before and after.
    """
    at = np.arange((toes.shape[0] - 1) * STEPS + 1)
    before, after = at // STEPS, -(-at // STEPS)
    share = (at / STEPS - before)[:, None, None]
    return toes[before] + share * (toes[after] - toes[before]), planted[before] & planted[after]
