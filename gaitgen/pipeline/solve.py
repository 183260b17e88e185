"""From a timeline of stances to the motion of the whole animal, on a fine grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.body import EndsMotion, TrunkMotion, back_angles, trunk_motion
from gaitgen.body.forces import GroundForces, ground_forces, vertical_forces_n
from gaitgen.body.heave import SETTLE_STRIDES, Heave, walking_heave
from gaitgen.body.pair_phase import pair_phase
from gaitgen.course.steps import StanceState, Steps, stance_state
from gaitgen.errors import Notice
from gaitgen.gait.style import Style
from gaitgen.gait.tempo import STANCE_DISTANCE_PER_HIP_HEIGHT
from gaitgen.hanging.followers import followers
from gaitgen.limbs.hoof_path import HoofPath, hoof_path
from gaitgen.limbs.legs import solve_legs

Array = npt.NDArray[np.float64]
Drop = tuple[float, float]  # of chest and hips [m]

# Lift and fold of the swinging legs in a walk on the spot, against a full walk (estimate).
LEAST_LIFT_SHARE = 0.55


@dataclass(frozen=True, eq=False)
class Solved:
    """One stretch of motion on a fine grid, travelling."""

    state: StanceState
    hips: Heave
    chest: Heave
    forces: GroundForces
    hooves: HoofPath
    trunk: TrunkMotion
    local: Mapping[str, Array]
    shortfall_m: Array
    breath: Array
    drop_m: Drop
    notices: tuple[Notice, ...]


def solve_motion(
    skeleton: Animal,
    footfalls: Steps,
    time_s: Array,
    breath_turns: Array,
    style: Style,
    settle_strides: float = SETTLE_STRIDES,
    *,
    drop_m: Drop | None = None,
    with_overlap: bool = True,
) -> Solved:
    """Move one animal over a timeline of stances, with or without a period.

    Parameters
    ----------
    skeleton, footfalls
        The animal and its stances.
    time_s
        (samples,) evenly spaced moments; whole periods if the timeline has one. [s]
    breath_turns
        (samples,) breaths taken since the start.
    style, settle_strides
        Style factors; share of a stride after contact at which an end of the body is lowest.
    drop_m
        Lowering of the trunk; None finds the least that brings every leg inside its reach. [m]
    with_overlap
        Whether to pose neck, head, ears, jaw and tail.
    """
    periodic = footfalls.period_s is not None
    state = stance_state(footfalls, time_s)
    standing = standing_positions_m(skeleton)
    scapula, femur = standing[skeleton.joint("scapula_L")], standing[skeleton.joint("femur_L")]
    heaves: dict[str, Heave] = {}
    notices: list[Notice] = []
    for pair, strut in (("fore", scapula), ("hind", femur)):
        heaves[pair], said = walking_heave(
            footfalls,
            pair,
            time_s,
            strut_m=float(strut[2]),
            factor=style.bounce,
            settle_strides=settle_strides,
        )
        notices += said
    chest, hips = heaves["fore"], heaves["hind"]
    vertical = vertical_forces_n(state, chest, hips, skeleton.body_mass_kg, skeleton.load_share_fore)
    forces = ground_forces(
        footfalls,
        state,
        vertical,
        np.array([scapula[0], scapula[0], femur[0], femur[0]]),
        hip_height_m=skeleton.hip_height_m,
        sway_factor=style.sway,
    )
    back = back_angles(
        skeleton,
        pair_phase(footfalls, "hind", time_s - hips.delay_s),
        pair_phase(footfalls, "fore", time_s - chest.delay_s),
        sway=style.sway,
        bounce=style.bounce,
    )
    lift = style.lift * _lift_share(footfalls, skeleton)
    hooves = hoof_path(state, skeleton.hooves, skeleton.hip_height_m, lift=lift)
    ends = EndsMotion(
        forward_m=footfalls.travel_m_s[0] * time_s + forces.surge_m,
        hips_height_m=hips.height_m,
        chest_height_m=chest.height_m,
        hips_sway_m=forces.sway_m[:, 1],
        chest_sway_m=forces.sway_m[:, 0],
    )

    def posed(drop: Drop) -> tuple[TrunkMotion, dict[str, Array], Array]:
        trunk = trunk_motion(skeleton, _lowered(ends, drop), back)
        legs = solve_legs(
            skeleton, state, hooves, trunk, vertical, periodic=periodic, lift=lift, weight=style.weight
        )
        return trunk, legs.local, legs.shortfall_m

    if drop_m is None:
        drop_m = (0.0, 0.0)
        for _ in range(4):  # the legs' reach depends a little on the drop itself
            _, _, shortfall = posed(drop_m)
            drop_m = more_drop(drop_m, shortfall)
        drop_m = (drop_m[0] + 1e-4, drop_m[1] + 1e-4)
    trunk, local, shortfall = posed(drop_m)
    local = {**trunk.local, **local}
    breath = np.zeros_like(time_s)
    if with_overlap:
        hanging = followers(
            skeleton,
            trunk,
            time_s,
            breath_turns,
            footfalls.travel_m_s,
            periodic=periodic,
            nod=style.nod,
            overlap=style.overlap,
        )
        local.update(hanging.local)
        breath = hanging.breath
        notices += hanging.notices
    return Solved(state, hips, chest, forces, hooves, trunk, local, shortfall, breath, drop_m, tuple(notices))


def _lift_share(footfalls: Steps, skeleton: Animal) -> float:
    """Share of a full walk's lift and fold that short steps ask for."""
    down_s = float(np.mean(footfalls.liftoff_s - footfalls.touchdown_s))
    stance_m = float(np.linalg.norm(footfalls.travel_m_s)) * down_s
    full_m = STANCE_DISTANCE_PER_HIP_HEIGHT * skeleton.hip_height_m
    return LEAST_LIFT_SHARE + (1.0 - LEAST_LIFT_SHARE) * min(1.0, stance_m / full_m)


def more_drop(drop_m: Drop, shortfall_m: Array) -> Drop:
    """Lower each end of the trunk by what its legs miss, or raise it again as far as it was lowered."""
    fore, hind = float(shortfall_m[:, :2].max()), float(shortfall_m[:, 2:].max())
    if not (np.isfinite(fore) and np.isfinite(hind)):  # so far away that the trunk itself cannot be placed
        return np.inf, np.inf
    return max(0.0, drop_m[0] + fore), max(0.0, drop_m[1] + hind)


def _lowered(ends: EndsMotion, drop_m: Drop) -> EndsMotion:
    return replace(
        ends,
        chest_height_m=ends.chest_height_m - drop_m[0],
        hips_height_m=ends.hips_height_m - drop_m[1],
    )
