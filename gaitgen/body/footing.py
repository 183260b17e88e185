"""What a body stands on and is asked for, before any force is known."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.bend import back_of_feet, bend_of_path_rad, on_their_way_m
from gaitgen.body.bumps import Stances, find_stances
from gaitgen.body.shares import pressure_back_m, shares, towards
from gaitgen.body.sparing import hike_rad, rise_of_ends_m, shared_anew, spared, spared_load, taken_in_front_s
from gaitgen.body.struts import strut_heights_m, walking_share
from gaitgen.body.swaying import over_feet_m
from gaitgen.body.terms import stride_mean
from gaitgen.body.trunk import BackPose, bent_back
from gaitgen.body.under import body_frames, under_ends_m, way_height_m
from gaitgen.body.wanted import Wanted
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.stance import StanceState, stance_state
from gaitgen.course.steps import Steps, along
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# So long after a foot has landed, or before one lifts, the body is still shifting (estimate). [s]
STEADYING_S = 0.35
# Across a slope a body is farther down it than over the middle of its feet, by this share of the way that
# would set its legs square to it (estimate): feet down the slope carry more.
DOWNHILL_SHARE = 0.2
# The force of a running forefoot that is spared points so many hip heights farther ahead, times the share of
# its load that it is spared: trotting dogs push on the whole while a lame foreleg bears, by braking less
# (Abdelhadi et al. 2013, PLoS ONE 8:e52202, abstract); how far is an estimate.
BRAKES_LESS = 1.0


@dataclass(frozen=True, eq=False)
class Footing:
    """What a body stands on and is asked for, before any force is known.

    Attributes
    ----------
    frames
        The frame that goes along the path.
    state, stances
        The step each foot is in, as the body sees it; the stances with their bumps.
    aside_m, lean_rad, bend_rad
        (samples,) how far the body is to the left of its path, its roll into a turn, and how far the chest is
        turned to the left against the pelvis with the path. [m], [rad]
    base_m, under_ends_m
        (samples,) height of the ground under the body, and (samples, 2) under chest and hips. [m]
    back
        The bent back, without the roll of the body.
    wanted
        What the forces should do.
    spared
        (samples, 2) what a lame leg is spared that the other of its pair takes, over the weight of the body.
    hike_rad
        (samples,) roll of the pelvis over a lame hind leg, right side down. [rad]
    """

    frames: Frames
    state: StanceState
    stances: Stances
    aside_m: Array
    lean_rad: Array
    bend_rad: Array
    base_m: Array
    under_ends_m: Array
    back: BackPose
    wanted: Wanted
    spared: Array
    hike_rad: Array


def find_footing(
    animal: Animal,
    steps: Steps,
    path: Path,
    ground: Ground,
    grid: Grid,
    load: Array,
    *,
    bounce: float,
    sway: float,
    settle_strides: float | None,
) -> Footing:
    """Find what a body over its steps stands on and is asked for; parameters as in `move_body`."""
    level = (_kept_level if grid.is_periodic else _level)(animal, steps, path, ground, grid, settle_strides)
    state, lean, bend = level.state, level.lean_rad, level.bend_rad
    footing = replace(
        level,
        back=back_of_feet(animal, grid, state, lean, bend, bounce=bounce, sway=sway),
        wanted=replace(level.wanted, strut_m=bounce * level.wanted.strut_m),
    )
    if np.all(load == load[0]):
        return footing
    footing = _sparing(animal, grid, footing, load)
    hiked = back_of_feet(animal, grid, state, lean, bend, footing.hike_rad, bounce=bounce, sway=sway)
    return replace(footing, back=hiked)


def _level(
    animal: Animal, steps: Steps, path: Path, ground: Ground, grid: Grid, settle_strides: float | None
) -> Footing:
    """Find all of a footing that no style changes, over struts of a full bounce, its back not yet bent."""
    frames = body_frames(animal, path, grid.time_s)
    here = stance_state(steps, grid.time_s)
    state = here.seen(frames)
    stances = find_stances(here, None if steps.loop is None else steps.limb.size)
    struts = strut_heights_m(animal, steps, path, grid, bounce=1.0, settle_strides=settle_strides)
    aside, lean = _lean(animal, grid, state, stances, frames)
    wanted = wanted_over(animal, path, grid, state, stances, struts, frames.acceleration_m_s2, aside)
    wanted = replace(wanted, path_rad_s2=frames.turning_rad_s2)
    none = np.zeros_like(struts)
    return Footing(
        frames=frames,
        state=state,
        stances=stances,
        aside_m=aside,
        lean_rad=lean,
        bend_rad=bend_of_path_rad(animal, path, grid),
        base_m=way_height_m(animal, path, ground, path.distance_m(grid.time_s), grid.time_s),
        under_ends_m=under_ends_m(animal, path, ground, grid),
        back=_straight_back(animal),
        wanted=wanted,
        spared=none,
        hike_rad=none[:, 0],
    )


_kept_level = lru_cache(maxsize=4)(_level)  # of a loop, which may be tried in another style


@lru_cache(maxsize=32)
def _straight_back(animal: Animal) -> BackPose:
    """Return the back of an animal that stands, at one moment."""
    zero = np.zeros(1)
    return bent_back(animal, zero, zero, zero, zero)


def _sparing(animal: Animal, grid: Grid, footing: Footing, load: Array) -> Footing:
    """Let some legs carry less, and the body go up over them as far as head and neck do not do it for it."""
    stances, wanted, state = footing.stances, footing.wanted, footing.state
    stride_s = float(np.mean(state.next_touchdown_s - state.touchdown_s))
    usual = wanted.impulse_share
    shared = shared_anew(stances, usual, spared_load(animal, stride_s, load))
    own = spared(grid, state, stances, usual - shared)
    forward = taken_in_front_s(grid, state, stances, own[:, 1])
    shared = shared + forward
    front = spared(grid, state, stances, -forward)
    by_head = min(1.0, sum(part.spares for part in animal.hanging))
    rise = rise_of_ends_m(animal, grid, own * [1.0 - by_head, 1.0] + front)
    # The weight moves to the side that carries more, or it would roll the body over.
    beside = wanted.bump_foot_m[stances.first[:-1], 1]
    shift = float((shared - usual) @ beside) / float(usual.sum())
    spared_share = np.where(stances.limb < 2, 1.0 - shared / np.maximum(usual, 1e-9), 0.0)
    ahead = BRAKES_LESS * animal.hip_height_m * wanted.runs * spared_share
    wanted = replace(
        wanted,
        impulse_share=shared,
        point_x_m=wanted.point_x_m + ahead[stances.stance],
        strut_m=wanted.strut_m + rise,
        rise_m=rise,
        foot_m=wanted.foot_m - [0.0, shift, 0.0],
        bump_foot_m=wanted.bump_foot_m - [0.0, shift],
    )
    return replace(
        footing,
        wanted=wanted,
        aside_m=footing.aside_m + shift,
        spared=own,
        hike_rad=hike_rad(animal, rise[:, 1], load),
    )


def footing_ahead(
    animal: Animal, grid: Grid, footing: Footing, ahead_m: Array, *, bounce: float, sway: float
) -> Footing:
    """Return the footing with each foot (4,) farther ahead on a straight path; it lands when it did. [m]"""
    wanted, state, stances = footing.wanted, footing.state.farther(ahead_m), footing.stances
    bump_foot = wanted.bump_foot_m.copy()
    bump_foot[:, 0] += ahead_m[stances.limb[stances.stance]]
    impulses, points = shares(
        animal, grid, state, stances, 1.0 - wanted.runs, bump_foot, wanted.path_m_s2[:, 0]
    )
    wanted = replace(
        wanted,
        foot_m=wanted.foot_m + along(ahead_m),
        bump_foot_m=bump_foot,
        impulse_share=impulses,
        point_x_m=points,
    )
    back = back_of_feet(animal, grid, state, footing.lean_rad, footing.bend_rad, bounce=bounce, sway=sway)
    return replace(footing, state=state, back=back, wanted=wanted)


def _lean(
    animal: Animal, grid: Grid, state: StanceState, stances: Stances, frames: Frames
) -> tuple[Array, Array]:
    """How far the body is to the left of its path, over its feet and leaning into a turn, and its roll.

    Lean: atan(a / g), the angle at which the force of the ground goes through the centre of mass.
    """
    turning = frames.acceleration_m_s2[:, 1] / GRAVITY_M_S2
    under = on_their_way_m(state)[..., 1].mean(axis=1)
    height_m, across = whole_body(animal).centre_m[2], state.normal[..., 1].mean(axis=1)
    if across.any():
        under = under + DOWNHILL_SHARE * height_m * across
    if grid.is_periodic:
        under, turning = np.full(grid.count, under.mean()), np.full(grid.count, turning.mean())
    else:
        mean = stride_mean(grid, stances)
        under, turning = mean @ under, mean @ turning
    return under + height_m * turning, -np.arctan(turning)


def wanted_over(
    animal: Animal,
    path: Path,
    grid: Grid,
    state: StanceState,
    stances: Stances,
    struts: Array,
    path_m_s2: Array,
    aside_m: Array,
) -> Wanted:
    """Say what the forces under the feet should do.

    Parameters
    ----------
    animal, path, grid, state, stances
        Who goes where; evenly spaced moments; the step each foot is in, as the body sees it; all stances.
    struts
        (samples, 2) height of chest and hips over standing, as on struts. [m]
    path_m_s2
        (samples, 2) acceleration of the frame that goes along the path. [m/s^2]
    aside_m
        (samples,) how far the body is to the left of its path. [m]
    """
    whole = whole_body(animal)
    standing = standing_positions_m(animal)
    tops = np.array([standing[limb.top, 0] for limb in animal.limbs])
    walks = walking_share(state, grid)
    shift = np.stack([np.zeros(grid.count), aside_m, np.zeros(grid.count)], axis=1)
    frames, own = body_frames(animal, path, stances.centre_s), stances.stance
    count = np.bincount(stances.column.ravel(), minlength=stances.count)
    walking = np.bincount(stances.column.ravel(), np.repeat(walks, 2, axis=1).ravel(), stances.count) / count
    back = (1.0 - walking[own]) * pressure_back_m(animal, stances.limb[own], stances.share)
    heading = stances.heading_rad[own] - frames.heading_rad
    bump_foot = frames.seen(stances.place_m[own])[:, :2] - towards(heading, back)[:, :2]
    bump_foot[:, 1] -= np.interp(stances.centre_s, grid.time_s, aside_m)
    behind = pressure_back_m(animal, np.arange(4), state.stance_share)
    pressed = state.place_m - towards(state.heading_rad, (1.0 - np.repeat(walks, 2, axis=1)) * behind)
    impulses, points = shares(animal, grid, state, stances, walking, bump_foot, path_m_s2[:, 0])
    still = _still(state)
    over_feet, sways = over_feet_m(animal, grid, state, walks * (1.0 - still[:, None]), 1.0 - walks)
    return Wanted(
        ends_x_m=(float(tops[0] - whole.centre_m[0]), float(tops[2] - whole.centre_m[0])),
        strut_m=struts,
        rise_m=np.zeros_like(struts),
        strut_share=walks,
        over_feet_m=over_feet,
        sways=sways,
        runs=1.0 - walking,
        foot_m=pressed - shift[:, None],
        bump_foot_m=bump_foot,
        point_height_m=animal.back.force_point_m,
        early=animal.back.forces_early,
        still=still,
        path_m_s2=path_m_s2,
        besides=np.zeros((grid.count, 6)),
        impulse_share=impulses,
        point_x_m=points,
    )


def _still(state: StanceState) -> Array:
    """Say how far the animal stands at each moment: (samples,)."""
    since, until = state.time_s - state.touchdown_s, state.liftoff_s - state.time_s
    settled = np.minimum(since, until).min(axis=1)
    return ramp((settled - STEADYING_S) / STEADYING_S)
