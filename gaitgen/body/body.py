"""The body over the steps: support forces, where hips and chest go, and the shape of the back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ENDS, Animal
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.balance import GRAVITY_M_S2, Balance, Wanted, balance, local_mean
from gaitgen.body.bumps import Stances, find_stances
from gaitgen.body.momentum import momentum_rates
from gaitgen.body.sparing import hike_rad, rise_of_ends_m, shared_anew, spared, spared_load, taken_in_front_s
from gaitgen.body.struts import strut_heights_m, walking_share
from gaitgen.body.trunk import BackPose, Ends, bent_back
from gaitgen.course.ground import Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.steps import StanceState, Steps, along, pair_hand_over, stance_state
from gaitgen.numerics.curves import even_travel, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Share of the slope under the body that the trunk takes on (from memory; 0.8 to 0.9).
SLOPE_SHARE = 0.85
# Share of the published range of pelvic pitch that the back makes itself at a walk; the see-saw of the two
# ends makes the rest, and with more of it the croup would rise and fall less than measured (estimate). At a
# run there is no see-saw, but the hind feet are up to 1.2 stances apart, and the back goes with the square of
# that.
FLEXION_SHARE, RUN_FLEXION = 0.05, 0.7
# How quickly roll and yaw of the trunk follow the feet, in strides^-1 (estimate).
FOLLOW_PER_STRIDE = 6.0
STANDING_STRIDE_S = 1.2
# A motion that is known is kept to this firmly, against a standing body that keeps its place (estimate).
KNOWN_FIRMNESS = 0.3
# A flat sole bears its load so far behind the toe, of its length (estimate: 55 % on fore feet at a trot).
PRESSED_SHARE = 1.0 / 3.0
FORE_HIND = np.array([1.0, 1.0, -1.0, -1.0])
MOST_SHIFTED = 0.3  # of the weight, because the body speeds up or slows down (estimate)
LONGER_STRIDE = 1.5  # at the most, than the step beside it
RUN_SHARES = (0.4, 0.65)  # least and greatest share of the weight on fore feet at a run (estimate)
# A back takes on the bend of its path up to this share of what its joints allow to one side (estimate).
TURN_BEND_SHARE = 0.6
# So long after a foot has landed, or before one lifts, the body is still shifting (estimate). [s]
STEADYING_S = 0.35


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
    """
    style, loads = {"bounce": bounce, "sway": sway}, np.asarray(load)
    is_lame, balanced = bool(np.any(loads != loads[0])), None
    if before is None or (is_lame and ahead_m is not None):
        footing = _footing(animal, steps, path, ground, grid, loads, settle_strides=settle_strides, **style)
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
    none, bend = np.zeros_like(struts), _bend(animal, path, grid)
    footing = Footing(
        frames=frames,
        state=state,
        stances=stances,
        aside_m=aside,
        lean_rad=lean,
        bend_rad=bend,
        base_m=ground.height_m(frames.place_m),
        under_ends_m=under_ends_m(animal, path, ground, grid),
        back=_back(animal, grid, state, lean, bend, bounce=bounce, sway=sway),
        wanted=wanted,
        spared=none,
        hike_rad=none[:, 0],
    )
    if np.all(load == load[0]):
        return footing
    footing = _sparing(animal, grid, footing, load)
    hiked = _back(animal, grid, state, lean, bend, footing.hike_rad, bounce=bounce, sway=sway)
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
    impulses, points = _shares(
        animal, grid, state, stances, 1.0 - wanted.runs, bump_foot, wanted.path_m_s2[:, 0]
    )
    wanted = replace(
        wanted,
        foot_m=wanted.foot_m + along(ahead_m),
        bump_foot_m=bump_foot,
        impulse_share=impulses,
        point_x_m=points,
    )
    back = _back(animal, grid, state, footing.lean_rad, footing.bend_rad, bounce=bounce, sway=sway)
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
        mean = local_mean(grid, stances)
        under, turning = mean @ under, mean @ turning
    return under + whole_body(animal).centre_m[2] * turning, -np.arctan(turning)


def _bend(animal: Animal, path: Path, grid: Grid) -> Array:
    """How far the chest turns to the left against the pelvis on a bent path, as the back allows. [rad]"""
    standing, distance = standing_positions_m(animal), path.distance_m(grid.time_s)
    fore, hind = (path.at(distance + standing[animal.limb(end).top, 0])[1] for end in ("fore", "hind"))
    most = TURN_BEND_SHARE * float(animal.ranges_rad[list(animal.spine[1:]), 2, 1].sum())
    return np.asarray(most * np.tanh((fore - hind) / most)) if most > 0.0 else np.zeros(grid.count)


def under_ends_m(animal: Animal, path: Path, ground: Ground, grid: Grid) -> Array:
    """Height of the ground that chest and hips are carried over, (samples, 2). [m]

    The trunk takes on most of the slope.
    """
    tops = standing_positions_m(animal)[[animal.limb(end).top for end in ENDS], 0]
    place, _, _ = path.at(path.distance_m(grid.time_s)[:, None] + tops)
    under = ground.height_m(place)
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
    walks = walking_share(state)
    shift = np.stack([np.zeros(grid.count), aside_m, np.zeros(grid.count)], axis=1)
    frames, own = body_frames(animal, path, stances.centre_s), stances.stance
    count = np.bincount(stances.column.ravel(), minlength=stances.count)
    walking = np.bincount(stances.column.ravel(), np.repeat(walks, 2, axis=1).ravel(), stances.count) / count
    back = (1.0 - walking[own]) * _pressure_back_m(animal, stances.limb[own], stances.share)
    heading = stances.heading_rad[own] - frames.heading_rad
    bump_foot = frames.seen(stances.place_m[own])[:, :2] - _towards(heading, back)[:, :2]
    bump_foot[:, 1] -= np.interp(stances.centre_s, grid.time_s, aside_m)
    behind = _pressure_back_m(animal, np.arange(4), state.stance_share)
    pressed = state.place_m - _towards(state.heading_rad, (1.0 - np.repeat(walks, 2, axis=1)) * behind)
    impulses, points = _shares(animal, grid, state, stances, walking, bump_foot, path_m_s2[:, 0])
    return Wanted(
        ends_x_m=(float(tops[0] - whole.centre_m[0]), float(tops[2] - whole.centre_m[0])),
        strut_m=struts,
        rise_m=np.zeros_like(struts),
        strut_share=walks,
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


def _pressure_back_m(animal: Animal, limb: npt.NDArray[np.int64], stance_share: Array) -> Array:
    """Say how far behind the toe a sole is pressed: under its bone while flat, at the toe as it leaves. [m]

    ``stance_share`` has limbs ``limb`` along its last axis. Used as far as the animal runs: at a walk the
    load is taken at the toe throughout, since stances lie so far back there that loads in the middle of the
    soles would come too early in them (a departure from physics by a third of a sole).
    """
    sole = np.array([each.foot.toe_m + each.foot.heel_m for each in animal.limbs])[limb]
    heel_off = np.array([each.path.heel_off_share for each in animal.limbs])[limb]
    return np.asarray(PRESSED_SHARE * sole * (1.0 - ramp((stance_share - heel_off) / (1.0 - heel_off))))


def _towards(heading_rad: Array, length_m: Array) -> Array:
    """Lay lengths out along the ground: (...) to (..., 3). [m]"""
    along = [np.cos(heading_rad), np.sin(heading_rad), np.zeros_like(heading_rad)]
    return np.asarray(length_m[..., None] * np.stack(along, axis=-1))


def _shifted(animal: Animal, forward_m_s2: Array) -> Array:
    """Share of the weight that fore feet carry more because the body slows down, (samples,): -a h / (g base).

    With it pushing feet do not pitch the body (statics); accelerating dogs had 43 % on the fore feet,
    against 56 to 64 % (Walter & Carrier 2009, J Exp Biol 212:1930, abstract).
    """
    standing = standing_positions_m(animal)
    fore, hind = (float(standing[animal.limb(end).foot_joint, 0]) for end in ("fore", "hind"))
    shifted = -forward_m_s2 / GRAVITY_M_S2 * whole_body(animal).centre_m[2] / (fore - hind)
    return np.asarray(np.clip(shifted, -MOST_SHIFTED, MOST_SHIFTED))


def _shares(
    animal: Animal,
    grid: Grid,
    state: StanceState,
    stances: Stances,
    walking: Array,
    bump_foot_m: Array,
    forward_m_s2: Array,
) -> tuple[Array, Array]:
    """Find the impulse that each stance is to carry, and the point to which each bump of force points."""
    is_fore = stances.limb[stances.stance] < 2
    fore, hind = float(bump_foot_m[is_fore, 0].mean()), float(bump_foot_m[~is_fore, 0].mean())
    run_share, shifted = _share_over_feet(animal, fore, hind), _shifted(animal, forward_m_s2)
    impulses = _impulses(animal, grid, state, stances, walking, run_share, shifted)
    return impulses, np.where(is_fore, fore, hind)


def _still(state: StanceState) -> Array:
    """Say how far the animal stands at each moment: (samples,)."""
    since, until = state.time_s - state.touchdown_s, state.liftoff_s - state.time_s
    settled = np.minimum(since, until).min(axis=1)
    return ramp((settled - STEADYING_S) / STEADYING_S)


def _share_over_feet(animal: Animal, fore_m: float, hind_m: float) -> float:
    """Share of the weight that fore feet carry at a run, with which even forces turn nothing.

    Horses have 57 % at a trot (Dutto et al. 2004, figure) and about half at a gallop (Self Davies et al.
    2019, abstract).
    """
    share = (whole_body(animal).centre_m[0] - hind_m) / (fore_m - hind_m)
    return float(np.clip(share, *RUN_SHARES))


def _impulses(
    animal: Animal,
    grid: Grid,
    state: StanceState,
    stances: Stances,
    walking: Array,
    run_share_fore: float,
    shifted: Array,
) -> Array:
    """Impulse that each stance should carry, over the weight of the body: (stances,). [s]

    At a walk a pair always carries its share, handed over from foot to foot; at a run each stance carries
    the share of its foot for a whole stride, as its feet are under the body. ``shifted`` (samples,) is what
    the fore feet carry more, and the hind feet less.
    """
    share = animal.load_share_fore
    shares = np.array([share, share, 1.0 - share, 1.0 - share])
    each = pair_hand_over(state) * grid.step_s
    each = each * (shares + shifted[:, None] * FORE_HIND)
    handed = np.bincount(stances.column.ravel(), each.ravel(), stances.count)
    stride = np.full(stances.count, grid.span_s)
    middle = (stances.touchdown_s + stances.liftoff_s) / 2.0
    for limb in range(state.planted.shape[1]):
        mine = np.flatnonzero(stances.limb == limb)
        if grid.is_periodic:
            stride[mine] = grid.span_s / mine.size
        elif mine.size > 1:  # a stance that lasts, as in a halt, makes no stride longer
            between = np.diff(middle[mine])
            nearer = np.minimum(np.append(between[:1], between), np.append(between, between[-1:]))
            stride[mine] = np.minimum(np.gradient(middle[mine]), LONGER_STRIDE * nearer)
    runs = np.array([run_share_fore, run_share_fore, 1.0 - run_share_fore, 1.0 - run_share_fore])
    fore = runs[stances.limb] + np.interp(middle, grid.time_s, shifted) * FORE_HIND[stances.limb]
    return np.asarray(np.maximum(walking * handed + (1.0 - walking) * fore / 2.0 * stride, 1e-3))


def _back(
    animal: Animal,
    grid: Grid,
    state: StanceState,
    lean_rad: Array,
    bend_rad: Array,
    hike_rad: Array | float = 0.0,
    *,
    bounce: float,
    sway: float,
) -> BackPose:
    """Bend and roll the back with the feet; total ranges from the animal. The roll of the body comes on top.

    Faber et al. 2000, AJVR 61:399 (horse, walk: flexion-extension two cycles a stride, lateral bending
    and axial rotation one). The pelvis turns towards the hind foot that reaches forward, is tucked
    while the hind feet are spread, and is carried higher over the foot that bears weight.
    """
    swing = even_travel(state.swing_share, 0.45, 0.5)[..., None]
    foot_x = (state.place_m + swing * (state.next_place_m - state.place_m))[..., 0]  # (samples, 4)
    full = animal.tempo.stance_distance_m
    right_ahead = np.clip((foot_x[:, 3] - foot_x[:, 2]) / full, -1.2, 1.2)
    spread = 2.0 * right_ahead**2
    feet = [animal.limb("hind").foot_joint, animal.limb("hind", "R").foot_joint]
    under = standing_positions_m(animal)[feet, 0].mean() + animal.limb("hind").foot.toe_m
    ahead = np.tanh((foot_x[:, 2:].mean(axis=1) - under) / (full / 2.0))
    stride_s = float(np.clip(np.mean(state.next_touchdown_s - state.touchdown_s), 0.2, STANDING_STRIDE_S))
    # Each end rolls in one wave, highest over the middle of a stance: it does not switch from side to side.
    over = np.where(state.planted, np.sin(np.pi * state.stance_share), 0.0)
    side = np.stack([over[:, 0] - over[:, 1], over[:, 2] - over[:, 3]], axis=1)
    side = grid.smoothed(side, FOLLOW_PER_STRIDE / stride_s)
    shape = animal.back
    if grid.is_periodic:
        spread = grid.without_mean(spread)
    own = RUN_FLEXION + (FLEXION_SHARE - RUN_FLEXION) * walking_share(state).mean(axis=1)
    return bent_back(
        animal,
        flexion_rad=own * bounce * shape.flexion_rad / 2.0 * spread + shape.gather_rad / 2.0 * ahead,
        bending_rad=sway * shape.bending_rad / 2.0 * right_ahead - bend_rad,
        pelvis_roll_rad=lean_rad + hike_rad + sway * shape.pelvis_axial_rad / 2.0 * side[:, 1],
        chest_roll_rad=lean_rad + sway * shape.chest_axial_rad / 2.0 * side[:, 0],
    )
