"""Panels of joint angles: over one stride with published extremes, and their spectra."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import ENDS, LIMBS, Animal
from gaitgen.motion.kinematics import included_angles_rad
from gaitgen.motion.motion import Motion
from gaitgen.pictures.curve_panels import LEGEND, LOOKS, finish
from gaitgen.pictures.page import SMALL_PT, TEXT_PT
from gaitgen.pictures.published_angles import Published, published_for
from gaitgen.pictures.stride_chart import PAD

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = npt.NDArray[np.float64]

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
    stride = clip.facts.frames
    angles = np.degrees(included_angles_rad(clip.animal, clip.rotations[:stride]))
    share = (np.arange(stride) / stride - _contact_share(clip, f"R{end[0].upper()}") + 1e-9) % 1.0
    order = np.argsort(share)
    share = np.append(share[order], share[order[0]] + 1.0)
    order = np.append(order, order[0])
    return share, {title: angles[order, row] for row, title in limb_joints(clip.animal, end)}


def limb_joints(animal: Animal, end: str) -> tuple[tuple[int, str], ...]:
    """Return the joints of the right limb of an end that have an angle, and what the trade calls it."""
    rows = animal.limb(end, "R").joints
    return tuple(
        (row, animal.angle_names[row].removeprefix(f"{end} ")) for row in rows if animal.angle_names[row]
    )


def _contact_share(clip: Motion, limb: str) -> float:
    """Return when a foot lands, as a share of the stride after frame 1."""
    first = clip.steps.touchdown_s[clip.steps.limb == LIMBS.index(limb)][0]
    return float(first * clip.frame_rate_hz / clip.facts.frames) % 1.0


def joints(figure: Figure, clip: Motion) -> None:
    """Draw the joint angles of a fore and a hind leg, published extremes shaded."""
    shown = {end: limb_joints(clip.animal, end) for end in ENDS}
    known = published_for(clip)
    most = max(len(rows) for rows in shown.values())
    grid = figure.subplots(most, 2, sharex=True, squeeze=False)
    for column, end in enumerate(ENDS):
        limb = f"R{end[0].upper()}"
        mine = clip.steps.limb == LIMBS.index(limb)
        down_s = float((clip.steps.liftoff_s - clip.steps.touchdown_s)[mine][0])
        stance = 100.0 * down_s * clip.frame_rate_hz / clip.facts.frames
        share, angles = joint_angles_deg(clip, end)
        dots = "." if share.size <= MOST_DOTS else ""
        for axes, (row, title) in zip(grid[:, column], shown[end], strict=False):
            curve = angles[title]
            words = _bands(axes, known, clip.animal.angle_names[row], float(np.ptp(curve)))
            axes.plot(100.0 * share, curve, color="0", linewidth=1.6, marker=dots, markersize=5.0)
            axes.axvline(stance, color="0.4", linewidth=0.8, linestyle=(0, (4.0, 3.0)))
            finish(axes, f"{clip.animal.angle_words(title)}, degrees")
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
    figure.supxlabel("\n".join(textwrap.wrap(known.source, 120)), fontsize=SMALL_PT - 0.5, color="0.3")


def _bands(axes: Axes, known: Published, angle: str, range_deg: float) -> str:
    """Shade the published extremes of a joint; return what is said about its range."""
    words = f"range {range_deg:.0f}"
    for row in known.extremes:
        if row.joint != angle:
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
    stride = clip.facts.frames
    most = min(MOST_HARMONICS, (stride - 1) // 2)
    orders = np.arange(1, most + 1)
    angles = np.degrees(included_angles_rad(clip.animal, clip.rotations[:stride]))
    for axes, end in zip(figure.subplots(2, 1, sharex=True), ENDS, strict=True):
        for k, (row, title) in enumerate(limb_joints(clip.animal, end)):
            curve = angles[:, row]
            size = 2.0 * np.abs(np.fft.rfft(curve))[1 : most + 1] / stride
            size = np.maximum(size, LEAST_SHOWN_DEG)
            axes.plot(
                orders,
                size,
                color="0",
                label=clip.animal.angle_words(title),
                marker="osD^vP*"[k % 7],
                markersize=4.5,
                markerfacecolor="1",
                **LOOKS[k % len(LOOKS)],
            )
        axes.set_yscale("log")
        axes.yaxis.set_major_formatter("{x:g}")
        axes.set_ylim(bottom=0.8 * LEAST_SHOWN_DEG)
        finish(axes, f"{end} leg: amplitude, degrees")
        axes.legend(ncols=4, **LEGEND)
        axes.set_xticks(orders)
        axes.set_xlim(0.7, most + 0.3)
    axes.set_xlabel("cycles a stride", fontsize=TEXT_PT)
