"""Where each hoof is: fixed and flat, rolling over its toe, or swinging to the next place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Hoof
from gaitgen.course.steps import StanceState
from gaitgen.gait.tempo import STANCE_DISTANCE_PER_HIP_HEIGHT
from gaitgen.numerics.curves import bump, even_travel, ramp

Array = npt.NDArray[np.float64]


# The height of a swinging hoof grows with this power of the lift factor (estimate).
LIFT_POWER = 1.5


@dataclass(frozen=True)
class HoofManner:
    """How the hooves of one end roll and swing; estimates unless said, shapes after Clayton and Back.

    Attributes
    ----------
    heel_off_share
        Share of stance at which the heel begins to rise.
    tip_rad
        Greatest tip of the sole to the rear, reached at ``tip_share`` of swing. [rad]
    tip_share
        Share of swing.
    toe_up_rad
        Toe raised before landing. [rad]
    early_lift, early_share
        Height of the early peak of the toe, in hip heights, and its share of swing.
    late_lift, late_share
        The same for the later, lower peak.
    ease_in, ease_out
        Share of swing in which the hoof speeds up, and in which it slows down.
    """

    heel_off_share: float
    tip_rad: float
    tip_share: float
    toe_up_rad: float
    early_lift: float
    early_share: float
    late_lift: float
    late_share: float
    ease_in: float
    ease_out: float


MANNERS: Mapping[str, HoofManner] = {
    "fore": HoofManner(
        heel_off_share=0.78,
        tip_rad=np.radians(72.0),
        tip_share=0.21,
        toe_up_rad=np.radians(5.0),
        early_lift=0.036,
        early_share=0.36,
        late_lift=0.022,
        late_share=0.78,
        ease_in=0.44,
        ease_out=0.52,
    ),
    "hind": HoofManner(
        heel_off_share=0.78,
        tip_rad=np.radians(62.0),
        tip_share=0.20,
        toe_up_rad=np.radians(5.0),
        early_lift=0.021,
        early_share=0.42,
        late_lift=0.010,
        late_share=0.80,
        ease_in=0.44,
        ease_out=0.44,
    ),
}


@dataclass(frozen=True, eq=False)
class HoofPath:
    """The hooves over time, in LIMBS order, travelling.

    Attributes
    ----------
    toe_m
        (samples, 4, 3) ground point of the toe. [m]
    pitch_rad
        (samples, 4) positive with the toe up; negative with the heel up. [rad]
    heading_rad
        (samples, 4) direction of the hoof, to the left of x. [rad]
    coffin_m
        (samples, 4, 3) coffin joint. [m]
    """

    toe_m: Array
    pitch_rad: Array
    heading_rad: Array
    coffin_m: Array


def hoof_path(
    state: StanceState, hooves: Mapping[str, Hoof], hip_height_m: float, *, lift: float = 1.0
) -> HoofPath:
    """Lead every hoof through stance and swing; C2 in time, and never under the ground.

    Parameters
    ----------
    state
        The step each foot is in.
    hooves
        Shape of a ``fore`` and a ``hind`` hoof.
    hip_height_m
        Size of the animal. [m]
    lift
        Style factor on the height of the swinging hoof.
    """
    columns = [
        _one_hoof(state, limb, MANNERS[end], hooves[end], hip_height_m, lift)
        for limb, end in enumerate(("fore", "fore", "hind", "hind"))
    ]
    toe, pitch, heading, coffin = (np.stack(parts, axis=1) for parts in zip(*columns, strict=True))
    return HoofPath(toe, pitch, heading, coffin)


def _one_hoof(
    state: StanceState, limb: int, manner: HoofManner, hoof: Hoof, hip_height_m: float, lift: float
) -> tuple[Array, Array, Array, Array]:
    swing = state.swing_share[:, limb]
    passed = even_travel(swing, manner.ease_in, manner.ease_out)
    place, following = state.place_m[:, limb], state.next_place_m[:, limb]
    ground = place + passed[:, None] * (following - place)  # (samples, 2)
    turn = state.next_heading_rad[:, limb] - state.heading_rad[:, limb]
    heading = state.heading_rad[:, limb] + passed * turn
    toe_up = manner.toe_up_rad * bump((swing - 0.62) / 0.38, 0.55)
    pitch = toe_up - _tip(state, limb, manner) * _step_share(state, limb, hip_height_m)
    lifted = (
        hip_height_m
        * lift**LIFT_POWER
        * (
            manner.early_lift * bump(swing, manner.early_share)
            + manner.late_lift
            * bump(np.clip((swing - 0.45) / 0.55, 0.0, 1.0), (manner.late_share - 0.45) / 0.55)
        )
    )
    height = lifted + (hoof.toe_m + hoof.heel_m) * np.sin(np.maximum(toe_up, 0.0))
    toe = np.concatenate([ground, height[:, None]], axis=1)
    back = -hoof.toe_m * np.cos(pitch) - hoof.coffin_height_m * np.sin(pitch)
    up = -hoof.toe_m * np.sin(pitch) + hoof.coffin_height_m * np.cos(pitch)
    coffin = toe + np.stack([back * np.cos(heading), back * np.sin(heading), up], axis=1)
    return toe, pitch, heading, coffin


def _step_share(state: StanceState, limb: int, hip_height_m: float) -> Array:
    """How far a foot covers the ground in stance, against a full walking stance; at most 1."""
    stance_s = state.liftoff_s[:, limb] - state.touchdown_s[:, limb]
    stride_s = state.next_touchdown_s[:, limb] - state.touchdown_s[:, limb]
    step_m = np.linalg.norm(state.next_place_m[:, limb] - state.place_m[:, limb], axis=1)
    full_m = STANCE_DISTANCE_PER_HIP_HEIGHT * hip_height_m
    return np.asarray(np.minimum(1.0, step_m * stance_s / stride_s / full_m))


def _tip(state: StanceState, limb: int, manner: HoofManner) -> Array:
    """Tip of the sole to the rear, from heel-off through lift-off to level again, C2. [rad]"""
    touchdown, liftoff = state.touchdown_s[:, limb], state.liftoff_s[:, limb]
    swing_s = state.next_touchdown_s[:, limb] - liftoff
    heel_off = touchdown + manner.heel_off_share * (liftoff - touchdown)
    steepest = liftoff + manner.tip_share * swing_s
    level = liftoff + 0.80 * swing_s
    time_s = state.time_s[:, 0]
    rise = ramp((time_s - heel_off) / (steepest - heel_off))
    fall = ramp((time_s - steepest) / (level - steepest))
    return manner.tip_rad * (rise - fall)
