"""How a running leg carries its foot: it trails as it drove, folds as a whole, reaches, and comes back.

Seen from the top of the limb: an angle and a length. At both ends of swing they go on as in stance, place,
speed and acceleration, and what is left of those fades; between them the leg is swung forward, and folded
and opened once. At a run a foot is taken along by its leg, while at a walk the leg follows its foot.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.stance import StanceState
from gaitgen.limbs.chain import Complex
from gaitgen.limbs.foot_path import FootPlan
from gaitgen.limbs.given import Given
from gaitgen.limbs.reach import reach_from
from gaitgen.numerics.curves import bump, hill, ramp, within_one
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Shares of swing over which a leg goes on turning as in stance, and on growing, after it and before the next,
# and over which accelerations fade (estimates).
TURNS_ON, GROWS_ON, FADES_QUICK = (0.3, 0.45), (0.24, 0.24), 0.24
GOES_ON = tuple(np.repeat(shares, len(LIMBS)) for shares in zip(TURNS_ON, GROWS_ON, strict=True))  # (8,) each
# A leg that left turns on by so much at the most, or it would swing up to the rump at speed (estimate). [rad]
TURNS_ON_MOST_RAD = 0.02
# A leg is taken to have at least this share of its length left to grow (estimate).
LEAST_ROOM = 0.006
# The top of the quintic with which a speed fades.
FADES_TO = 0.1975
# A foot that its leg carries keeps so much off the ground half-way, in heights of its top (estimate).
CLEARANCE, CLEARS_SOFTLY = 0.025, 0.006
ENDS = 0.1  # shares of swing at either end where that begins (estimate)
TINY = 1e-9
MOST_RAD = TURNS_ON_MOST_RAD, 1.0 / TINY  # after the one stance, and before the next


def carries(animal: Animal, runs: Array) -> Array:
    """Say how far each leg carries its foot, (samples, 4), where ``runs`` says how far it runs."""
    return np.asarray(runs * (limb_numbers(animal, "path.folds_to") > 0.0))


@dataclass(frozen=True, eq=False)
class _Swing:
    """What the steps alone say of how legs carry their feet; of 8 columns 4 are for angles, 4 for lengths.

    Attributes
    ----------
    shares, moments
        (samples, 8) share of swing since lift-off and until landing; where among the samples these are.
    lasts_s
        (samples, 8) how long each swing lasts. [s]
    way
        (samples, 8) how far a leg has gone over to the next stance.
    fold
        (samples, 4) how far it is folded.
    shortest_m
        (4,) how long a leg is that is folded all the way. [m]
    """

    shares: tuple[Array, Array]
    moments: tuple[_Moments, _Moments]
    lasts_s: Array
    way: Array
    fold: Array
    shortest_m: Array


@lru_cache(maxsize=2)
def _swing_of(animal: Animal, state: StanceState, grid: Grid) -> _Swing:
    """Look at the steps of a motion once, as it is solved again and again on them."""
    swing = state.swing_share
    starts, reaches = limb_numbers(animal, "path.trails_to"), limb_numbers(animal, "path.reaches_at")
    names = ("folds_from", "folded_at", "opens_from", "opens_to")
    leaves_s, lands_s = _both(state.liftoff_s, state.liftoff_s), _both(*(state.next_touchdown_s,) * 2)
    return _Swing(
        shares=(_both(swing, swing), _both(1.0 - swing, 1.0 - swing)),
        moments=(_Moments.of(grid, leaves_s), _Moments.of(grid, lands_s)),
        lasts_s=lands_s - leaves_s,
        way=_both(ramp((swing - starts) / (reaches - starts)), ramp(swing)),
        fold=hill(swing, *(limb_numbers(animal, f"path.{name}") for name in names)),
        shortest_m=limb_numbers(animal, "path.folds_to") * _standing_m(animal),
    )


def _both(of_angle: Array, of_length: Array) -> Array:
    """Put what belongs to the angles of legs beside what belongs to their lengths: (..., 4) to (..., 8)."""
    return np.concatenate([of_angle, of_length], axis=-1)


def _polar(joint_m: Array, top_m: Array, goes: Complex) -> Array:
    """Look at joints (samples, 4, 3) from tops; ``goes`` (samples, 4) is where the legs go, as in Feet.

    Returns
    -------
    (samples, 8) direction from straight down, forward positive, of all legs, then length. [rad], [m]
    """
    arm = joint_m - top_m
    ahead, down = _ahead_m(arm, goes), -arm[..., 2]
    return _both(np.arctan2(ahead, down), np.hypot(ahead, down))


def _ahead_m(arm_m: Array, goes: Complex) -> Array:
    """Say how far arms (samples, 4, 3) go to where the legs go, (samples, 4). [m]"""
    return np.asarray(arm_m[..., 0] * goes.real + arm_m[..., 1] * goes.imag)


def carried_joints_m(
    plan: FootPlan, grid: Grid, top_m: Array, given: Given, lift: Array | float = 1.0
) -> Array:
    """Find where running legs carry their foot joints, (samples, 4, 3); those of feet that are down stay. [m]

    Parameters
    ----------
    plan
        Where feet land and leave, and how they tip.
    grid
        The moments.
    top_m
        (samples, 4, 3) tops of the limbs. [m]
    given
        What the laws of the limbs say.
    lift
        Factor on how far legs fold, one, (4,) or (samples, 4).
    """
    state, rolling, swing = plan.state, plan.rolling, _swing_of(plan.animal, plan.state, grid)
    along = np.stack([plan.goes.real, plan.goes.imag, np.zeros(plan.goes.shape)], axis=-1)
    comes = np.where(state.planted[..., None], state.place_m, state.next_place_m)
    left_m, lands_m = state.place_m + rolling.arms_m, comes + rolling.arms_m
    rooms = [_room_m(each, top_m, plan.goes, given) for each in (left_m, lands_m)]
    farthest = tuple(_both(np.full_like(m, most), m) for most, m in zip(MOST_RAD, rooms, strict=True))
    ends = _polar(left_m, top_m, plan.goes), _polar(lands_m, top_m, plan.goes)
    both = _between(swing, grid, ends, farthest)
    turn, length = both[:, : len(LIMBS)], both[:, len(LIMBS) :]
    length = length - lift * np.maximum(length - swing.shortest_m, 0.0) * swing.fold
    aside = rolling.joints_m - top_m
    aside = aside - _ahead_m(aside, plan.goes)[..., None] * along
    aside[..., 2] = 0.0
    made = top_m + aside + (length * np.sin(turn))[..., None] * along
    made[..., 2] -= length * np.cos(turn)
    return np.asarray(np.where(state.planted[..., None], rolling.joints_m, made))


def off_ground_m(
    plan: FootPlan,
    toe_m: Array,
    share: Array | float = 1.0,
    pitch_rad: Array | float = 0.0,
    floor_m: Array | float = -np.inf,
) -> Array:
    """Say how much higher toes (samples, 4, 3) that are carried too low are to be, (samples, 4). [m]

    Those that are carried in part, ``share`` (samples, 4), clear the ground by as much of what they would.
    So do the heels of soles that are pitched by ``pitch_rad`` (samples, 4), with their toes up to land, and
    toes go over ``floor_m`` (samples, 4), if that is higher than the way from place to place.
    """
    swing, leg_m = plan.state.swing_share, _standing_m(plan.animal)
    sole_m = limb_numbers(plan.animal, "foot.toe_m") + limb_numbers(plan.animal, "foot.heel_m")
    under_m = sole_m * np.sin(np.maximum(pitch_rad, 0.0))
    ground = plan.state.place_m[..., 2] + swing * (
        plan.state.next_place_m[..., 2] - plan.state.place_m[..., 2]
    )
    ground = np.maximum(ground + under_m, floor_m)
    ends = ramp(swing / ENDS) * ramp((1.0 - swing) / ENDS)
    width = np.maximum(share * CLEARS_SOFTLY * ends, TINY) * leg_m
    lacks = ground + share * CLEARANCE * bump(swing, 0.5) * leg_m - toe_m[..., 2]
    return np.asarray(width * np.logaddexp(0.0, np.clip(lacks / width, None, 500.0)))


@lru_cache(maxsize=32)
def _standing_m(animal: Animal) -> Array:
    """Length of the limbs from top to foot joint, standing, in the plane, (4,). [m]"""
    places = standing_positions_m(animal)
    arms = [places[limb.foot_joint] - places[limb.top] for limb in animal.limbs]
    flat = np.stack(arms)
    return np.asarray(np.hypot(flat[:, 0], flat[:, 2]))


def _room_m(joints_m: Array, top_m: Array, goes: Complex, given: Given) -> Array:
    """Say how much longer legs can become that hold these joints, (samples, 4). [m]"""
    longest = given.laid.longest_m
    room = longest - np.abs(reach_from(top_m, joints_m, goes, given).target_m)
    return np.asarray(np.maximum(room, LEAST_ROOM * longest))


def _between(swing: _Swing, grid: Grid, ends: tuple[Array, Array], farthest: tuple[Array, ...]) -> Array:
    """Go on from one stance and over to the next, C2 at both ends: (samples, 8).

    Parameters
    ----------
    swing, grid
        The swing of each foot; the moments.
    ends
        (samples, 8) what is to be gone on from, which is as in stance around each lift-off, and what is come
        to, which is so around each landing.
    farthest
        (samples, 8) how far it goes on with either speed at the most, as known around lift-off and landing.
    """
    lasts_s, way = swing.lasts_s, swing.way
    made = np.zeros_like(way)
    for share, at, values, fades, most, sign, part in zip(
        swing.shares, swing.moments, ends, GOES_ON, farthest, (1.0, -1.0), (1.0 - way, way), strict=True
    ):
        place, speed, change = map(at.of_values, _moving(grid, values))
        goes_m = np.fmax(FADES_TO * fades * np.abs(lasts_s * speed), TINY)
        goes_on = fades * np.minimum(1.0, at.of_values(most) / goes_m)
        made += part * place + sign * lasts_s * speed * _fading(share, goes_on)
        made += lasts_s**2 * change * _fading_change(share, np.minimum(goes_on, FADES_QUICK))
    return made


def _fading(share: Array, over: Array | float) -> Array:
    """Begin at 0 with a speed of 1, and be back at rest after a share of swing: the quintic of that."""
    x = within_one(share / over)
    return np.asarray(over * x * (1.0 - x) ** 3 * (1.0 + 3.0 * x))


def _fading_change(share: Array, over: Array | float) -> Array:
    """Begin at rest with an acceleration of 1, and be back at rest after a share of swing."""
    x = within_one(share / over)
    return np.asarray(over**2 * 0.5 * x**2 * (1.0 - x) ** 3)


def _moving(grid: Grid, values: Array) -> tuple[Array, Array, Array]:
    """Return values, speed and acceleration by differences of neighbours: a jump is felt beside it alone."""
    if grid.is_periodic:
        around = values.take(np.arange(-1, grid.count + 1), axis=0, mode="wrap")
        ahead, behind = around[2:], around[:-2]
        change = (ahead - 2.0 * values + behind) / grid.step_s**2
        return values, (ahead - behind) / (2.0 * grid.step_s), change
    speed = np.gradient(values, grid.step_s, axis=0)
    return values, speed, np.gradient(speed, grid.step_s, axis=0)


@dataclass(frozen=True, eq=False)
class _Moments:
    """Other moments (samples, columns) between those of a grid.

    Attributes
    ----------
    before, after
        (samples, columns) place of the row before and of that after, among all values of that shape.
    since_s, apart_s
        (samples, columns) how long after the one it is, and the other. [s]
    """

    before: Ints
    after: Ints
    since_s: Array
    apart_s: Array

    @classmethod
    def of(cls, grid: Grid, time_s: Array) -> _Moments:
        """Find these moments; a grid without a period begins and ends with its first and last."""
        if grid.is_periodic:
            time_s, known_s = time_s % grid.span_s, grid.time_s % grid.span_s
            order = np.argsort(known_s)
            order = np.concatenate([order[-1:], order, order[:1]])
            known_s = known_s[order]
            known_s[[0, -1]] += -grid.span_s, grid.span_s
        else:
            order, known_s = np.arange(grid.count), grid.time_s
            time_s = np.clip(time_s, known_s[0], known_s[-1])
        row = np.clip(np.searchsorted(known_s, time_s, side="right") - 1, 0, known_s.size - 2)
        since_s, apart_s = time_s - known_s[row], known_s[row + 1] - known_s[row]
        columns = time_s.shape[1]
        before, after = (order[each] * columns + np.arange(columns) for each in (row, row + 1))
        return cls(before, after, since_s, apart_s)

    def of_values(self, values: Array) -> Array:
        """Look values (samples, columns) of the grid up, each column's at its own moments."""
        before, after = values.take(self.before), values.take(self.after)
        return np.asarray((after - before) / self.apart_s * self.since_s + before)
