"""Panels of joint angles: over one stride with published extremes, and their spectra."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.kinematics import included_angles_rad
from gaitgen.motion.motion import Motion
from gaitgen.pictures.curve_panels import LEGEND, LOOKS, finish
from gaitgen.pictures.page import SMALL_PT, TEXT_PT
from gaitgen.pictures.published_angles import EXTREMES, SOURCE
from gaitgen.pictures.stride_chart import PAD

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

JOINTS: Mapping[str, Sequence[tuple[str, str]]] = {
    "fore": (
        ("humerus", "shoulder"),
        ("radius", "elbow"),
        ("fore_cannon", "carpus"),
        ("fore_pastern", "fetlock"),
    ),
    "hind": (("femur", "hip"), ("tibia", "stifle"), ("hind_cannon", "hock"), ("hind_pastern", "fetlock")),
}
MOST_HARMONICS = 16
LEAST_SHOWN_DEG = 0.01
# Up to this many frames each is a dot on the curve of a joint.
MOST_DOTS = 49


def joint_angles_deg(clip: Motion, end: str) -> tuple[Array, dict[str, Array]]:
    """Return the angles of the right leg over one stride from its contact.

    Returns
    -------
    share
        (frames + 1,) moment of each frame after the contact of the leg, from about 0. [strides]
    angles_deg
        Joint to its angle (frames + 1,); the last is one stride after the first. [degrees]
    """
    stride = int(clip.facts["frames"])
    angles = np.degrees(included_angles_rad(clip.skeleton, clip.rotations[:stride]))
    share = (np.arange(stride) / stride - _contact_share(clip, f"R{end[0].upper()}") + 1e-9) % 1.0
    order = np.argsort(share)
    share = np.append(share[order], share[order[0]] + 1.0)
    order = np.append(order, order[0])
    return share, {title: angles[order, clip.skeleton.joint(f"{bone}_R")] for bone, title in JOINTS[end]}


def _contact_share(clip: Motion, limb: str) -> float:
    """Return when a foot lands, as a share of the stride after frame 1."""
    first = clip.footfalls.touchdown_s[clip.footfalls.limb == LIMBS.index(limb)][0]
    return float(first * clip.frame_rate_hz / clip.facts["frames"]) % 1.0


def joints(figure: Figure, clip: Motion) -> None:
    """Draw the joint angles of a fore and a hind leg, published extremes shaded."""
    grid = figure.subplots(4, 2, sharex=True)
    for column, end in enumerate(JOINTS):
        limb = f"R{end[0].upper()}"
        mine = clip.footfalls.limb == LIMBS.index(limb)
        down_s = float((clip.footfalls.liftoff_s - clip.footfalls.touchdown_s)[mine][0])
        stance = 100.0 * down_s * clip.frame_rate_hz / clip.facts["frames"]
        share, angles = joint_angles_deg(clip, end)
        dots = "." if share.size <= MOST_DOTS else ""
        for axes, (bone, title) in zip(grid[:, column], JOINTS[end], strict=True):
            curve = angles[title]
            words = _bands(axes, bone, float(np.ptp(curve)))
            axes.plot(100.0 * share, curve, color="0", linewidth=1.6, marker=dots, markersize=5.0)
            axes.axvline(stance, color="0.4", linewidth=0.8, linestyle=(0, (4.0, 3.0)))
            finish(axes, f"{title}, degrees")
            low, high = axes.get_ylim()
            axes.set_ylim(low, high + 0.22 * (high - low))
            axes.text(
                0.985,
                0.955,
                words,
                transform=axes.transAxes,
                fontsize=SMALL_PT,
                color="0.3",
                ha="right",
                va="top",
                bbox=PAD,
            )
        grid[0, column].set_title(
            f"{limb}: lands at 0, lifts off at {stance:.0f} %", fontsize=9.0, loc="left"
        )
        grid[-1, column].set_xlim(0.0, 100.0)
        grid[-1, column].set_xlabel("per cent of the stride", fontsize=TEXT_PT)
    figure.supxlabel("\n".join(textwrap.wrap(SOURCE, 120)), fontsize=SMALL_PT - 0.5, color="0.3")


def _bands(axes: Axes, bone: str, range_deg: float) -> str:
    """Shade the published extremes of a joint; return what is said about its range."""
    words = f"range {range_deg:.0f}"
    for row in EXTREMES:
        if row.joint != bone:
            continue
        if row.which == "range":
            words = f"range {range_deg:.0f}, published {row.mean_deg:.0f} ± {row.deviation_deg:.0f}"
            continue
        axes.axhspan(
            row.mean_deg - row.deviation_deg, row.mean_deg + row.deviation_deg, color="0.85", linewidth=0.0
        )
    return words


def spectrum(figure: Figure, clip: Motion) -> None:
    """Draw how much of each joint angle swings once, twice, ... a stride."""
    stride = int(clip.facts["frames"])
    most = min(MOST_HARMONICS, (stride - 1) // 2)
    orders = np.arange(1, most + 1)
    angles = np.degrees(included_angles_rad(clip.skeleton, clip.rotations[:stride]))
    for axes, end in zip(figure.subplots(2, 1, sharex=True), JOINTS, strict=True):
        for k, (bone, title) in enumerate(JOINTS[end]):
            curve = angles[:, clip.skeleton.joint(f"{bone}_R")]
            size = 2.0 * np.abs(np.fft.rfft(curve))[1 : most + 1] / stride
            size = np.maximum(size, LEAST_SHOWN_DEG)
            axes.plot(
                orders,
                size,
                color="0",
                label=title,
                marker="osD^"[k],
                markersize=4.5,
                markerfacecolor="1",
                **LOOKS[k],
            )
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter("{x:g}")
        axes.set_ylim(bottom=0.8 * LEAST_SHOWN_DEG)
        finish(axes, f"{end} leg: amplitude, degrees")
        axes.legend(ncols=4, **LEGEND)
        axes.set_xticks(orders)
        axes.set_xlim(0.7, most + 0.3)
    axes.set_xlabel("cycles a stride", fontsize=TEXT_PT)
