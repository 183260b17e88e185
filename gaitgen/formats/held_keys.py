"""Chooses keys whose splines hold planted feet, at frames and between them.

Small errors of many joints add up at a foot. So the farther a channel can move a planted toe, the more
closely it is kept while that toe is down.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.course.stance import stance_state
from gaitgen.formats.added_keys import refit_with_more
from gaitgen.formats.bvh import ChannelTable
from gaitgen.formats.landing import along_stances, find_landing, legs_of
from gaitgen.formats.planted_toes import STEPS, between_frames, with_neighbours
from gaitgen.formats.refit_keys import Hold, refit
from gaitgen.formats.refit_stances import levers_of, refit_stances, settle_kinks
from gaitgen.formats.stances import find_kinks, find_stances
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.hermite import own_slopes, spline_rows
from gaitgen.motion.key_landing import Landing
from gaitgen.motion.keys import Keys, choose_keys, refuse_not_finite
from gaitgen.motion.measure import time_s
from gaitgen.motion.motion import Motion
from gaitgen.motion.named_frames import stride_rows
from gaitgen.motion.toes import ToeFinder

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

# Share of the drift allowed that one channel may make. Errors of several add up, but not all at once:
# measured on walks of 16 to 96 frames, this is nearly always enough at first.
FIRST_SHARE = 1.0 / 3.0
MOST_TRIES = 8
# Of a clip without a period: how often what carries the legs is kept more closely where toes do not hold, and
# the share to begin with where few keys are wanted.
STANCE_TRIES, SPARSE_SHARE = 6, 0.2
# Where few keys are wanted, joints of a leg are fitted together and take up what others err. So near are its
# curves before, of their tolerance, and so near is what carries the legs, of the drift allowed; where toes do
# not hold all the same, the next are tried.
SPARSE_LEGS = (1.25, 0.5, 0.4, 0.3, 0.24, 0.2, 0.15, 0.12)
SPARSE_CARRIERS = (1.2, 0.96, 0.77, 0.6, 0.48, 0.38, 0.3, 0.24)
# Tolerances per frame that a slope may differ from the curve's own: toes are looked at between frames too.
SLOPE_FREEDOM = 3.0
SMALLEST_LEVER = 1e-9
# Of the drift allowed; the rest is for the drift that the motion has itself.
HOLD = 0.99
# How far feet may be off between frames if a key on every frame leaves them far off too: times as far. Where
# so much is more than is allowed, as in cycles of few frames, tangents of legs are worked out for all rows of
# a stance.
BETWEEN = 1.25


def held_keys(
    clip: Motion,
    table: ChannelTable,
    allowed: Array,
    feet: ToeFinder,
    most: float,
    *,
    is_sparse: bool = False,
) -> Keys:
    """Choose the keys of all channels of a clip so that planted toes hold, at frames and between them.

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
        How far planted toes may drift. [unit of the toes]
    is_sparse
        As few keys as the tolerance allows, not one on every named pose.

    Returns
    -------
    Keys
        Those of the last of a few tries, each a little closer than the one before, and the drift reached.

    Raises
    ------
    FileFormatError
        If a number is not finite.
    """
    most = HOLD * most
    refuse_not_finite(table.names, table.values)
    hold = _held_by_stances if stride_rows(clip) is None else _held_by_strides
    return hold(clip, table, allowed, feet, most, is_sparse=is_sparse)


def _held_by_strides(
    clip: Motion, table: ChannelTable, allowed: Array, feet: ToeFinder, most: float, *, is_sparse: bool
) -> Keys:
    """Choose the keys of a cycle: those of its first stride, again and again."""
    planted = stance_state(clip.steps, time_s(clip)).planted
    toes, levers = feet.toes_and_levers(table.values, with_neighbours(planted))
    ground, counts = between_frames(toes, planted)
    legs = legs_of(table.values, feet)
    landing = find_landing(clip, table.values, toes, feet, legs)

    def each_away(toes: Array) -> Array:
        away = np.linalg.norm(toes - ground, axis=2)
        return np.asarray(np.where(counts, away, 0.0).max(axis=0))

    hold = _hold(clip, table.values, landing, allowed, feet, legs, ground, counts, most, is_sparse=is_sparse)
    goal = None
    share, rungs = FIRST_SHARE * most, np.zeros(len(LIMBS), dtype=np.int64)
    for number in range(MOST_TRIES):
        if is_sparse and hold is not None:
            closely = _for_refit(allowed, levers, hold, SPARSE_CARRIERS[number], rungs)
        else:
            closely = np.minimum(allowed, share / np.maximum(levers, SMALLEST_LEVER))
        keys = choose_keys(
            clip,
            table.names,
            table.values,
            closely,
            slope_freedom=SLOPE_FREEDOM,
            landing=landing,
            is_sparse=is_sparse,
        )
        played = keys.played(STEPS)
        toes = feet.toes(played)
        drift, is_near = float(each_away(toes).max()), np.ones(len(table.names), dtype=np.bool_)
        if hold is not None and (is_sparse or drift > most):
            tried = (refit_with_more if is_sparse else refit)(keys, hold, played, toes)
            played = tried.played(STEPS)
            each = each_away(feet.toes(played))
            off = np.abs(played[::STEPS] - table.values).max(axis=0)
            is_near = off <= np.maximum(allowed, 1e-9)
            holds = (each <= most) & [bool(is_near[own].all()) for own in legs]
            rungs[~holds] = number + 1  # legs that hold keep their keys
            if np.all(is_near) and (is_sparse or each.max() < drift):
                keys, drift = replace(tried, deviation=off, tolerance=allowed.copy()), float(each.max())
        if drift <= most and (not is_sparse or np.all(is_near)):
            break
        if goal is None:
            every = each_away(feet.toes(_with_a_key_on_every_frame(clip, table.values, landing))).max()
            if BETWEEN * every > most and landing is not None:
                landing = along_stances(clip, table.values, feet, legs, landing)
                every = each_away(feet.toes(_with_a_key_on_every_frame(clip, table.values, landing))).max()
            goal = max(most, BETWEEN * float(every))
        if drift <= goal and (not is_sparse or np.all(is_near)):
            break
        share *= max(0.3, 0.8 * goal / drift)
    return replace(keys, drift=drift)


def _held_by_stances(
    clip: Motion, table: ChannelTable, allowed: Array, feet: ToeFinder, most: float, *, is_sparse: bool
) -> Keys:
    """Choose the keys of a clip without a period: every stance is fitted for itself."""
    values = table.values
    planted = stance_state(clip.steps, time_s(clip)).planted
    toes, levers = feet.toes_and_levers(values, with_neighbours(planted))
    ground, counts = between_frames(toes, planted)
    legs = legs_of(values, feet)
    stances = find_stances(planted)
    kinks = find_kinks(values, stances, legs)
    every = np.ones((len(values), 1), dtype=np.bool_)
    dense = spline_rows(values, kinks.after, every, STEPS, kinks.before)
    hold = Hold(values, dense, allowed, legs, feet, ground, counts, most, STEPS, moves_values=is_sparse)
    levers_of_legs = levers_of(dense, legs, feet)
    hold, kinks = settle_kinks(hold, stances, kinks, levers_of_legs)
    of_legs = np.concatenate(legs)
    carries: Bools = np.asarray(levers.any(axis=0))
    carries[of_legs] = False
    closely = np.minimum(allowed, FIRST_SHARE * most / np.maximum(levers, SMALLEST_LEVER))
    if is_sparse:
        closely[:, of_legs] = allowed[of_legs]
    share = np.full((len(values), 1), (SPARSE_SHARE if is_sparse else FIRST_SHARE) * most)
    wanted = np.arange(len(table.names))
    keys = None
    for _ in range(STANCE_TRIES):
        closer = np.minimum(allowed, share / np.maximum(levers, SMALLEST_LEVER))
        closely[:, carries] = closer[:, carries]
        found = choose_keys(
            clip,
            tuple(table.names[k] for k in wanted),
            values[:, wanted],
            closely[:, wanted],
            slope_freedom=SLOPE_FREEDOM,
            kinks=kinks.only(wanted),
            is_sparse=is_sparse,
        )
        keys = found if keys is None else _with_others(keys, found, wanted)
        fitted = refit_stances(keys, hold, stances, kinks, levers_of_legs)
        drift = fitted.drift
        if not (drift > most).any():
            break
        wanted = np.flatnonzero(carries)  # legs get more keys where they need them, as they are fitted
        times = np.ones_like(share)
        for k in np.flatnonzero(drift > most):
            rows = slice(stances[k].first, stances[k].last + 1)
            times[rows] = np.minimum(times[rows], min(0.6, max(0.3, 0.8 * most / float(drift[k]))))
        share *= times
    keys = fitted.keys
    return replace(keys, tolerance=allowed.copy(), drift=float(drift.max(initial=0.0)))


def _with_others(keys: Keys, others: Keys, which: Ints) -> Keys:
    """Put other keys in the place of those of some channels."""
    stays = ~np.isin(keys.channel, which)
    channel = np.concatenate([keys.channel[stays], which[others.channel]])
    frame = np.concatenate([keys.frame[stays], others.frame])
    order = np.lexsort((frame, channel))

    def both(name: str) -> Array:
        return np.asarray(np.concatenate([getattr(keys, name)[stays], getattr(others, name)])[order])

    return replace(
        keys,
        channel=channel[order],
        frame=frame[order],
        value=both("value"),
        tangent_in=both("tangent_in"),
        tangent_out=both("tangent_out"),
    )


def _for_refit(allowed: Array, levers: Array, hold: Hold, part: float, rungs: Ints) -> Array:
    """Return how closely keys are chosen that are then fitted together, (frames, channels).

    What carries the legs is as near as ``part``, each leg as near as its rung, (4,) of SPARSE_LEGS.
    """
    closely = np.minimum(allowed, part * hold.most / np.maximum(levers, SMALLEST_LEVER))
    for own, rung in zip(hold.legs, rungs, strict=True):
        closely[:, own] = SPARSE_LEGS[rung] * allowed[own]
    return closely


def _hold(
    clip: Motion,
    values: Array,
    landing: Landing | None,
    allowed: Array,
    feet: ToeFinder,
    legs: list[Ints],
    ground: Array,
    counts: Bools,
    most: float,
    *,
    is_sparse: bool,
) -> Hold | None:
    """Say what is to be held in the first stride; None where a clip is none."""
    stride = stride_rows(clip)
    if stride is None:
        return None
    part, samples = values[: stride + 1], slice(0, stride * STEPS + 1)
    dense = _with_a_key_on_every_frame(clip, values, landing)[samples]
    return Hold(
        part,
        dense,
        allowed,
        legs,
        feet,
        ground[samples],
        counts[samples],
        most,
        STEPS,
        moves_values=is_sparse,
    )


def _with_a_key_on_every_frame(clip: Motion, values: Array, landing: Landing | None) -> Array:
    stride = stride_rows(clip)
    if stride is None or landing is None:
        after = before = own_slopes(values, is_closed=stride is not None)
    else:
        after, before = landing.own.copy(), landing.own.copy()
        channel = np.arange(landing.row.size)
        lands = ~np.isnan(landing.after)
        after[landing.row[lands], channel[lands]] = landing.after[lands]
        after[-1] = after[0]
        turns = (clip.frames - 1) // stride
        after, before = (np.concatenate([np.tile(s[:-1], (turns, 1)), s[-1:]]) for s in (after, before))
    return spline_rows(values, after, np.ones((len(values), 1), dtype=np.bool_), STEPS, before)
