"""Panels of curves over one stride: trunk and head, forces; and how every panel looks."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import end_middle_m, landmark_m, world_frames
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.curves import refined
from gaitgen.numerics.rotations import pitch_roll_yaw_rad
from gaitgen.pictures.page import SMALL_PT, TEXT_PT
from gaitgen.pictures.published_angles import published_for

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

SIZE_INCHES = (8.0, 6.2)
LOOKS = (
    {"linestyle": "-", "linewidth": 1.7},
    {"linestyle": "--", "linewidth": 1.5},
    {"linestyle": (0, (1.0, 1.2)), "linewidth": 2.0},
    {"linestyle": "-.", "linewidth": 1.2},
)
# Each limb on paper: fore solid, hind dashed, the right one heavy.
LIMB_LOOKS = {
    "LF": {"linestyle": "-", "linewidth": 0.9},
    "RF": {"linestyle": "-", "linewidth": 2.0},
    "LH": {"linestyle": "--", "linewidth": 0.9},
    "RH": {"linestyle": "--", "linewidth": 2.0},
}
LEGEND = {
    "loc": "lower right",
    "bbox_to_anchor": (1.0, 1.0),
    "borderaxespad": 0.2,
    "frameon": False,
    "fontsize": 8.0,
    "handlelength": 2.6,
}


def trunk(figure: Figure, clip: Motion) -> None:
    """Draw rise, sway and pitch of hips, chest and head."""
    stride = clip.facts.frames
    still = over_origin(clip)
    animal = clip.animal
    positions, world = world_frames(animal, still.root_path_m[:stride], still.rotations[:stride])
    places = {
        "hips": end_middle_m(animal, positions, world, "hind"),
        "chest": end_middle_m(animal, positions, world, "fore"),
    }
    turns = np.degrees(np.unwrap(pitch_roll_yaw_rad(world)[..., 0], axis=0))
    bones = {"hips": animal.spine[0], "chest": animal.chest}
    heave = {end: heave_m[:stride] for end, heave_m in clip.plan.heaves_m.items()}
    if animal.head is not None and "poll" in animal.landmarks_m:
        places["head"] = landmark_m(animal, positions, world, "poll")
        heave["head"], bones["head"] = places["head"][:, 2], animal.head
    panels = (
        ("rise: up, mm", {part: 1000.0 * curve for part, curve in heave.items()}),
        ("sway: to the left, mm", {part: 1000.0 * place[:, 1] for part, place in places.items()}),
        ("pitch: nose up, degrees", {part: turns[:, bone] for part, bone in bones.items()}),
    )
    all_axes = figure.subplots(3, 1, sharex=True)
    for axes, (label, curves) in zip(all_axes, panels, strict=True):
        for (part, curve), look in zip(curves.items(), LOOKS, strict=False):
            fine = refined(curve - curve.mean())
            axes.plot(_frames(stride, fine), fine, color="0", label=part, **look)
        finish(axes, label)
        rule_keys(axes, clip)
    all_axes[0].legend(ncols=3, **LEGEND)
    frame_axis(all_axes[-1], stride)


def forces(figure: Figure, clip: Motion) -> None:
    """Draw the vertical force of each foot, and of all together, in body weights."""
    stride = clip.facts.frames
    each = clip.plan.force_n[:stride] / (clip.animal.body_mass_kg * GRAVITY_M_S2)  # (frames, 4)
    feet, total = figure.subplots(2, 1, sharex=True, height_ratios=(2.0, 1.0))
    known = published_for(clip)
    if known.peak_fore_n_kg is not None:
        mean, deviation = (n_kg / GRAVITY_M_S2 for n_kg in known.peak_fore_n_kg)
        feet.axhspan(mean - deviation, mean + deviation, color="0.88", linewidth=0.0)
    for limb in ("RH", "RF", "LH", "LF"):
        curve = np.append(each[:, LIMBS.index(limb)], each[0, LIMBS.index(limb)])
        feet.plot(np.arange(stride + 1) + 1.0, curve, color="0", label=limb, **LIMB_LOOKS[limb])
    everything = each.sum(axis=1)
    total.axhline(1.0, color="0.6", linewidth=0.8)
    total.plot(np.arange(stride + 1) + 1.0, np.append(everything, everything[0]), color="0", **LOOKS[0])
    feet.set_ylim(bottom=0.0)
    finish(feet, "force on each foot, body weights")
    finish(total, "on all feet, body weights")
    low, high = total.get_ylim()
    total.set_ylim(min(low, 0.8), max(high, 1.2))
    for axes in (feet, total):
        rule_keys(axes, clip)
    feet.legend(ncols=4, **LEGEND)
    frame_axis(total, stride)
    figure.supxlabel(known.peak_source, fontsize=SMALL_PT, color="0.3")


def _frames(stride: int, fine: Array) -> Array:
    return np.linspace(1.0, stride + 1.0, fine.shape[0])


def finish(axes: Axes, label: str) -> None:
    """Give axes the plain look of the sheets."""
    axes.set_ylabel(label, fontsize=8.0)
    axes.tick_params(labelsize=TEXT_PT, direction="out", length=3.0)
    axes.spines[["top", "right"]].set_visible(False)
    axes.margins(x=0.0)


def rule_keys(axes: Axes, clip: Motion) -> None:
    """Rule the key poses thinly through a panel."""
    for key in clip.key_poses:
        if key.frame <= clip.facts.frames + 1.0:
            axes.axvline(key.frame, color="0.75", linewidth=0.6, zorder=0.5)


def frame_axis(axes: Axes, stride: int) -> None:
    """Write the frame numbers of a stride under the last panel."""
    axes.set_xlim(1.0, stride + 1.0)
    step = max(1, round(stride / 8))
    axes.set_xticks(np.arange(1, stride + 2, step))
    axes.set_xlabel("frame (thin lines: key poses)", fontsize=TEXT_PT)
