"""Inverse kinematics of all limbs, all moments at once: what is given by law, and one unknown each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb_numbers import limb_numbers
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.trunk import BackPose, Trunk
from gaitgen.course.steps import StanceState
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.limbs.chain import Complex, Laid, chains_of
from gaitgen.limbs.foot_path import LATE_FROM, Feet, FootPlan
from gaitgen.numerics.curves import bump, hill, ramp
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import axis_angle_matrix
from gaitgen.numerics.turns import direction

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

# The fold of a swinging leg grows with this power of the lift factor, so that the foot goes up with it
# (estimate; the power of the foot's height is in foot_path.py).
FOLD_POWER = 0.5
# A sling under twice its standing load rides up by 1 / (1 + this) of what it comes down by when unloaded
# (estimate).
STIFFENING = 0.5
# So much farther than without load it comes down half-way through swing (estimate).
SWING_DIP = 0.3
FARTHEST_SLING = 0.9  # sine of the greatest turn of a sling
# A leg of a running animal that does not reach its swinging foot's path comes softly to its end: over this
# share of its length, and of swing at either end (estimates).
MISS_SOFT_SHARE = 0.012
MISS_SHARE = 0.1
LEAST_SOFT = 1e-9
# A limb that reaches for what is farther ahead or behind than this share of its length falls short.
NEARLY = 0.999
HANG_ROUNDS = 2  # the foot hangs from a leg that reaches for the foot


@dataclass(frozen=True, eq=False)
class Given:
    """What the laws of the limbs say before the trunk is placed.

    Attributes
    ----------
    folded_rad, opening_rad
        (samples, 4, bones) how far each joint is folded by swing alone, and opened by load and fold. [rad]
    laid
        The limbs with their joints opened by load and fold.
    sling_rad
        (samples, 4, 2) roll and yaw of the slings. [rad]
    top_m
        (samples, 4, 3) top of each limb from the root, as the pelvis sees it. [m]
    hang_rad
        (4,), or (samples, 4), how far a swinging foot hangs back from the bone above it. [rad]
    """

    folded_rad: Array
    opening_rad: Array
    laid: Laid
    sling_rad: Array
    top_m: Array
    hang_rad: Array

    def at(self, rows: npt.NDArray[np.int64]) -> Given:
        """Return what is given at some of the samples."""
        hang = self.hang_rad if self.hang_rad.ndim == 1 else self.hang_rad[rows]
        parts = (self.folded_rad[rows], self.opening_rad[rows], self.laid.at(rows))
        return Given(*parts, self.sling_rad[rows], self.top_m[rows], hang)


def given_by_law(
    animal: Animal,
    plan: FootPlan,
    grid: Grid,
    force_n: Array,
    back: BackPose,
    *,
    lift: Array | float = 1.0,
    weight: Array | float = 1.0,
    bounce: float = 1.0,
    before: Given | None = None,
) -> Given:
    """Open and close the joints with load and swing (fetlock under load: McGuigan & Wilson 2003).

    Parameters
    ----------
    animal, plan, grid
        The animal, where its feet are, the moments.
    force_n
        (samples, 4) upward force on each foot. [N]
    back
        How the back is bent.
    lift, weight, bounce
        Style factors on the folds and on what the load does, one, (4,) or (samples, 4), and on the ride of
        the girdles.
    before
        What was given to feet that land and leave when these do, in the same style.
    """
    chains = chains_of(animal)
    folded = _folded_rad(animal, plan.state, lift) if before is None else before.folded_rad
    over = _over_standing_n_kg(animal, grid, force_n)
    opening = np.asarray(weight)[..., None] * _laws(animal)["load_rad_kg_n"] * over[..., None] - folded
    sling, hang = _slings_rad(animal, plan, over, bounce), limb_numbers(animal, "path.hang_rad")
    laid = chains.laid(chains.sign * opening)
    return Given(folded, opening, laid, sling, tops_m(animal, back, sling), hang)


def _folded_rad(animal: Animal, state: StanceState, lift: Array | float) -> Array:
    """Fold the joints of a swinging leg, and once more before it lands: (samples, 4, bones). [rad]"""
    laws = _laws(animal)
    swing_s = (state.next_touchdown_s - state.liftoff_s)[..., None]
    liftoff, time_s = state.liftoff_s[..., None], state.time_s[..., None]
    start = liftoff - laws["fold_lead"] * swing_s
    peak = liftoff + laws["fold_share"] * swing_s
    end = liftoff + laws["fold_to"] * swing_s
    fold = hill(time_s, start, peak, peak, end)
    again = hill(state.swing_share[..., None], LATE_FROM, laws["again_share"], laws["again_share"], 1.0)
    lifted = np.asarray(lift)[..., None] ** FOLD_POWER
    return np.asarray(lifted * (laws["fold_rad"] * fold + laws["again_rad"] * again))


@lru_cache(maxsize=32)
def _laws(animal: Animal) -> dict[str, Array]:
    """Numbers of the laws as arrays (4, bones)."""
    most = max(len(limb.joints) for limb in animal.limbs) - 1
    names = (
        "fold_lead",
        "fold_share",
        "fold_to",
        "fold_rad",
        "again_rad",
        "again_share",
        "load_rad_kg_n",
    )
    arrays = {}
    for name in names:
        fill = {"fold_share": 0.4, "fold_to": 1.0, "again_share": 0.75}.get(name, 0.0)
        array = np.full((len(animal.limbs), most), fill)
        for row, limb in enumerate(animal.limbs):
            array[row, : len(limb.laws)] = [getattr(law, name) for law in limb.laws]
        arrays[name] = array
    return arrays


def _over_standing_n_kg(animal: Animal, grid: Grid, force_n: Array) -> Array:
    """Load of each foot over its standing load, felt as through a damped spring: (samples, 4). [N/kg]"""
    quick = (tuple(limb_numbers(animal, f"load_{name}").tolist()) for name in ("frequency_hz", "damping"))
    felt = grid.smoothed(force_n, *quick)
    return np.asarray(felt / animal.body_mass_kg - _standing_n_kg(animal))


def _standing_n_kg(animal: Animal) -> Array:
    """Load of each foot at rest, (4,). [N/kg]"""
    share = animal.load_share_fore
    return np.array([share, share, 1.0 - share, 1.0 - share]) * GRAVITY_M_S2 / 2.0


def _slings_rad(animal: Animal, plan: FootPlan, over_n_kg: Array, bounce: float) -> Array:
    """Let the tops of the limbs ride and glide on the trunk: roll, yaw of the slings, (samples, 4, 2). [rad]

    The muscles of the sling give with the load: up on the trunk in stance, down in swing, yielding after
    contact (cat, X-ray: Boczek-Funcke et al. 1996, Eur J Neurosci, abstract); the form is an estimate.
    Forward while the foot is ahead and back while it is behind.

    Parameters
    ----------
    animal, plan
        The animal, and where its feet are.
    over_n_kg
        (samples, 4) load of each foot over its standing load. [N/kg]
    bounce
        Style factor on the ride.
    """
    if all(limb.sling is None for limb in animal.limbs):
        return np.zeros((*over_n_kg.shape, 2))
    load = over_n_kg / _standing_n_kg(animal)
    ride = load / (1.0 + STIFFENING * np.maximum(load, 0.0)) - SWING_DIP * bump(plan.state.swing_share, 0.5)
    tops, feet = ([getattr(limb, name) for limb in animal.limbs] for name in ("top", "foot_joint"))
    under = standing_positions_m(animal)[feet, 0] + limb_numbers(animal, "foot.toe_m")
    up = limb_numbers(animal, "ride_m") * bounce * ride
    ahead = limb_numbers(animal, "glide_m") * (plan.toe_m[..., 0] - under)
    ahead = ahead / (animal.tempo.stance_distance_m / 2.0)
    turned = np.stack([up, -ahead], axis=2) / animal.offsets_m[tops, 1][:, None]
    has_sling = np.array([limb.sling is not None for limb in animal.limbs])
    return np.where(has_sling[:, None], np.arcsin(np.clip(turned, -FARTHEST_SLING, FARTHEST_SLING)), 0.0)


@dataclass(frozen=True, eq=False)
class Reach:
    """Where the limbs must reach to, in their planes.

    Attributes
    ----------
    top_m
        (samples, 4, 3) top of each limb. [m]
    heading_rad
        (samples, 4) heading of the plane of each limb. [rad]
    left_m, up_m
        (samples, 4) foot joint from the top of its limb, across that heading. [m]
    across_m
        (4,) foot joint from the top of its limb, out of the limb's plane. [m]
    target_m
        (samples, 4) foot joint from the joint of the pointing bone, in the plane. [m]
    above_rad
        (samples, 4, most bones above) turn of the bones above the pointing one. [rad]
    shortfall_m
        (samples, 4) how much lower the top must come so that the limb is inside its reach; negative
        where there is room. [m]
    """

    top_m: Array
    heading_rad: Array
    left_m: Array
    up_m: Array
    across_m: Array
    target_m: Complex
    above_rad: Array
    shortfall_m: Array

    @cached_property
    def tilt_rad(self) -> Array:
        """(samples, 4) tilt of the plane of each limb about its heading. [rad]"""
        across = np.clip(self.across_m / np.hypot(self.left_m, self.up_m), -1.0, 1.0)
        return np.arctan2(self.up_m, self.left_m) + np.arccos(across)


def reach_for(trunk: Trunk, feet_m: Array, heading_rad: Array, given: Given) -> Reach:
    """Find what each limb must span, and whether it can.

    Parameters
    ----------
    trunk
        The trunk.
    feet_m, heading_rad
        (samples, 4, 3) foot joints and (samples, 4) directions of the feet. [m], [rad]
    given
        What the laws say.
    """
    chains = given.laid.chains
    top = trunk.root_m[:, None] + given.top_m @ np.swapaxes(trunk.pelvis, 1, 2)
    reach = feet_m - top
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    ahead = cos * reach[..., 0] + sin * reach[..., 1]
    left = cos * reach[..., 1] - sin * reach[..., 0]
    up = reach[..., 2]
    down = np.sqrt(np.maximum(left**2 + up**2 - chains.across_m**2, 0.0))  # along the plane
    line = ahead - 1j * down
    own = slice(chains.most_above)
    turned = np.angle(line) - chains.standing_line_rad
    above = chains.follows[..., own] * turned[..., None]
    target = line - (chains.above * direction(above)).sum(axis=-1)
    longest = given.laid.longest_m
    near = np.minimum(np.abs(target.real), NEARLY * longest)
    overstretch = np.abs(target.real) - near
    shortfall = -target.imag - np.sqrt(longest**2 - near**2) + overstretch
    return Reach(top, heading_rad, left, up, chains.across_m, target, above, shortfall)


def _sling_rotations(sling_rad: Array) -> Array:
    """Rotation of a sling from roll and yaw (..., 2): (..., 3, 3)."""
    return axis_angle_matrix("Z", sling_rad[..., 1]) @ axis_angle_matrix("X", sling_rad[..., 0])


@lru_cache(maxsize=32)
def _carriers(animal: Animal) -> tuple[Bools, Array, Array]:
    """Which limbs hang on the chest, (4,); way to their slings, and on to their tops, (4, 3). [m]"""
    on_chest = np.array([limb.girdle == animal.chest for limb in animal.limbs])
    slings = [np.zeros(3) if limb.sling is None else animal.offsets_m[limb.sling] for limb in animal.limbs]
    tops = animal.offsets_m[[limb.top for limb in animal.limbs]]
    return on_chest, np.stack(slings), tops


def tops_m(animal: Animal, back: BackPose, sling_rad: Array) -> Array:
    """Top of each limb from the root, as the pelvis sees it: (samples, 4, 3). [m]"""
    on_chest, to_sling, to_top = _carriers(animal)
    top = to_sling + (_sling_rotations(sling_rad) @ to_top[..., None])[..., 0]
    seen = back.chest_joint_m[:, None] + top @ np.swapaxes(back.chest_in_pelvis, 1, 2)
    return np.where(on_chest[:, None], seen, top)


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
        on_chest, _, _ = _carriers(animal)
        slings = _sling_rotations(self.sling_rad[rows])
        heading = axis_angle_matrix("Z", self.reach.heading_rad[rows])
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
    feet, reach
        The feet, which hang from their legs as they swing; what the limbs must span to hold them.
    near_rad
        (samples, 4) unknowns near those that the limbs need. [rad]
    """

    feet: Feet
    reach: Reach
    near_rad: Array | None


def aim_legs(
    animal: Animal, trunk: Trunk, plan: FootPlan, given: Given, near_rad: Array | None = None
) -> Aimed:
    """Let the swinging feet hang from legs that go as far as they can towards them.

    ``near_rad`` (samples, 4) are unknowns near those that the limbs need, if some are known. [rad]
    """
    last = _foot_bones(animal)
    feet = plan.rolling
    for _ in range(HANG_ROUNDS):
        reach = reach_for(trunk, feet.joints_m, feet.heading_rad, given)
        turn, near_rad = given.laid.solve(reach.target_m, near_rad, as_far_as_can=True)
        hanging = turn[:, np.arange(len(last)), last] - given.hang_rad
        # A leg that does not reach yet keeps its roll, so that what it lacks is known.
        feet = plan.hanging(np.where(np.isfinite(hanging), hanging, plan.rolled_rad))
    return Aimed(feet, reach_for(trunk, feet.joints_m, feet.heading_rad, given), near_rad)


def solve_legs(
    animal: Animal, aimed: Aimed, given: Given, swing_share: Array, may_miss: Bools | None = None
) -> LegPoses:
    """Pose every limb so that it holds its foot.

    Targets out of reach come back as nan, but where a foot ``may_miss`` them, (samples, 4): there its leg
    goes as far as it can, softly where its swing, ``swing_share`` (samples, 4), begins and ends.
    """
    reach = aimed.reach
    target = reach.target_m
    if may_miss is not None:
        target = _softened(target, given.laid.longest_m, swing_share, may_miss)
    as_far = False if may_miss is None else may_miss
    turn, unknown = given.laid.solve(target, aimed.near_rad, as_far_as_can=as_far)
    own = slice(reach.above_rad.shape[-1])
    is_above = chains_of(animal).is_above[:, own]
    turn[..., own] = np.where(is_above, reach.above_rad, turn[..., own])
    return LegPoses(reach, turn, unknown, given.sling_rad, aimed.feet)


@lru_cache(maxsize=32)
def _foot_bones(animal: Animal) -> npt.NDArray[np.int64]:
    """Return the number of the bone over each foot, (4,)."""
    return np.array([len(limb.joints) - 2 for limb in animal.limbs])


def _softened(target_m: Complex, longest_m: Array, swing_share: Array, may_miss: Bools) -> Complex:
    """Bring a leg that may miss its target softly to its end: (samples, 4). [m]"""
    ends = ramp(swing_share / MISS_SHARE) * ramp((1.0 - swing_share) / MISS_SHARE)
    width = np.maximum(MISS_SOFT_SHARE * ends, LEAST_SOFT) * longest_m
    far = np.abs(target_m)
    held = longest_m - width * np.logaddexp(0.0, np.clip((longest_m - far) / width, -50.0, None))
    return np.where(may_miss, target_m * (held / far), target_m)
