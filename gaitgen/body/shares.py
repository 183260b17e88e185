"""Where soles are pressed, and which impulse each stance is to carry."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.bumps import Stances
from gaitgen.course.stance import StanceState, pair_hand_over
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.grid import Grid

Array = npt.NDArray[np.float64]

# A flat sole bears its load so far behind the toe, of its length (estimate: 55 % on fore feet at a trot).
PRESSED_SHARE = 1.0 / 3.0
FORE_HIND = np.array([1.0, 1.0, -1.0, -1.0])
MOST_SHIFTED = 0.3  # of the weight, because the body speeds up or slows down (estimate)
LONGER_STRIDE = 1.5  # at the most, than the step beside it
# On a slope, wholly on one so steep, feet of a walk carry what their places under the body ask for: they land
# farther up it (shot/footing.py), and with the share of the level the body would pitch unless it surged to
# and fro (a cat up 30 %: .17 to .46 m/s in each stride). How steep is an estimate.
WHOLLY_ON = 0.1
NEAREST = 0.3  # least way from hind to fore feet for that, in hip heights (estimate)
RUN_SHARES = (0.4, 0.65)  # least and greatest share of the weight on fore feet at a run (estimate)
WALK_SHARES = (0.3, 0.8)  # the same at a walk on a slope (estimate)


def pressure_back_m(animal: Animal, limb: npt.NDArray[np.int64], stance_share: Array) -> Array:
    """Say how far behind the toe a sole is pressed: under its bone while flat, at the toe as it leaves. [m]

    ``stance_share`` has limbs ``limb`` along its last axis. Used as far as the animal runs: at a walk the
    load is taken at the toe throughout, since stances lie so far back there that loads in the middle of the
    soles would come too early in them (a departure from physics by a third of a sole).
    """
    sole = np.array([each.foot.toe_m + each.foot.heel_m for each in animal.limbs])[limb]
    heel_off = np.array([each.path.heel_off_share for each in animal.limbs])[limb]
    return np.asarray(PRESSED_SHARE * sole * (1.0 - ramp((stance_share - heel_off) / (1.0 - heel_off))))


def towards(heading_rad: Array, length_m: Array) -> Array:
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


def shares(
    animal: Animal,
    grid: Grid,
    state: StanceState,
    stances: Stances,
    walking: Array,
    bump_foot_m: Array,
    forward_m_s2: Array,
) -> tuple[Array, Array]:
    """Find the impulse that each stance is to carry, and the point to which each bump of force points."""
    is_fore, runs = stances.limb[stances.stance] < 2, 1.0 - walking[stances.stance]
    pressed_m = bump_foot_m[:, 0] + animal.back.forces_early * runs * _lean_m(stances, bump_foot_m[:, 0])
    fore, hind = float(pressed_m[is_fore].mean()), float(pressed_m[~is_fore].mean())
    run_share, shifted = _share_over_feet(animal, fore, hind), _shifted(animal, forward_m_s2)
    on_slope = _on_slope(animal, grid, stances, bump_foot_m[:, 0])
    impulses = _impulses(animal, grid, state, stances, walking, run_share, shifted, on_slope)
    # As much as hind feet drive a body that goes on evenly, fore feet brake it.
    ahead = animal.hip_height_m * (animal.back.run_drive * runs + animal.back.walk_drive * (1.0 - runs))
    braked = ahead * (1.0 - run_share) / run_share
    return impulses, np.where(is_fore, fore - braked, hind + ahead)


def _on_slope(animal: Animal, grid: Grid, stances: Stances, foot_m: Array) -> Array:
    """Share of the weight that fore feet of a walk carry more on a slope than on the level, (samples,).

    Parameters
    ----------
    animal, grid, stances
        Who stands on what, when.
    foot_m
        (bumps,) how far each foot is ahead of under the root when its bump is highest. [m]
    """
    humps = np.bincount(stances.stance, minlength=stances.limb.size)
    ahead = np.bincount(stances.stance, foot_m, stances.limb.size) / humps
    middle, height = (stances.touchdown_s + stances.liftoff_s) / 2.0, stances.place_m[:, 2]
    ends = []
    for is_end in (stances.limb < 2, stances.limb >= 2):
        mine = np.flatnonzero(is_end)
        mine = mine[np.argsort(middle[mine])]
        ends.append([np.interp(grid.time_s, middle[mine], each[mine]) for each in (ahead, height)])
    (fore, fore_up), (hind, hind_up) = ends
    apart = np.maximum(fore - hind, NEAREST * animal.hip_height_m)
    share = (whole_body(animal).centre_m[0] - hind) / apart
    counts = ramp(np.abs(fore_up - hind_up) / apart / WHOLLY_ON)
    return np.asarray(counts * (np.clip(share, *WALK_SHARES) - animal.load_share_fore))


def _lean_m(stances: Stances, foot_m: Array) -> Array:
    """Say how much farther ahead feet bear humps that lean all the way, (bumps,). [m]"""
    own, first = stances.stance, stances.first[:-1]
    leaning = np.add.reduceat(np.sin(2.0 * np.pi * stances.share) * foot_m, first)
    return np.asarray((leaning / np.add.reduceat(np.sin(np.pi * stances.share), first))[own])


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
    on_slope: Array,
) -> Array:
    """Impulse that each stance should carry, over the weight of the body: (stances,). [s]

    At a walk a pair always carries its share, handed over from foot to foot; at a run each stance carries
    the share of its foot for a whole stride, as its feet are under the body. ``shifted`` (samples,) is what
    the fore feet carry more, and the hind feet less, and ``on_slope`` what they do at a walk.
    """
    share = animal.load_share_fore
    shares = np.array([share, share, 1.0 - share, 1.0 - share])
    each = pair_hand_over(state) * grid.step_s
    each = each * (shares + (shifted + on_slope)[:, None] * FORE_HIND)
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
