"""Walking: each end of the body is carried over its planted feet as on struts that give a little."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.course.path import Path
from gaitgen.course.spin import Spin
from gaitgen.course.stance import StanceState, pair_hand_over, stance_state
from gaitgen.course.steps import Steps
from gaitgen.numerics.curves import local_mean, ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# Between these duty factors a gait goes over from running to walking (Hildebrand 1965: 0.5 divides them).
RUN_DUTY, WALK_DUTY = 0.46, 0.54
# The lower one for loops of trots and paces, whose pairs take turns: with less, hips and chest of a slow one
# would go up and down at different moments; in shots it makes halts from a trot shake (estimate, tried).
# So near to half a stride is half a stride.
TURNS_DUTY, HALF = 0.48, 1e-6
FAR_APART = 0.1  # of a stride: less than leads are apart (estimate)
OVER_S = 0.25  # that an end takes to go over from one to the other (estimate)
FARTHEST_SHARE = 0.9  # of its length that a strut may lean ahead or back
# Of a stride that a foot is down for, at the most, where strides are not alike: one that stands through a
# halt would have its end settle late in every stride (estimate).
LONGEST_STANCE_SHARE = 0.8


def strut_arc_m(travel_m: Array, length_m: float | Array) -> Array:
    """Return how far the top of a rigid strut is below its highest point, l - sqrt(l^2 - x^2). [m]

    Cavagna G.A., Heglund N.C. & Taylor C.R. 1977, Am J Physiol 233:R243-R261 (walking as an inverted
    pendulum, from memory). Valid for -0.9 l < x < 0.9 l; beyond, x is held at 0.9 l.
    """
    held = np.minimum(np.abs(travel_m), FARTHEST_SHARE * length_m)
    return np.asarray(length_m - np.sqrt(length_m**2 - held**2))


def settle_delay_s(
    steps: Steps, settle_strides: float, least_share: float = 0.0, sooner_strides: Array | float = 0.0
) -> Array:
    """Return by how much each end, (chest, hips), is later than rigid struts, so that it settles. [s]

    Rigid struts are lowest half-way through double support; the end is to be lowest ``settle_strides`` of
    a stride after contact. In slow strides, which stand long on two feet, that is earlier, as the heel of
    the leg behind rises before its foot lifts: but no sooner than ``least_share`` of double support, or the
    end rises so long over both that the leg behind opens once more before it leaves; and each end (2,)
    ``sooner_strides`` of a stride sooner. 0 strides means as rigid struts.
    """
    if settle_strides <= 0.0:
        return np.zeros(2)
    period_s, both_s = _on_both_s(steps)
    lowest_s = np.maximum(settle_strides * period_s, least_share * both_s) - sooner_strides * period_s
    return np.where(period_s > 0.0, lowest_s - both_s / 2.0, 0.0)


def _lower_later_s(steps: Steps, grid: Grid) -> Array:
    """Return how much later after a contact of a loop struts are lowest than on average, (2, samples). [s]

    A stride of an odd number of frames has one foot of a pair down half a frame sooner than the other, so it
    is on both for a frame longer: there struts are lowest half of that later after contact.
    """
    later = np.zeros((2, grid.count))
    for k in range(2):
        mine = np.flatnonzero(steps.limb // 2 == k)
        if steps.period_s is None or mine.size < 2:
            continue
        mine = mine[np.argsort(steps.touchdown_s[mine])]
        lands_s, leaves_s = steps.touchdown_s[mine], steps.liftoff_s[mine]
        left_s = np.roll(leaves_s, 1) - np.where(np.arange(mine.size) == 0, steps.period_s, 0.0)
        half_s = (left_s - lands_s) / 2.0
        later[k] = np.interp(grid.time_s, lands_s, half_s - half_s.mean(), period=steps.period_s)
    return later


def own_settle_strides(animal: Animal, steps: Steps) -> float:
    """Return how long after contact the hips of an animal are lowest by itself, as a share of the stride."""
    tempo = animal.tempo
    period_s, both_s = (each[1] for each in _on_both_s(steps))
    if tempo.settle_strides <= 0.0 or period_s <= 0.0:
        return tempo.settle_strides
    return float(max(tempo.settle_strides, tempo.settle_share * both_s / period_s))


def _on_both_s(steps: Steps) -> tuple[Array, Array]:
    """Return how long a stride of each end, (chest, hips), takes, and how long it is on both feet then. [s]

    Of an end that makes no stride, 0 and 0.
    """
    periods_s, both_s = np.zeros(2), np.zeros(2)
    for k in range(2):
        mine = steps.limb // 2 == k
        down_s = float(np.median(steps.liftoff_s[mine] - steps.touchdown_s[mine]))
        if steps.period_s is not None:
            period_s = steps.period_s / int(mine.sum()) * 2.0  # of a stride; two feet at an end
        elif mine.sum() > 2:
            period_s = 2.0 * float(np.median(np.diff(np.sort(steps.touchdown_s[mine]))))
            down_s = min(down_s, LONGEST_STANCE_SHARE * period_s)
        else:
            continue
        periods_s[k], both_s[k] = period_s, down_s - period_s / 2.0
    return periods_s, both_s


def _high_later_s(animal: Animal, steps: Steps, grid: Grid, settle_strides: float) -> Array:
    """Return by how much each end is later still, none at its lows and most half-way: (2, samples). [s]

    A horse's croup is lowest at 8 to 11 % of a hind stance and highest at 51 to 57 % (Animals 2022 12:3053,
    from a summary), so it rises for longer than it falls; one delay for both cannot have that.
    """
    later = limb_numbers(animal, "high_later_strides")[::2]
    if not np.any(later):
        return np.zeros((2, grid.count))
    now = stance_state(steps, grid.time_s)
    stride_s = float(np.median(now.next_touchdown_s - now.touchdown_s))
    state = stance_state(steps, grid.time_s - settle_strides * stride_s)
    landed = state.touchdown_s.reshape(-1, 2, 2).max(axis=2)
    lands = state.next_touchdown_s.reshape(-1, 2, 2).min(axis=2)  # (samples, ends)
    since = np.clip((state.time_s - landed) / np.maximum(lands - landed, 1e-9), 0.0, 1.0)
    return np.asarray((later * 2.0 * np.minimum(lands - landed, stride_s) * np.sin(np.pi * since) ** 2).T)


def walking_share(state: StanceState, grid: Grid) -> Array:
    """Say how far chest and hips walk at each moment, (samples, 2): 1 at a walk, 0 at a run.

    Where one becomes the other, it does so within OVER_S. Feet of pairs that take turns land half a stride
    after one another, or FAR_APART from that.
    """
    stride = np.minimum(state.next_touchdown_s - state.touchdown_s, 4.0)
    duty = np.minimum(state.liftoff_s - state.touchdown_s, stride) / stride
    mean = duty.reshape(-1, 2, 2).mean(axis=2)
    apart = np.abs(np.diff(state.touchdown_s.reshape(-1, 2, 2), axis=2)[..., 0]) / stride[:, ::2]
    turns = (mean <= 0.5 + HALF) & (np.abs(apart % 1.0 - 0.5) < FAR_APART)
    run = np.where(turns.all(axis=1) & grid.is_periodic, TURNS_DUTY, RUN_DUTY)[:, None]
    share = ramp((mean - run) / (WALK_DUTY - run))
    return share if grid.is_periodic else local_mean(share, max(1, round(OVER_S / 3.0 / grid.step_s)))


def _from_pivot_m(animal: Animal, spin: Spin) -> Array:
    """How far each foot stands from the point that a turn on the spot goes about, (4,). [m]"""
    feet = standing_positions_m(animal)[[limb.foot_joint for limb in animal.limbs], :2]
    return np.asarray(np.linalg.norm(feet - np.array(spin.pivot_m), axis=1))


def strut_heights_m(
    animal: Animal, steps: Steps, path: Path, grid: Grid, *, bounce: float, settle_strides: float | None
) -> Array:
    """Return the height of chest and hips over standing as struts carry them: (samples, 2). [m]

    They are lowest ``settle_strides`` of a stride after contact, or where the animal's are by itself, each
    end as much sooner as its limbs say (withers at 4 to 13 % of a fore stance, croup at 8 to 11 % of a hind
    one: Animals 2022 12:3053, from a summary). Each
    end is below its highest point by the arc of a rigid strut over each planted foot, weighed by the load
    that the foot takes, times the share of the animal's file.
    """
    least_share = animal.tempo.settle_share if settle_strides is None else 0.0
    settle = animal.tempo.settle_strides if settle_strides is None else settle_strides
    sooner = limb_numbers(animal, "low_sooner_strides")[::2]
    delay = settle_delay_s(steps, settle, least_share, sooner)[:, None]
    if settle > 0.0:
        lowest = own_settle_strides(animal, steps) if settle_strides is None else settle
        delay = delay + _high_later_s(animal, steps, grid, lowest) - _lower_later_s(steps, grid)
    moments = grid.time_s - delay  # (ends, samples)
    if not grid.is_periodic:
        moments = np.maximum(moments, grid.time_s[0])
    state = stance_state(steps, moments.ravel())
    middle = (state.touchdown_s + state.liftoff_s) / 2.0
    travel = path.distance_m(state.time_s) - path.distance_m(middle)  # since mid-stance
    for spin in path.spins:
        reach = _from_pivot_m(animal, spin) * (spin.turned_rad(state.time_s) - spin.turned_rad(middle))
        travel = np.hypot(travel, reach)
    tops = standing_positions_m(animal)[[limb.top for limb in animal.limbs], 2]
    sunk = pair_hand_over(state) * strut_arc_m(travel, tops)  # (ends x samples, 4)
    of_pairs = sunk.reshape(2, grid.count, 2, 2).sum(axis=3)  # (moments of an end, samples, ends)
    own = np.stack([of_pairs[end, :, end] for end in range(2)], axis=1)
    return np.asarray(-bounce * limb_numbers(animal, "rise_share")[::2] * own)
