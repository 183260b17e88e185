"""The body over the steps: support forces, where hips and chest go, and the shape of the back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.balance import Balance, Wanted, balance, stride_mean
from gaitgen.body.bend import back_of_feet, bend_of_path_rad
from gaitgen.body.bumps import Stances, find_stances
from gaitgen.body.momentum import momentum_rates
from gaitgen.body.shares import pressure_back_m, shares, towards
from gaitgen.body.sparing import hike_rad, rise_of_ends_m, shared_anew, spared, spared_load, taken_in_front_s
from gaitgen.body.struts import strut_heights_m, walking_share
from gaitgen.body.trunk import BackPose, Ends
from gaitgen.course.carried import carried_m
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.stance import StanceState, stance_state
from gaitgen.course.steps import Steps, along
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import even_travel, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Share of the slope under the body that the trunk takes on (from memory; 0.8 to 0.9).
SLOPE_SHARE = 0.85
# So far around it, in withers heights, the body feels the ground as one slope (estimate: half its length).
FELT_SHARE = 0.45
# A motion that is known is kept to this firmly, against a standing body that keeps its place (estimate).
KNOWN_FIRMNESS = 0.9
# So long after a foot has landed, or before one lifts, the body is still shifting (estimate). [s]
STEADYING_S = 0.35
# Chest and hips of a running body go over the feet that bear them as far as the animal's file says in strides
# of so many times the root of hip height over gravity; as anything pushed to and fro, less in quicker ones.
QUICK_SWAY = 2.0
# How quickly they follow the feet, in strides^-1 (estimate).
SWAY_PER_STRIDE = 6.0


@dataclass(frozen=True, eq=False)
class Body:
    """What the body does over a stretch of steps, as seen from the frame that goes along the path.

    Attributes
    ----------
    balance
        Forces, and the motion of the body under them.
    ends
        Where hips and chest are meant to be.
    back
        The bent back.
    state
        The step each foot is in, as the body sees it.
    base_m
        (samples,) height of the ground under the body. [m]
    chest_height_m, hips_height_m
        (samples,) over standing on that ground. [m]
    """

    balance: Balance
    ends: Ends
    back: BackPose
    state: StanceState
    base_m: Array
    chest_height_m: Array
    hips_height_m: Array
    footing: Footing


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


def body_frames(animal: Animal, path: Path, time_s: Array) -> Frames:
    """Return the frame that goes along with the body: the middle of the trunk is on the path. [s]"""
    standing = standing_positions_m(animal)
    tops = [float(standing[animal.limb(end).top, 0]) for end in ("fore", "hind")]
    return path.frames(time_s, sum(tops) / 2.0)


def move_body(
    animal: Animal,
    steps: Steps,
    path: Path,
    ground: Ground,
    grid: Grid,
    *,
    bounce: float = 1.0,
    sway: float = 1.0,
    settle_strides: float | None = None,
    load: Sequence[float] = (1.0, 1.0, 1.0, 1.0),
    besides: Array | None = None,
    before: Body | None = None,
    ahead_m: Array | None = None,
    held: tuple[Array, Array] | None = None,
) -> Body:
    """Find forces and motion of the body over its steps.

    Parameters
    ----------
    animal, steps, path, ground, grid
        Who goes where; evenly spaced moments, whole periods if the steps repeat.
    bounce, sway
        Style factors on rise and fall, and on what goes sideways.
    settle_strides
        Share of a stride after contact at which an end is lowest at a walk; None as the animal does.
    load
        (4,) factor on what each foot carries of its pair's load, in LIMBS order.
    besides
        (samples, 6) what limbs and hanging parts need beside the body (see Wanted); None for nothing.
    before
        The body as it was found from the same, but for ``besides``: its footing is this one's too.
    ahead_m
        (4,) how much farther ahead all stances of each foot are than before, on a straight path. [m]
    held
        Heights of chest and hips, and how far they are held there, as in Wanted.
    """
    style, loads = {"bounce": bounce, "sway": sway}, np.asarray(load)
    is_lame, balanced = bool(np.any(loads != loads[0])), None
    if before is None or (is_lame and ahead_m is not None):
        footing = _footing(animal, steps, path, ground, grid, loads, settle_strides=settle_strides, **style)
        if held is not None:
            footing = replace(footing, wanted=replace(footing.wanted, held_m=held[0], held=held[1]))
    elif ahead_m is not None:
        footing = _ahead(animal, grid, before.footing, ahead_m, **style)
    else:
        footing, balanced = before.footing, before.balance
    aside = footing.aside_m
    wanted = footing.wanted if besides is None else replace(footing.wanted, besides=besides)
    solved = balance(grid, footing.stances, whole_body(animal), wanted, balanced)
    chest_ahead, hips_ahead = wanted.ends_x_m
    moved, turned = solved.moved_m, solved.turned_rad
    # A balance with a period knows no height: an end that walks is as high as its struts are on the whole.
    lift = wanted.strut_m.mean(axis=0) * wanted.strut_share.mean(axis=0) if grid.is_periodic else np.zeros(2)
    chest = moved[:, 2] + chest_ahead * turned[:, 1] + lift[0]
    hips = moved[:, 2] + hips_ahead * turned[:, 1] + lift[1]
    top, hip = (standing_positions_m(animal)[animal.limb(end).top] for end in ("fore", "hind"))
    above = whole_body(animal).centre_m[2]
    hips_left = aside + sway * (moved[:, 1] + hips_ahead * turned[:, 2] - (hip[2] - above) * turned[:, 0])
    chest_left = aside + sway * (moved[:, 1] + chest_ahead * turned[:, 2] - (top[2] - above) * turned[:, 0])
    forward = hip[0] + moved[:, 0] - (hip[2] - above) * turned[:, 1]
    ends = Ends(
        hips_m=np.stack([forward, hips_left, hip[2] + hips + footing.under_ends_m[:, 1]], axis=1),
        chest_left_m=chest_left,
        chest_up_m=top[2] + chest + footing.under_ends_m[:, 0],
    )
    back = footing.back.rolled(sway * turned[:, 0])
    return Body(solved, ends, back, footing.state, footing.base_m, chest, hips, footing)


def _footing(
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
    frames = body_frames(animal, path, grid.time_s)
    here = stance_state(steps, grid.time_s)
    state = here.seen(frames)
    stances = find_stances(here, None if steps.loop is None else steps.limb.size)
    settle = animal.tempo.settle_strides if settle_strides is None else settle_strides
    struts = strut_heights_m(animal, steps, path, grid, bounce=bounce, settle_strides=settle)
    aside, lean = _lean(animal, grid, state, stances, frames)
    wanted = _wanted(animal, path, grid, state, stances, struts, frames.acceleration_m_s2, aside)
    wanted = replace(wanted, path_rad_s2=frames.turning_rad_s2)
    none, bend = np.zeros_like(struts), bend_of_path_rad(animal, path, grid)
    footing = Footing(
        frames=frames,
        state=state,
        stances=stances,
        aside_m=aside,
        lean_rad=lean,
        bend_rad=bend,
        base_m=way_height_m(animal, path, ground, path.distance_m(grid.time_s), grid.time_s),
        under_ends_m=under_ends_m(animal, path, ground, grid),
        back=back_of_feet(animal, grid, state, lean, bend, bounce=bounce, sway=sway),
        wanted=wanted,
        spared=none,
        hike_rad=none[:, 0],
    )
    if np.all(load == load[0]):
        return footing
    footing = _sparing(animal, grid, footing, load)
    hiked = back_of_feet(animal, grid, state, lean, bend, footing.hike_rad, bounce=bounce, sway=sway)
    return replace(footing, back=hiked)


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
    wanted = replace(
        wanted,
        impulse_share=shared,
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


def _ahead(
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


def forces_under(
    animal: Animal, steps: Steps, path: Path, grid: Grid, parts_m: Array, masses_kg: Array
) -> Balance:
    """Find the forces that carry a motion that is known, from the momentum of its parts.

    Parameters
    ----------
    animal, steps, path, grid
        As in move_body; whole periods.
    parts_m
        (samples, parts, 3) centres of mass of all parts, as the body sees them. [m]
    masses_kg
        (parts,) [kg]
    """
    whole = whole_body(animal)
    frames = body_frames(animal, path, grid.time_s)
    here = stance_state(steps, grid.time_s)
    state = here.seen(frames)
    stances = find_stances(here, None if steps.loop is None else steps.limb.size)
    centre = np.einsum("spk,p->k", parts_m, masses_kg) / (grid.count * whole.mass_kg)
    beside = np.array([centre[0] - whole.centre_m[0], centre[1], 0.0])
    away = parts_m - beside - np.array(whole.centre_m)
    rates = momentum_rates(whole, away, grid.derivative(parts_m, 2), masses_kg)
    level = np.zeros((grid.count, 2))
    wanted = _wanted(
        animal, path, grid, state, stances, level, frames.acceleration_m_s2, np.full(grid.count, beside[1])
    )
    wanted = replace(
        wanted,
        strut_share=level,
        foot_m=wanted.foot_m - beside * [1.0, 0.0, 0.0],
        still=np.full(grid.count, KNOWN_FIRMNESS),
        besides=rates,
    )
    return balance(grid, stances, whole, wanted)


def _lean(
    animal: Animal, grid: Grid, state: StanceState, stances: Stances, frames: Frames
) -> tuple[Array, Array]:
    """How far the body is to the left of its path, over its feet and leaning into a turn, and its roll.

    Lean: atan(a / g), the angle at which the force of the ground goes through the centre of mass.
    """
    turning = frames.acceleration_m_s2[:, 1] / GRAVITY_M_S2
    swing = even_travel(state.swing_share, 0.45, 0.5)
    feet = state.place_m[..., 1] + swing * (state.next_place_m[..., 1] - state.place_m[..., 1])
    under = feet.mean(axis=1)
    if grid.is_periodic:
        under, turning = np.full(grid.count, under.mean()), np.full(grid.count, turning.mean())
    else:
        mean = stride_mean(grid, stances)
        under, turning = mean @ under, mean @ turning
    return under + whole_body(animal).centre_m[2] * turning, -np.arctan(turning)


def way_height_m(
    animal: Animal, path: Path, ground: Ground, distance_m: Array, time_s: Array | None = None
) -> Array:
    """Height of the ground that carries the body at distances (...) along its path: (...). [m]

    ``time_s`` (...) are the moments that count for turns on the spot. [s]
    """
    return carried_m(ground, path, distance_m, FELT_SHARE * animal.withers_height_m, time_s)


def under_ends_m(animal: Animal, path: Path, ground: Ground, grid: Grid) -> Array:
    """Height of the ground that chest and hips are carried over, (samples, 2). [m]

    The trunk takes on most of the slope.
    """
    tops = standing_positions_m(animal)[[animal.limb(end).top for end in ENDS], 0]
    ends_m = path.distance_m(grid.time_s)[:, None] + tops
    under = way_height_m(animal, path, ground, ends_m, grid.time_s[:, None])
    middle = under.mean(axis=1, keepdims=True)
    return np.asarray(middle + SLOPE_SHARE * (under - middle))


def _wanted(
    animal: Animal,
    path: Path,
    grid: Grid,
    state: StanceState,
    stances: Stances,
    struts: Array,
    path_m_s2: Array,
    aside_m: Array,
) -> Wanted:
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
    return Wanted(
        ends_x_m=(float(tops[0] - whole.centre_m[0]), float(tops[2] - whole.centre_m[0])),
        strut_m=struts,
        rise_m=np.zeros_like(struts),
        strut_share=walks,
        over_feet_m=_over_feet_m(animal, grid, state) * (1.0 - walks),
        sways=grid.is_periodic and animal.back.over_feet > 0.0,
        runs=1.0 - walking,
        foot_m=pressed - shift[:, None],
        bump_foot_m=bump_foot,
        point_height_m=animal.back.force_point_m,
        still=_still(state),
        path_m_s2=path_m_s2,
        besides=np.zeros((grid.count, 6)),
        impulse_share=impulses,
        point_x_m=points,
    )


def _over_feet_m(animal: Animal, grid: Grid, state: StanceState) -> Array:
    """How far chest and hips are carried to the left over the feet that bear them, (samples, 2). [m]"""
    over = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0).reshape(-1, 2, 2)
    stride_s = float(np.mean(np.minimum(state.next_touchdown_s - state.touchdown_s, 4.0)))
    side = grid.smoothed(over[..., 0] - over[..., 1], SWAY_PER_STRIDE / stride_s)
    # Borne on one side, both ends go over it by themselves, as the body rolls.
    quick_s = QUICK_SWAY * float(np.sqrt(animal.hip_height_m / GRAVITY_M_S2))
    share = animal.back.over_feet * min(1.0, (stride_s / quick_s) ** 2)
    side = side - side.mean(axis=1, keepdims=True)
    return np.asarray(share * limb_numbers(animal, "track_m")[::2] * side)


def _still(state: StanceState) -> Array:
    """Say how far the animal stands at each moment: (samples,)."""
    since, until = state.time_s - state.touchdown_s, state.liftoff_s - state.time_s
    settled = np.minimum(since, until).min(axis=1)
    return ramp((settled - STEADYING_S) / STEADYING_S)
