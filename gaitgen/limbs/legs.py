"""Inverse kinematics of the four legs, all moments at once: closed form, and one Newton unknown behind."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ANGLE_SIGN, PAIR_CHAINS, Animal
from gaitgen.body.body import TrunkMotion
from gaitgen.course.steps import StanceState
from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.limbs.chain import ForeChain, HindChain
from gaitgen.limbs.hoof_path import HoofPath
from gaitgen.numerics.curves import bump, oscillate
from gaitgen.numerics.rotations import axis_angle_matrix, pitch_roll_yaw_matrix

Array = npt.NDArray[np.float64]

# Degrees of fetlock extension per N/kg of force on the foot: McGuigan & Wilson 2003, J Exp Biol 206:1325,
# regression on the five mean values of their table 2.
FETLOCK_RAD_PER_N_KG = np.radians(3.8)
# A leg is never longer than this share of all its bones laid end to end.
REACH_SHARE = 0.985
# The fold of a swinging leg grows with this power of the lift factor, so that the hoof goes up with it
# (estimate; the power of the hoof's height is in hoof_path.py).
FOLD_POWER = 0.5
# How quickly the fetlock answers its load (estimates for a warmblood's hip height).
LOAD_FREQUENCY_HZ, LOAD_DAMPING, LOAD_HIP_HEIGHT_M = 6.0, 0.8, 1.26


@dataclass(frozen=True)
class LegManner:
    """How a leg folds; estimates that give the published extremes of a flat walk.

    Attributes
    ----------
    fetlock_load_share
        Sinking of the fetlock against the law made on forelegs. Behind it is chosen so that the greatest
        angle is inside 216 +- 11 degrees of a flat walk (Nicodemus et al., yearlings, abstract).
    fetlock_fold_rad, fetlock_share
        Flexion of the fetlock in swing, and the share of swing at which it is greatest. [rad]
    carpus_fold_rad, carpus_share
        The same for the carpus (fore only).
    carpus_yield_rad
        Hyperextension of the carpus under the standing load. [rad]
    straightest_rad
        Greatest angle of the joint that gives length: elbow (fore), stifle (hind). In a flat walk these
        reach 154 +- 3 and 157 +- 4 degrees (Nicodemus et al., Tennessee Walking Horse yearlings,
        abstract). [rad]
    scapula_ratio
        Swing of the scapula for that of the line from its pivot to the coffin joint (fore only).
    """

    straightest_rad: float
    fetlock_fold_rad: float
    fetlock_share: float
    carpus_fold_rad: float = 0.0
    carpus_share: float = 0.5
    carpus_yield_rad: float = 0.0
    scapula_ratio: float = 0.0
    fetlock_load_share: float = 1.0


MANNERS: Mapping[str, LegManner] = {
    "fore": LegManner(
        straightest_rad=np.radians(157.0),
        fetlock_fold_rad=np.radians(27.0),
        fetlock_share=0.34,
        carpus_fold_rad=np.radians(57.0),
        carpus_share=0.36,
        carpus_yield_rad=np.radians(1.2),
        scapula_ratio=0.50,
    ),
    "hind": LegManner(
        fetlock_load_share=0.75,
        straightest_rad=np.radians(160.0),
        fetlock_fold_rad=np.radians(46.0),
        fetlock_share=0.34,
    ),
}


@dataclass(frozen=True, eq=False)
class LegPoses:
    """Rotations of the legs and what they took.

    Attributes
    ----------
    local
        Joint name to (samples, 3, 3) rotation from standing in the parent's frame.
    shortfall_m
        (samples, 4) how much lower the pivot must come so that the leg is inside its reach; negative
        where there is room. [m]
    """

    local: dict[str, Array]
    shortfall_m: Array


@dataclass(frozen=True, eq=False)
class _Plane:
    """The plane of one leg: it holds the foot's heading, the pivot and the coffin joint."""

    world: Array  # (samples, 3, 3)
    target: npt.NDArray[np.complex128]  # coffin joint from pivot, forward + 1j * up


def solve_legs(
    skeleton: Animal,
    state: StanceState,
    hooves: HoofPath,
    trunk: TrunkMotion,
    force_n: Array,
    *,
    periodic: bool,
    lift: float = 1.0,
    weight: float = 1.0,
) -> LegPoses:
    """Pose every leg so that its hoof is on its path.

    The fetlock sinks with the load (McGuigan & Wilson 2003) and folds in swing; the carpus is locked in
    stance and folds in swing; the scapula swings with the leg; stifle and hock move together. What is
    left is solved exactly. Values out of reach come back as nan, with the shortfall.

    Parameters
    ----------
    skeleton, state, hooves, trunk
        The animal; the step of each foot; hooves and trunk at the same moments.
    force_n
        (samples, 4) vertical force of each foot in LIMBS order. [N]
    periodic
        Whether the motion repeats after the last sample.
    lift, weight
        Style factors on the folds and on the sinking of the fetlock.
    """
    local: dict[str, Array] = {}
    shortfall = []
    felt_n = _felt_load_n(skeleton, state, force_n, periodic=periodic)
    for limb, name in enumerate(LIMBS):
        end, side = ("fore" if name[1] == "F" else "hind"), name[0]
        girdle = trunk.chest if end == "fore" else trunk.pelvis
        girdle_m = trunk.chest_joint_m if end == "fore" else trunk.root_path_m
        first = skeleton.joint(f"{PAIR_CHAINS[end][0]}_{side}")
        pivot = girdle_m + np.einsum("sij,j->si", girdle, skeleton.offsets_m[first])
        plane = _plane(skeleton, end, side, pivot, hooves, limb)
        share = skeleton.load_share_fore if end == "fore" else 1.0 - skeleton.load_share_fore
        over = felt_n[:, limb] / skeleton.body_mass_kg - share * GRAVITY_M_S2 / 2.0
        fold = state.swing_share[:, limb]
        solve = _fore_turns if end == "fore" else _hind_turns
        turns, missing = solve(skeleton, side, plane.target, over * weight, fold, lift)
        shortfall.append(missing)
        local.update(_local_rotations(end, side, girdle, plane.world, turns, hooves, limb))
    return LegPoses(local, np.stack(shortfall, axis=1))


def _felt_load_n(skeleton: Animal, state: StanceState, force_n: Array, *, periodic: bool) -> Array:
    """Let the load be felt as through a damped spring: tendons and flesh take a moment to give. [N]"""
    frequency_hz = LOAD_FREQUENCY_HZ / float(np.sqrt(skeleton.hip_height_m / LOAD_HIP_HEIGHT_M))
    step_s = float(state.time_s[1, 0] - state.time_s[0, 0])
    drive = force_n * (2.0 * np.pi * frequency_hz) ** 2
    return oscillate(drive, frequency_hz, LOAD_DAMPING, step_s, periodic=periodic)


def _lengths(skeleton: Animal, side: str, names: tuple[str, ...]) -> list[complex]:
    """Each bone, standing, in the plane of the leg."""
    offsets = [skeleton.offsets_m[skeleton.joint(f"{name}_{side}")] for name in names]
    return [complex(o[0], o[2]) for o in offsets]


def _standing(skeleton: Animal, name: str) -> float:
    return float(skeleton.standing_angles_rad[skeleton.joint(f"{name}_L")])


def _greatest_angle(skeleton: Animal, name: str) -> float:
    """Greatest included angle that the joint's range allows. [rad]"""
    return max(_angle_limits(skeleton, name))


def _angle_limits(skeleton: Animal, name: str) -> tuple[float, float]:
    pitch = skeleton.ranges_rad[skeleton.joint(f"{name}_L"), 0]
    ends = _standing(skeleton, name) + ANGLE_SIGN[name] * pitch
    return float(ends.min()), float(ends.max())


def _plane(skeleton: Animal, end: str, side: str, pivot_m: Array, hooves: HoofPath, limb: int) -> _Plane:
    across = sum(skeleton.offsets_m[skeleton.joint(f"{n}_{side}"), 1] for n in PAIR_CHAINS[end][1:])
    reach = hooves.coffin_m[:, limb] - pivot_m  # (samples, 3)
    heading = axis_angle_matrix("Z", hooves.heading_rad[:, limb])
    ahead, left, up = np.moveaxis(np.einsum("sji,sj->si", heading, reach), 1, 0)
    tilt = np.arctan2(up, left) + np.arccos(np.clip(across / np.hypot(left, up), -1.0, 1.0))
    world = heading @ axis_angle_matrix("X", tilt)
    return _Plane(world, ahead + 1j * (up * np.cos(tilt) - left * np.sin(tilt)))


def _missing(target: npt.NDArray[np.complex128], longest_m: Array) -> Array:
    """How much lower a pivot must come for its target to be within reach. [m]"""
    across = np.minimum(np.abs(target.real), 0.999 * longest_m)
    overstretch = np.abs(target.real) - across
    return np.asarray(-target.imag - np.sqrt(longest_m**2 - across**2) + overstretch)


def _fetlock_rad(skeleton: Animal, end: str, over_n_kg: Array, swing: Array, lift: float) -> Array:
    """Angle of a fetlock: it sinks with the load over standing, and folds in swing. [rad]"""
    manner = MANNERS[end]
    sunk = manner.fetlock_load_share * FETLOCK_RAD_PER_N_KG * over_n_kg
    fold = lift**FOLD_POWER * manner.fetlock_fold_rad * bump(swing, manner.fetlock_share)
    return np.asarray(_standing(skeleton, f"{end}_pastern") + sunk - fold)


def _fore_turns(
    skeleton: Animal,
    side: str,
    target: npt.NDArray[np.complex128],
    over_n_kg: Array,
    swing: Array,
    lift: float,
) -> tuple[Array, Array]:
    """Turn of scapula, humerus, radius, cannon and pastern from standing, (samples, 5), and shortfall."""
    manner = MANNERS["fore"]
    bones = _lengths(skeleton, side, PAIR_CHAINS["fore"][1:])
    chain = ForeChain(*(abs(bone) for bone in bones[1:]))
    fetlock = _fetlock_rad(skeleton, "fore", over_n_kg, swing, lift)
    load = 1.0 + over_n_kg / (skeleton.load_share_fore * GRAVITY_M_S2 / 2.0)
    carpus = _standing(skeleton, "fore_cannon") + manner.carpus_yield_rad * load
    carpus = carpus - lift**FOLD_POWER * manner.carpus_fold_rad * bump(swing, manner.carpus_share)
    standing_line = np.angle(sum(bones))
    scapula = manner.scapula_ratio * (np.angle(target) - standing_line)
    from_shoulder = target - bones[0] * np.exp(1j * scapula)
    solved = chain.solve(from_shoulder, carpus, fetlock)
    turns = np.concatenate([scapula[:, None], solved - np.angle(bones[1:])], axis=1)
    straightest = min(_greatest_angle(skeleton, "radius"), manner.straightest_rad)
    longest = chain.longest_m(carpus, fetlock, straightest)
    whole = REACH_SHARE * sum(abs(bone) for bone in bones[1:])
    return turns, _missing(from_shoulder, np.minimum(longest, whole))


def _hind_turns(
    skeleton: Animal,
    side: str,
    target: npt.NDArray[np.complex128],
    over_n_kg: Array,
    swing: Array,
    lift: float,
) -> tuple[Array, Array]:
    """Turn of femur, tibia, cannon and pastern from standing, (samples, 4), and shortfall."""
    manner = MANNERS["hind"]
    bones = _lengths(skeleton, side, PAIR_CHAINS["hind"][1:])
    stifle, hock = _standing(skeleton, "tibia"), _standing(skeleton, "hind_cannon")
    femur, tibia, cannon, pastern = (abs(bone) for bone in bones)
    chain = HindChain(femur, tibia, cannon, pastern, stifle, hock, skeleton.stifle_hock_ratio)
    fetlock = _fetlock_rad(skeleton, "hind", over_n_kg, swing, lift)
    least, greatest = _angle_limits(skeleton, "tibia")
    hock_greatest = _greatest_angle(skeleton, "hind_cannon")
    greatest = min(greatest, stifle + (hock_greatest - hock) / skeleton.stifle_hock_ratio)
    solved = chain.solve(target, fetlock, (least, greatest))
    longest = chain.longest_m(fetlock, min(greatest, manner.straightest_rad))
    whole = REACH_SHARE * sum(abs(bone) for bone in bones)
    return solved - np.angle(bones), _missing(target, np.minimum(longest, whole))


def _local_rotations(
    end: str, side: str, girdle: Array, plane: Array, turns: Array, hooves: HoofPath, limb: int
) -> dict[str, Array]:
    """Rotations in the parents' frames: the plane at the top, pure pitch below, the hoof free."""
    names = PAIR_CHAINS[end]
    local: dict[str, Array] = {}
    top = plane @ axis_angle_matrix("Y", -turns[:, 0])
    local[f"{names[0]}_{side}"] = np.swapaxes(girdle, -1, -2) @ top
    for k, name in enumerate(names[1:-1], start=1):
        local[f"{name}_{side}"] = axis_angle_matrix("Y", -(turns[:, k] - turns[:, k - 1]))
    above = plane @ axis_angle_matrix("Y", -turns[:, -1])
    hoof = pitch_roll_yaw_matrix(
        hooves.pitch_rad[:, limb], np.zeros(turns.shape[0]), hooves.heading_rad[:, limb]
    )
    local[f"{names[-1]}_{side}"] = np.swapaxes(above, -1, -2) @ hoof
    return local
