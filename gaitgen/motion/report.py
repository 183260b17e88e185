"""What is known about a finished clip, for a person or a program."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.course.named_gait import GaitSummary, summarise
from gaitgen.errors import Notice
from gaitgen.gait.gait import LIMBS, gait_names, load_gait
from gaitgen.gait.request import STAND
from gaitgen.motion.extremes import extremes
from gaitgen.motion.measure import FeetMeasured, measure_feet, range_margins_rad, slip_m
from gaitgen.motion.motion import KeyPose, Motion
from gaitgen.numerics.json_text import report_text

Array = npt.NDArray[np.float64]

AXES = ("pitch", "roll", "yaw")
PACES = ("walk", "run")  # by contacts, whether feet are down for more than half of the stride or less
# About an axis with a smaller range a joint hardly turns, and little of it is always left (estimate).
LEAST_RANGE_RAD = np.radians(3.0)


@dataclass(frozen=True)
class FootPlan:
    """One stance of the first stride: foot, contact and lift-off [frame, from 1], length [frames]."""

    foot: str
    contact_frame: float
    liftoff_frame: float
    frames_down: float


@dataclass(frozen=True)
class Heave:
    """Frames, from 1, at which an end of the body turns in the first stride, and how far it moves. [m]"""

    low_frames: tuple[int, ...]
    high_frames: tuple[int, ...]
    range_m: float


@dataclass(frozen=True)
class TightestJoint:
    """Joint and axis with the least room in its range, and that room; negative outside. [degrees]"""

    joint: str
    axis: str
    margin_deg: float


@dataclass(frozen=True)
class KeyFacts:
    """What is known about the keys of the channels.

    Attributes
    ----------
    keys, channels, poses
        How many there are.
    most_per_channel, busiest_channel
        Keys of the channel that has most, and its name.
    worst_deviation_deg, worst_deviation_m
        How far the splines are off at the worst frame. [degrees, m]
    planted_drift_m
        How far a planted toe gets from its print on the splines. [m]
    """

    keys: int
    channels: int
    poses: int
    most_per_channel: int
    busiest_channel: str
    worst_deviation_deg: float
    worst_deviation_m: float
    planted_drift_m: float


@dataclass(frozen=True)
class Report:
    """The plan and the measures of a clip; programs get it with these names, in this order.

    Attributes
    ----------
    animal, title, withers_height_m, body_mass_kg
        Name of the animal, its title, its size. [m, kg]
    frames, strides
        Length of a stride [frames], and number of strides.
    first_frame, last_frame, frame_rate_hz
        Frames of the clip, and their rate. [Hz]
    in_place
        Whether the body stays over the origin.
    gait, asymmetry
        Name of the gait, and by how much left and right differ [share of a stride].
    feet
        The stances of a stride by order of contact.
    hips, chest
        Rise and fall of both ends of the body.
    key_poses
        The named poses.
    period_s, speed_m_s, stride_length_m, duty_factor, lag, froude_number, hips_drop_m, chest_drop_m
        As in `Facts`.
    peak_force_n_kg
        Greatest vertical force of each foot over body mass, by limb. [N/kg]
    largest_slip_m
        Farthest that a planted toe is from its print. [m]
    lowest_sole_m
        Lowest point of any sole; negative under the ground. [m]
    tightest_joint
        The joint that is nearest to the end of its range.
    notices
        What was changed or is unusual.
    keys
        What is known about the keys; None where there are none, and left out for programs then.
    files
        Names of the files that were written.
    """

    animal: str
    title: str
    withers_height_m: float
    body_mass_kg: float
    frames: int
    strides: int
    first_frame: int
    last_frame: int
    frame_rate_hz: float
    in_place: bool
    gait: str
    asymmetry: float
    feet: tuple[FootPlan, ...]
    hips: Heave
    chest: Heave
    key_poses: tuple[KeyPose, ...]
    period_s: float
    speed_m_s: float
    stride_length_m: float
    duty_factor: float
    lag: float
    froude_number: float
    hips_drop_m: float
    chest_drop_m: float
    peak_force_n_kg: Mapping[str, float]
    largest_slip_m: float
    lowest_sole_m: float
    tightest_joint: TightestJoint
    notices: tuple[Notice, ...]
    keys: KeyFacts | None
    files: tuple[str, ...]

    @property
    def peak_fore_n_kg(self) -> float:
        """The greater peak force of the two fore feet. [N/kg]"""
        return max(self.peak_force_n_kg[limb] for limb in LIMBS[:2])

    @property
    def peak_hind_n_kg(self) -> float:
        """The greater peak force of the two hind feet. [N/kg]"""
        return max(self.peak_force_n_kg[limb] for limb in LIMBS[2:])


def report(
    clip: Motion,
    files: Sequence[str] = (),
    keys: KeyFacts | None = None,
    feet: FeetMeasured | None = None,
) -> Report:
    """Collect the plan and the measures of a clip.

    Parameters
    ----------
    clip
        The motion.
    files
        Names of the files written from it.
    keys
        What is known about its keys, if there are any.
    feet
        Its feet, if they have been measured.
    """
    animal, facts, feet = clip.animal, clip.facts, feet or measure_feet(clip)
    gait = summary_of(clip)
    heaves = {end: _heave(heave_m[: facts.frames]) for end, heave_m in clip.plan.heaves_m.items()}
    peaks = clip.plan.force_n.max(axis=0) / animal.body_mass_kg
    return Report(
        animal=animal.name,
        title=animal.title,
        withers_height_m=animal.withers_height_m,
        body_mass_kg=animal.body_mass_kg,
        frames=facts.frames,
        strides=facts.strides,
        first_frame=1,
        last_frame=clip.frames,
        frame_rate_hz=clip.frame_rate_hz,
        in_place=clip.is_in_place,
        gait=_gait_words(clip, gait.name),
        asymmetry=gait.asymmetry,
        feet=() if gait.name == STAND else _feet(clip),
        hips=heaves["hips"],
        chest=heaves["chest"],
        key_poses=clip.key_poses,
        period_s=facts.period_s,
        speed_m_s=facts.speed_m_s,
        stride_length_m=facts.stride_length_m,
        duty_factor=facts.duty_factor,
        lag=facts.lag,
        froude_number=facts.froude_number,
        hips_drop_m=facts.hips_drop_m,
        chest_drop_m=facts.chest_drop_m,
        peak_force_n_kg={limb: float(peak) for limb, peak in zip(LIMBS, peaks, strict=True)},
        largest_slip_m=slip_m(clip, feet),
        lowest_sole_m=float(feet.lowest_m.min()),
        tightest_joint=_tightest(clip),
        notices=clip.notices,
        keys=keys,
        files=tuple(files),
    )


def summary_of(clip: Motion) -> GaitSummary:
    """Say what the strides of a clip amount to, by the name of the gait that was asked for.

    Contacts that were asked for, and gaits of files, are named for what they are.

    Raises
    ------
    GaitError
        For a clip without a period, or one whose feet do not stand equally often.
    """
    asked = clip.asked
    meant = None
    if asked is not None and asked.gait in gait_names() and asked.contacts is None:
        meant = load_gait(asked.gait).as_used_by(clip.animal)
    return summarise(clip.steps, clip.animal, meant)


def _gait_words(clip: Motion, name: str) -> str:
    """Name a gait by its own name, where its contacts alone are named as a walk or a run.

    A running walk is told as ``running walk, lateral sequence, single foot``, as its file is.
    """
    pace, comma, kind = name.partition(", ")
    if not comma or pace not in PACES or clip.asked is None or clip.asked.gait is None:
        return name
    gait = load_gait(clip.asked.gait)
    return f"{gait.title.lower()}, {kind}" if gait.walks == (pace == PACES[0]) else name


def as_values(part: Report | FootPlan | KeyPose) -> dict[str, object]:
    """Turn a report, or a part of one, into plain numbers, lists and words; what is None is left out."""
    return {name: value for name, value in asdict(part).items() if value is not None}


def as_json(found: Report) -> str:
    """Write the report for programs: JSON, keys with units, a final newline."""
    return report_text(as_values(found)) + "\n"


def _feet(clip: Motion) -> tuple[FootPlan, ...]:
    """Contact and lift-off of each foot in the first stride, by order of contact."""
    steps, frames = clip.steps, clip.facts.frames
    contact = steps.touchdown_s * clip.frame_rate_hz
    liftoff = steps.liftoff_s * clip.frame_rate_hz
    first = np.isin(np.arange(steps.limb.size), np.unique(steps.limb, return_index=True)[1])
    return tuple(
        FootPlan(
            foot=LIMBS[limb],
            contact_frame=round(float(down) % frames + 1.0, 3),
            liftoff_frame=round(float(up) % frames + 1.0, 3),
            frames_down=round(float(up - down), 3),
        )
        for limb, down, up in zip(steps.limb[first], contact[first], liftoff[first], strict=True)
    )


def _heave(heave_m: Array) -> Heave:
    """Find where a curve of one stride (frames,) turns."""
    found = extremes(heave_m, is_closed=True)
    return Heave(
        low_frames=tuple(extreme.row + 1 for extreme in found if not extreme.is_high),
        high_frames=tuple(extreme.row + 1 for extreme in found if extreme.is_high),
        range_m=float(np.ptp(heave_m)),
    )


def _tightest(clip: Motion) -> TightestJoint:
    """Find the joint and axis with the least room for its range; joints that hardly turn are left out."""
    width = np.ptp(clip.animal.ranges_rad, axis=2)
    margins = range_margins_rad(clip)
    share = np.where(width > LEAST_RANGE_RAD, margins / np.maximum(width, 1e-9), np.inf)
    # Rounded, so that of left and right that are as tight it is the first that is told on any processor.
    row, axis = np.unravel_index(int(np.argmin(np.round(share, 9))), share.shape)
    return TightestJoint(
        clip.animal.joint_names[row], AXES[axis], float(np.degrees(float(margins[row, axis])))
    )
