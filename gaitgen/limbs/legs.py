"""Inverse kinematics of all limbs, all moments at once: what is left beside the laws is one unknown each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.body.trunk import Trunk
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.limbs.chain import Complex
from gaitgen.limbs.foot_path import Feet, FootPlan
from gaitgen.limbs.given import Given
from gaitgen.limbs.reach import Reach, reach_from, tops_m
from gaitgen.limbs.slings import carriers, sling_rotations
from gaitgen.numerics.curves import ramp
from gaitgen.numerics.rotations import axis_angle_matrix

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# A leg of a running animal that does not reach its swinging foot's path comes softly to its end: over this
# share of its length, and of swing at either end (estimates).
MISS_SOFT_SHARE = 0.012
MISS_SHARE = 0.1
LEAST_SOFT = 1e-9
HANG_ROUNDS = 2  # the foot hangs from a leg that reaches for the foot


@dataclass(frozen=True, eq=False)
class LegPoses:
    """The solved limbs.

    Attributes
    ----------
    reach
        What they span.
    turn_rad, unknown_rad
        (samples, 4, bones) turn of each bone from standing, in the plane of its limb, and the (samples, 4)
        unknowns that it comes from. [rad]
    sling_rad
        (samples, 4, 2) roll and yaw of the slings. [rad]
    feet
        The feet that they hold.
    """

    reach: Reach
    turn_rad: Array
    unknown_rad: Array
    sling_rad: Array
    feet: Feet

    def local(self, animal: Animal, trunk: Trunk, rows: npt.NDArray[np.int64]) -> dict[int, Array]:
        """Return the rotation of every joint of the limbs in its parent's frame, at some samples.

        The plane of the limb at the top, pure pitch below, the foot free.
        """
        local: dict[int, Array] = {}
        on_chest, _, _ = carriers(animal)
        slings = sling_rotations(self.sling_rad[rows])
        heading = axis_angle_matrix("Z", np.angle(self.reach.goes[rows]))
        plane = heading @ axis_angle_matrix("X", self.reach.tilt_rad[rows])
        soles = self.feet.rotations(rows)
        for k, limb in enumerate(animal.limbs):
            count = len(limb.joints) - 1
            turns = self.turn_rad[rows, k, :count]
            between = np.diff(turns, axis=1)
            top = plane[:, k] @ axis_angle_matrix("Y", -turns[:, 0])
            girdle = (trunk.chest if on_chest[k] else trunk.pelvis)[rows] @ slings[:, k]
            local[limb.joints[0]] = np.swapaxes(girdle, -1, -2) @ top
            made = axis_angle_matrix("Y", -between)
            for place, joint in enumerate(limb.joints[1:-1]):
                local[joint] = made[:, place]
            above = plane[:, k] @ axis_angle_matrix("Y", -turns[:, -1])
            local[limb.foot_joint] = np.swapaxes(above, -1, -2) @ soles[:, k]
            if limb.sling is not None:
                local[limb.sling] = slings[:, k]
        return local


@dataclass(frozen=True, eq=False)
class Aimed:
    """Feet on their paths, before their legs are posed.

    Attributes
    ----------
    feet
        The feet, which hang from their legs as they swing.
    top_m, given
        (samples, 4, 3) tops of the limbs [m]; what the laws say.
    near_rad
        (samples, 4) unknowns near those that the limbs need. [rad]
    """

    feet: Feet
    top_m: Array
    given: Given
    near_rad: Array | None

    @cached_property
    def reach(self) -> Reach:
        """What the limbs must span to hold the feet."""
        return reach_from(self.top_m, self.feet.joints_m, self.feet.goes, self.given)


def aim_legs(
    animal: Animal, trunk: Trunk, plan: FootPlan, given: Given, near_rad: Array | None = None
) -> Aimed:
    """Let the swinging feet hang from legs that go as far as they can towards them.

    ``near_rad`` (samples, 4) are unknowns near those that the limbs need, if some are known. [rad]
    """
    last = _foot_bones(animal)
    feet, top_m = plan.rolling, tops_m(trunk, given)
    for _ in range(HANG_ROUNDS):
        reach = reach_from(top_m, feet.joints_m, feet.goes, given)
        point, near_rad = given.laid.pointed(reach.target_m, near_rad, as_far_as_can=True)
        hanging = given.laid.turned_rad(last, point, near_rad) - given.hang_rad
        # A leg that does not reach yet keeps its roll, so that what it lacks is known.
        feet = plan.hanging(np.where(np.isfinite(hanging), hanging, plan.rolled_rad))
    return Aimed(feet, top_m, given, near_rad)


def solve_legs(
    animal: Animal,
    aimed: Aimed,
    given: Given,
    swing_share: Array,
    may_miss: Bools | None = None,
    folds: Bools | None = None,
) -> LegPoses:
    """Pose every limb so that it holds its foot.

    Targets out of reach come back as nan, but where a foot ``may_miss`` them, (samples, 4): there its leg
    goes as far as it can, softly where its swing, ``swing_share`` (samples, 4), begins and ends. Where it
    ``folds`` (samples, 4) a leg does so no farther than it can, and holds its foot that much lower.
    """
    reach = aimed.reach
    target = reach.target_m
    if folds is not None:
        target = _unfolded(target, given.laid.shortest_m, given.laid.longest_m, swing_share, folds)
    if may_miss is not None:
        target = _softened(target, given.laid.longest_m, swing_share, may_miss)
    as_far = False if may_miss is None else may_miss
    turn, unknown = given.laid.solve(target, aimed.near_rad, as_far_as_can=as_far)
    own = slice(reach.above_rad.shape[-1])
    is_above = chains_of(animal).is_above[:, own]
    turn[..., own] = np.where(is_above, reach.above_rad, turn[..., own])
    return LegPoses(reach, turn, unknown, given.sling_rad, aimed.feet)


def within_reach_m(joints_m: Array, reach: Reach, given: Given, swing_share: Array) -> Array:
    """Bring foot joints (samples, 4, 3) that legs span by ``reach`` softly within their reach. [m]"""
    target = reach.target_m
    all_of = np.ones(target.shape, dtype=np.bool_)
    short = _softened(target, given.laid.longest_m, swing_share, all_of) - target
    ahead = reach.goes * short.real
    return np.asarray(joints_m + np.stack([ahead.real, ahead.imag, short.imag], axis=-1))


def too_near(near: Bools, liftoff_s: Array, swings: Bools) -> Bools | None:
    """Tell swings in which a foot is nearer at any moment than its leg folds, (samples, 4); None for none.

    Parameters
    ----------
    near
        (samples, 4) where it is and may not miss its place.
    liftoff_s, swings
        (samples, 4) when each foot left the ground, and whether it is off it. [s]
    """
    near = near & swings
    if not near.any():
        return None
    found = np.zeros_like(near)
    for limb in range(near.shape[1]):
        _, swing = np.unique(liftoff_s[:, limb], return_inverse=True)
        found[:, limb] = (np.bincount(swing, near[:, limb]) > 0.0)[swing] & swings[:, limb]
    return found


@lru_cache(maxsize=32)
def _foot_bones(animal: Animal) -> npt.NDArray[np.int64]:
    """Return the number of the bone over each foot, (4,)."""
    return np.array([len(limb.joints) - 2 for limb in animal.limbs])


def _softened(target_m: Complex, longest_m: Array, swing_share: Array, may_miss: Bools) -> Complex:
    """Bring a leg that may miss its target softly to its end: (samples, 4). [m]"""
    width = _width_m(longest_m, swing_share)
    far = np.abs(target_m)
    held = longest_m - width * np.logaddexp(0.0, np.clip((longest_m - far) / width, -50.0, None))
    return np.where(may_miss, target_m * (held / far), target_m)


def _unfolded(
    target_m: Complex, shortest_m: Array, longest_m: Array, swing_share: Array, folds: Bools
) -> Complex:
    """Keep a leg that folds softly from its shortest: (samples, 4). [m]"""
    width = _width_m(longest_m, swing_share)
    far = np.abs(target_m)
    held = shortest_m + width * np.logaddexp(0.0, np.clip((far - shortest_m) / width, -50.0, None))
    return np.where(folds, target_m * (held / far), target_m)


def _width_m(longest_m: Array, swing_share: Array) -> Array:
    """How softly a leg comes to its end in a swing: (samples, 4). [m]"""
    ends = ramp(swing_share / MISS_SHARE) * ramp((1.0 - swing_share) / MISS_SHARE)
    return np.asarray(np.maximum(MISS_SOFT_SHARE * ends, LEAST_SOFT) * longest_m)
