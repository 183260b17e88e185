"""Where feet land on ground that is not even: clear of edges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.body.under import FELT_SHARE, felt_slope
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Path
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# Of the way that would set legs square to a slope, feet are farther up it: load then shifts by 5 points up
# 10 per cent, as measured on horses that trot (Dutto et al. 2004, as quoted in J Exp Biol 211:935), and by
# less down it (dogs: Lee 2011, J Exp Biol 214:402, abstract). How fore and hind feet share it is an estimate:
# going up, hind feet come well under the body, and fore feet land hardly farther ahead of it than on the
# level. On steps all are farther up (estimate).
LEAN_UP = np.array([0.2, 0.2, 0.9, 0.9])  # in LIMBS order
LEAN_DOWN, LEAN_ON_STEPS = 0.25, 0.85
# Across a slope the fore foot down it takes a shorter step, and that up it a longer one (dogs on 10 to 15
# degrees: BMC Vet Res 2014, 10:241, abstract, which says that it does): each lands so many hip heights nearer
# and farther for each unit of slope, up to such a slope (estimates).
ACROSS, STEEPEST_ACROSS = np.array([0.03, -0.03, 0.0, 0.0]), 0.3  # in LIMBS order
# What rises by more than this over so little of the way is an edge (estimates). [m]
STEEPEST_RISE, EDGE_M = 1.0, 0.02


def leaned(timeline: Timeline, path: Path, ground: Ground) -> Timeline:
    """Put feet farther up a slope, so that legs lean towards square to it and reach as far back as ahead."""
    if ground == FLAT:
        return timeline
    laid, animal = timeline.stances, timeline.cycles[0].animal
    first, last = timeline.pace.distance_m(np.array([0.0, timeline.frames / timeline.frame_rate_hz]))
    when_s = laid.when / timeline.frame_rate_hz
    slope = felt_slope(animal, path, ground, laid.along_m, (float(first), float(last)), when_s)
    lean = LEAN_ON_STEPS if ground.has_steps else np.where(slope > 0.0, LEAN_UP[laid.limb], LEAN_DOWN)
    lean = lean * slope
    if not ground.has_steps:
        lean = lean + ACROSS[laid.limb] * _slope_across(animal, path, ground, laid.along_m, when_s)
    shift = np.where(laid.stands, 0.0, lean * animal.hip_height_m)
    return replace(timeline, stances=replace(laid, along_m=laid.along_m + shift))


def _slope_across(animal: Animal, path: Path, ground: Ground, along_m: Array, time_s: Array) -> Array:
    """Rise to the left over run of the ground across a path, (places,) along it; 0 beside a hole."""
    half = FELT_SHARE * animal.withers_height_m / 2.0
    left = np.broadcast_to(half * np.array([-1.0, 1.0]), (along_m.size, 2))
    places, _ = path.beside(along_m[:, None], left, time_s[:, None])
    slope = np.diff(ground.known_m(places), axis=1)[:, 0] / (2.0 * half)
    return np.asarray(np.clip(np.nan_to_num(slope), -STEEPEST_ACROSS, STEEPEST_ACROSS))


def near_edges(timeline: Timeline, path: Path, ground: Ground) -> Bools:
    """Tell which stances have an edge within a body's length along the path: (stances,)."""
    laid = timeline.stances
    found = np.zeros(laid.limb.size, dtype=np.bool_)
    if ground.is_even:
        return found
    around = timeline.cycles[0].animal.withers_height_m
    first, last = timeline.pace.distance_m(np.array([0.0, timeline.frames / timeline.frame_rate_hz]))
    along = np.arange(first - 2.0 * around, last + 2.0 * around, EDGE_M)
    heights = ground.known_m(path.at(along)[0])
    edges = along[1:][np.abs(np.diff(heights)) > STEEPEST_RISE * EDGE_M]  # a hole is none
    if edges.size:
        found = np.abs(laid.along_m[:, None] - edges).min(axis=1) < around
    return found
