"""A shot over its frames: what happens, speed, height of the ground, and when each foot is down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.pictures.page import GREY, NAME_PT, SMALL_PT, TEXT_PT, Page
from gaitgen.pictures.shot_plan import ShotPlan

Array = npt.NDArray[np.float64]

LABELS_MM = 17.0
NAMES_MM, CURVE_MM, ROW_MM, BAR_MM, AXIS_MM = 6.0, 11.0, 4.2, 3.0, 7.5
TONES = {"L": "0.55", "R": "0"}
# Rows of feet as they stand on a page: hind above fore, right above left.
ROWS = ("RH", "LH", "RF", "LF")
TICKS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 60.0)


def chart_height_mm(shot: ShotPlan) -> float:
    """Return how high the chart of a shot is. [mm]"""
    return NAMES_MM + (2 if shot.climb_m > 0.02 else 1) * CURVE_MM + len(ROWS) * ROW_MM + AXIS_MM


@dataclass(frozen=True)
class Time:
    """Where the frames of a shot lie across a page: first and last, from 1, and their places. [mm]"""

    left: float
    right: float
    last: int

    def x(self, frame: float) -> float:
        """Place of a frame, from 1, inside the page. [mm]"""
        share = (frame - 1.0) / max(self.last - 1.0, 1.0)
        return self.left + min(max(share, 0.0), 1.0) * (self.right - self.left)


def draw_chart(page: Page, shot: ShotPlan, left: float, right: float, top: float) -> None:
    """Draw the chart of a shot below some height of a page. [mm]"""
    time = Time(left + LABELS_MM, right, shot.clip.frames)
    y = _names(page, shot, time, top)
    y = _curve(page, time, y, "speed", shot.speed_m_s, "m/s", from_zero=True)
    if shot.climb_m > 0.02:
        y = _curve(page, time, y, "ground", shot.way_m[:, 2], "m", from_zero=False)
    y = _bars(page, shot, time, y)
    _axis(page, shot, time, y)


def _names(page: Page, shot: ShotPlan, time: Time, top: float) -> float:
    """Write what happens in boxes, and rule where one thing ends and another begins."""
    floor = top - NAMES_MM + 1.0
    for k, stretch in enumerate(shot.stretches):
        left, right = time.x(stretch.first_frame), time.x(stretch.last_frame)
        page.box(left, floor, right - left, top - floor, facecolor="0.90" if k % 2 else "0.96", zorder=0.2)
        if right - left > 5.0:
            page.fitted(left + 0.8, floor + 1.5, stretch.what, TEXT_PT, right - left - 1.2, fontweight="bold")
        low = top - chart_height_mm(shot) + AXIS_MM
        page.line([left, left], [low, top], linewidth=0.4, color="0.6", zorder=0.3)
    return top - NAMES_MM


def _curve(
    page: Page, time: Time, top: float, name: str, values: Array, unit: str, *, from_zero: bool
) -> float:
    """Draw one curve with its least and greatest value."""
    low, high = (0.0 if from_zero else float(values.min())), float(values.max())
    room = CURVE_MM - 3.0
    bottom = top - CURVE_MM + 1.0
    ys = bottom + room * (values - low) / max(high - low, 1e-9)
    xs = [time.x(frame) for frame in range(1, len(values) + 1)]
    page.line([time.left, time.right], [bottom, bottom], linewidth=0.4, color="0.75", zorder=0.4)
    page.line(xs, ys.tolist(), linewidth=1.0)
    left, words = time.left - LABELS_MM, f"{round(low, 2) + 0.0:g} to {_greatest(high):g} {unit}"
    page.text(left, bottom + 0.45 * room, name, TEXT_PT, fontweight="bold")
    page.text(left, bottom + 0.45 * room - 2.9, words, 5.5, color=GREY)
    return top - CURVE_MM


def _greatest(value: float) -> float:
    """Round a greatest value to two digits, and to hundredths: what is left of a sum is 0."""
    return round(float(f"{value:.2g}"), 2) + 0.0


def _bars(page: Page, shot: ShotPlan, time: Time, top: float) -> float:
    """Draw when each foot is down."""
    steps, rate = shot.clip.steps, shot.clip.frame_rate_hz
    for row, name in enumerate(ROWS):
        middle = top - (row + 0.5) * ROW_MM
        page.text(time.left - 2.0, middle, name, NAME_PT, ha="right", va="center_baseline", fontweight="bold")
        page.line([time.left, time.right], [middle, middle], linewidth=0.35, color="0.75", zorder=0.4)
    for k in shot.prints:
        name = LIMBS[int(steps.limb[k])]
        middle = top - (ROWS.index(name) + 0.5) * ROW_MM
        left, right = (time.x(float(at[k]) * rate + 1.0) for at in (steps.touchdown_s, steps.liftoff_s))
        page.box(left, middle - BAR_MM / 2.0, right - left, BAR_MM, facecolor=TONES[name[0]], zorder=1.0)
    return top - len(ROWS) * ROW_MM


def _axis(page: Page, shot: ShotPlan, time: Time, top: float) -> None:
    """Rule seconds, with their frames."""
    rate = shot.clip.frame_rate_hz
    length_s = (shot.clip.frames - 1) / rate
    room = time.right - time.left
    step = next((each for each in TICKS_S if each / max(length_s, 1e-9) * room >= 11.0), TICKS_S[-1])
    y = top - 0.8
    page.line([time.left, time.right], [y, y], linewidth=0.6)
    for second in np.arange(0.0, length_s + 1e-9, step):
        x = time.x(second * rate + 1.0)
        page.line([x, x], [y, y - 1.2], linewidth=0.5)
        page.text(x, y - 3.6, f"{round(second * rate) + 1}", SMALL_PT, ha="center", fontweight="bold")
        page.text(x, y - 6.0, f"{second:g} s", 5.5, ha="center", color=GREY)
    page.text(time.left - LABELS_MM, y - 3.6, "frame", TEXT_PT, color=GREY)
