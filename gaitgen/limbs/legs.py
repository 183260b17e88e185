"""Inverse kinematics of all limbs, all moments at once: what is given by law, and one unknown each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.balance import GRAVITY_M_S2
from gaitgen.body.trunk import Trunk
from gaitgen.limbs.chain import Chains, Complex, chains_of
from gaitgen.limbs.foot_path import Feet, FootPlan, foot_rotations
from gaitgen.numerics.curves import bump, ramp
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
# A leg of a running animal that does not reach its swinging foot's path comes softly to its end: over this
# share of its length, and of swing at either end (estimates).
MISS_SOFT_SHARE = 0.012
MISS_SHARE = 0.1
LEAST_SOFT = 1e-9
HANG_ROUNDS = 2  # the foot hangs from a leg that reaches for the foot


@dataclass(frozen=True, eq=False)
class Given:
    """What the laws of the limbs say before the trunk is placed.

    Attributes
    ----------
    opening_rad
        (samples, 4, bones) opening of each joint by load and fold. [rad]
    turn_rad
        (samples, 4, bones) the same as a turn in the plane of the limb. [rad]
    sling_rad
        (samples, 4, 2) roll and yaw of the slings. [rad]
    slings
        (samples, 4, 3, 3) the same as rotations.
    longest_m
        (samples, 4) how far each limb reaches at the most, from its pointing bone on. [m]
    chains
        The limbs whose laws they are.
    hang_rad
        (4,), or (samples, 4), how far a swinging foot hangs back from the bone above it. [rad]
    """

    opening_rad: Array
    turn_rad: Array
    sling_rad: Array
    slings: Array
    longest_m: Array
    chains: Chains
    hang_rad: Array


def given_by_law(
    animal: Animal,
    plan: FootPlan,
    grid: Grid,
    force_n: Array,
    *,
    lift: Array | float = 1.0,
    weight: Array | float = 1.0,
    bounce: float = 1.0,
) -> Given:
    """Open and close the joints with load and swing (fetlock under load: McGuigan & Wilson 2003).

    Parameters
    ----------
    animal, plan, grid
        The animal, where its feet are, the moments.
    force_n
        (samples, 4) upward force on each foot. [N]
    lift, weight, bounce
        Style factors on the folds and on what the load does, one, (4,) or (samples, 4), and on the ride of
        the girdles.
    """
    chains, laws, state = chains_of(animal), _laws(animal), plan.state
    swing_s = (state.next_touchdown_s - state.liftoff_s)[..., None]
    liftoff, time_s = state.liftoff_s[..., None], state.time_s[..., None]
    start = liftoff - laws["fold_lead"] * swing_s
    peak = liftoff + laws["fold_share"] * swing_s
    end = liftoff + laws["fold_to"] * swing_s
    fold = ramp((time_s - start) / (peak - start)) - ramp((time_s - peak) / (end - peak))
    swing = state.swing_share[..., None]
    again = bump(np.clip((swing - 0.45) / 0.55, 0.0, 1.0), (laws["again_share"] - 0.45) / 0.55)
    over = _over_standing_n_kg(animal, grid, force_n)
    lifted, weighed = (np.broadcast_to(factor, force_n.shape)[..., None] for factor in (lift, weight))
    opening = weighed * laws["load_rad_kg_n"] * over[..., None]
    opening = opening - lifted**FOLD_POWER * (laws["fold_rad"] * fold + laws["again_rad"] * again)
    turn, sling = chains.sign * opening, _slings_rad(animal, plan, over, bounce)
    hang = np.array([limb.path.hang_rad for limb in animal.limbs])
    return Given(opening, turn, sling, sling_rotations(sling), chains.longest_m(turn), chains, hang)


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
    felt = np.empty_like(force_n)
    for feet in (slice(0, 2), slice(2, 4)):
        limb = animal.limbs[feet.start]
        felt[:, feet] = grid.smoothed(force_n[:, feet], limb.load_frequency_hz, limb.load_damping)
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
    standing = standing_positions_m(animal)
    rolls, yaws = [], []
    for k, limb in enumerate(animal.limbs):
        if limb.sling is None:
            rolls.append(np.zeros(over_n_kg.shape[0]))
            yaws.append(rolls[-1])
            continue
        arm_m = float(animal.offsets_m[limb.top, 1])
        up = limb.ride_m * bounce * ride[:, k]
        under = standing[limb.foot_joint, 0] + limb.foot.toe_m
        ahead = limb.glide_m * (plan.toe_m[:, k, 0] - under) / (animal.tempo.stance_distance_m / 2.0)
        rolls.append(np.arcsin(np.clip(up / arm_m, -0.9, 0.9)))
        yaws.append(np.arcsin(np.clip(-ahead / arm_m, -0.9, 0.9)))
    return np.stack([np.stack(rolls, axis=1), np.stack(yaws, axis=1)], axis=2)


@dataclass(frozen=True, eq=False)
class Reach:
    """Where the limbs must reach to, in their planes.

    Attributes
    ----------
    girdle
        (samples, 4, 3, 3) rotation of the joint that carries each limb, ride included.
    top_m
        (samples, 4, 3) top of each limb. [m]
    plane_heading, tilt_rad
        (samples, 4) heading of the plane of each limb, and its tilt about that line. [rad]
    target_m
        (samples, 4) foot joint from the joint of the pointing bone. [m]
    above_rad
        (samples, 4, bones) turn of the bones above the pointing one. [rad]
    shortfall_m
        (samples, 4) how much lower the top must come so that the limb is inside its reach; negative
        where there is room. [m]
    """

    girdle: Array
    top_m: Array
    plane_heading: Array
    tilt_rad: Array
    target_m: Complex
    above_rad: Array
    shortfall_m: Array


def reach_for(animal: Animal, trunk: Trunk, feet_m: Array, heading_rad: Array, given: Given) -> Reach:
    """Find what each limb must span, and whether it can.

    Parameters
    ----------
    animal, trunk
        The animal, and its trunk.
    feet_m, heading_rad
        (samples, 4, 3) foot joints and (samples, 4) directions of the feet. [m], [rad]
    given
        What the laws say.
    """
    chains = given.chains
    girdle, top = tops_m(animal, trunk, given.slings)
    reach = feet_m - top
    cos, sin = np.cos(heading_rad), np.sin(heading_rad)
    ahead = cos * reach[..., 0] + sin * reach[..., 1]
    left = cos * reach[..., 1] - sin * reach[..., 0]
    up = reach[..., 2]
    across = np.clip(chains.across_m / np.hypot(left, up), -1.0, 1.0)
    tilt = np.arctan2(up, left) + np.arccos(across)
    line = ahead + 1j * (up * np.cos(tilt) - left * np.sin(tilt))
    above = chains.follows * (np.angle(line) - chains.standing_line_rad)[..., None]  # (samples, 4, bones)
    prefix = np.where(chains.is_above, chains.bones * direction(above), 0.0).sum(axis=-1)
    target = line - prefix
    longest = given.longest_m
    near = np.minimum(np.abs(target.real), 0.999 * longest)
    overstretch = np.abs(target.real) - near
    shortfall = -target.imag - np.sqrt(longest**2 - near**2) + overstretch
    return Reach(girdle, top, heading_rad, tilt, target, above, np.asarray(shortfall))


def sling_rotations(sling_rad: Array) -> Array:
    """Rotation of a sling from roll and yaw (..., 2): (..., 3, 3)."""
    return axis_angle_matrix("Z", sling_rad[..., 1]) @ axis_angle_matrix("X", sling_rad[..., 0])


@lru_cache(maxsize=32)
def _carriers(animal: Animal) -> tuple[Bools, Array, Array]:
    """Which limbs hang on the chest, (4,); way to their slings, and on to their tops, (4, 3). [m]"""
    on_chest = np.array([limb.girdle == animal.chest for limb in animal.limbs])
    slings = [np.zeros(3) if limb.sling is None else animal.offsets_m[limb.sling] for limb in animal.limbs]
    tops = animal.offsets_m[[limb.top for limb in animal.limbs]]
    return on_chest, np.stack(slings), tops


def tops_m(animal: Animal, trunk: Trunk, slings: Array) -> tuple[Array, Array]:
    """Rotation of what carries each limb (samples, 4, 3, 3), and the top of the limb (samples, 4, 3). [m]"""
    on_chest, to_sling, to_top = _carriers(animal)
    girdle = np.where(on_chest[:, None, None], trunk.chest[:, None], trunk.pelvis[:, None])
    place = np.where(on_chest[:, None], trunk.chest_joint_m[:, None], trunk.root_m[:, None])
    place = place + (girdle @ to_sling[..., None])[..., 0]
    girdle = girdle @ slings
    return girdle, place + (girdle @ to_top[..., None])[..., 0]


@dataclass(frozen=True, eq=False)
class LegPoses:
    """The solved limbs.

    Attributes
    ----------
    reach
        What they span.
    turn_rad
        (samples, 4, bones) turn of each bone from standing, in the plane of its limb. [rad]
    sling_rad
        (samples, 4, 2) roll and yaw of the slings. [rad]
    feet
        The feet that they hold.
    """

    reach: Reach
    turn_rad: Array
    sling_rad: Array
    feet: Feet

    def local(self, animal: Animal, rows: npt.NDArray[np.int64]) -> dict[int, Array]:
        """Return the rotation of every joint of the limbs in its parent's frame, at some samples.

        The plane of the limb at the top, pure pitch below, the foot free.
        """
        local: dict[int, Array] = {}
        heading = axis_angle_matrix("Z", self.reach.plane_heading[rows])
        plane = heading @ axis_angle_matrix("X", self.reach.tilt_rad[rows])
        soles = foot_rotations(self.feet.pitch_rad[rows], self.feet.heading_rad[rows], self.feet.normal[rows])
        for k, limb in enumerate(animal.limbs):
            count = len(limb.joints) - 1
            turns = self.turn_rad[rows, k, :count]
            between = np.diff(turns, axis=1)
            top = plane[:, k] @ axis_angle_matrix("Y", -turns[:, 0])
            girdle = self.reach.girdle[rows, k]
            local[limb.joints[0]] = np.swapaxes(girdle, -1, -2) @ top
            made = axis_angle_matrix("Y", -between)
            for place, joint in enumerate(limb.joints[1:-1]):
                local[joint] = made[:, place]
            above = plane[:, k] @ axis_angle_matrix("Y", -turns[:, -1])
            local[limb.foot_joint] = np.swapaxes(above, -1, -2) @ soles[:, k]
            if limb.sling is not None:
                local[limb.sling] = sling_rotations(self.sling_rad[rows, k])
        return local


def solve_legs(
    animal: Animal,
    trunk: Trunk,
    plan: FootPlan,
    given: Given,
    *,
    may_miss: npt.NDArray[np.bool_] | None = None,
) -> LegPoses:
    """Pose every limb so that its foot is on its path; the swinging foot hangs from its leg.

    Targets out of reach come back as nan, but where a foot ``may_miss`` them, (samples, 4): there its leg
    goes as far as it can.
    """
    feet = plan.feet()
    last = np.array([len(limb.joints) - 2 for limb in animal.limbs])
    for _ in range(HANG_ROUNDS):
        turn = _solved(animal, trunk, feet, given, as_far_as_can=True)[1]
        lowest = np.take_along_axis(turn, last[None, :, None], axis=2)[..., 0]
        hanging = lowest - given.hang_rad
        # A leg that does not reach yet keeps its roll, so that what it lacks is known.
        feet = plan.feet(np.where(np.isfinite(hanging), hanging, plan.rolled_rad))
    swing = plan.state.swing_share
    soft = None
    if may_miss is not None:
        ends = ramp(swing / MISS_SHARE) * ramp((1.0 - swing) / MISS_SHARE)
        soft = np.where(may_miss, np.maximum(MISS_SOFT_SHARE * ends, LEAST_SOFT), 0.0)
    reach, turn = _solved(animal, trunk, feet, given, soft=soft)
    return LegPoses(reach, turn, given.sling_rad, feet)


def _solved(
    animal: Animal,
    trunk: Trunk,
    feet: Feet,
    given: Given,
    *,
    as_far_as_can: bool = False,
    soft: Array | None = None,
) -> tuple[Reach, Array]:
    """Solve the limbs; ``soft`` (samples, 4) is the share of its length over which a leg comes to its end."""
    reach, chains = reach_for(animal, trunk, feet.joints_m(animal), feet.heading_rad, given), given.chains
    target = reach.target_m
    if soft is not None:
        longest, far = chains.longest_m(given.turn_rad), np.abs(target)
        width = np.maximum(soft * longest, 1e-9)
        held = longest - width * np.logaddexp(0.0, np.clip((longest - far) / width, -50.0, None))
        target = target * np.where(soft > 0.0, held / far, 1.0)
    as_far = as_far_as_can if soft is None else soft > 0.0
    below, _ = chains.solve(target, given.turn_rad, as_far_as_can=as_far)
    return reach, np.where(chains.is_above, reach.above_rad, below)
