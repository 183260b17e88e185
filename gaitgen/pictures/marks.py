"""The few marks of a sheet: arrows up and down, highs and lows, swings, foot letters."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.pictures.page import SMALL_PT, Page

Array = npt.NDArray[np.float64]

MARK_MM = 5.6
LABEL_MM = (5.0, 3.1)
SWING_HALF_MM = 2.3  # half of the arrow of a swing
AIR = "0.45"
# Marks on the ground are about this share of the withers height apart.
_GROUND_SHARE = 0.3


def ground_mark_m(withers_height_m: float) -> float:
    """Return how far apart marks on the ground are: 1, 2 or 5 times a power of ten. [m]"""
    wanted = _GROUND_SHARE * withers_height_m
    power = 10.0 ** np.floor(np.log10(wanted))
    steps = np.array([1.0, 2.0, 5.0, 10.0]) * power
    return float(steps[np.argmin(np.abs(np.log(steps / wanted)))])


def course_mark(
    page: Page, x: float, y: float, says: str, *, label: bool = True, word_below: bool = False
) -> None:
    """Draw where a part of the body goes, MARK_MM high from y upward: arrow, high, low or level.

    It says one of these words, and of a high or low in another frame which. These words stand to the left of
    their mark, or below it; ``label`` leaves them out.
    """
    word = says.partition(" ")[0]
    middle = y + MARK_MM / 2.0
    if word in {"up", "down"}:
        sign = 1.0 if word == "up" else -1.0
        tip, tail = middle + sign * MARK_MM / 2.0, middle - sign * MARK_MM / 2.0
        page.line([x, x], [tail, tip - sign * 1.6], linewidth=1.1)
        page.shape([(x, tip), (x - 1.1, tip - sign * 2.3), (x + 1.1, tip - sign * 2.3)])
        return
    if word == "level":
        page.line([x - 1.5, x + 1.5], [middle, middle], linewidth=1.1)
        return
    sign = 1.0 if word == "high" else -1.0
    wall = middle + sign * 1.9
    page.line([x - 1.9, x + 1.9], [wall, wall], linewidth=1.5)
    page.shape([(x, wall), (x - 1.6, wall - sign * 2.9), (x + 1.6, wall - sign * 2.9)])
    if label and word_below:
        page.text(x, middle - 4.6, says, SMALL_PT, ha="center", fontweight="bold")
    elif label:
        page.text(x - 2.6, middle, says, SMALL_PT, ha="right", va="center", fontweight="bold")


def swing_mark(page: Page, x: float, y: float, direction: tuple[float, float]) -> None:
    """Draw a small open arrow around a place, along a direction; a ring where the swing turns back."""
    along = np.array(direction)
    if not np.any(along):
        angles = np.linspace(0.0, 2.0 * np.pi, 17)[:-1]
        ring = np.array([x, y]) + 0.55 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        page.shape(ring, facecolor="1", edgecolor="0", linewidth=0.7)
        return
    start, tip = np.array([x, y]) - SWING_HALF_MM * along, np.array([x, y]) + SWING_HALF_MM * along
    across = np.array([-along[1], along[0]])
    wings = [tip - 1.5 * along + side * 0.9 * across for side in (1.0, -1.0)]
    page.line([start[0], tip[0]], [start[1], tip[1]], linewidth=0.8)
    page.line([wings[0][0], tip[0], wings[1][0]], [wings[0][1], tip[1], wings[1][1]], linewidth=0.8)


def foot_label(page: Page, x: float, y: float, limb: str, *, planted: bool, lands: bool) -> None:
    """Write the name of a foot: white on black if it lands, bold if it is planted, thin if in the air."""
    if lands:
        page.box(x - LABEL_MM[0] / 2.0, y - LABEL_MM[1] / 2.0, *LABEL_MM)
    weight, tone = ("bold", "0") if planted else ("normal", AIR)
    page.text(
        x,
        y - 0.08,
        limb,
        SMALL_PT,
        ha="center",
        va="center",
        fontweight=weight,
        color="1" if lands else tone,
    )


def foot_labels(
    page: Page, places: Array, y: Sequence[float], planted: Sequence[bool], lands: Sequence[bool]
) -> None:
    """Write the names of feet under them, pushed apart where two in one row would touch.

    Parameters
    ----------
    page
        Where to write.
    places
        (4,) middle of each foot, in LIMBS order. [mm]
    y
        Height of the row of each foot. [mm]
    planted, lands
        How each foot is.
    """
    for row in sorted(set(y)):
        mine = [limb for limb in range(4) if y[limb] == row]
        apart = spread(places[mine], LABEL_MM[0] + 0.4)
        for limb, x in zip(mine, apart, strict=True):
            foot_label(page, float(x), row, LIMBS[limb], planted=planted[limb], lands=lands[limb])


def spread(places: Array, least: float, low: float = -np.inf, high: float = np.inf) -> Array:
    """Move places (n,) as little as a few passes need, so that they are some distance apart and inside."""
    order = np.argsort(places, kind="stable")
    moved = places[order].astype(np.float64)
    for _ in range(60):
        gaps = np.diff(moved)
        short = np.maximum(least - gaps, 0.0)
        if not np.any(short > 1e-6):
            break
        moved[:-1] -= 0.5 * short
        moved[1:] += 0.5 * short
        moved = np.clip(moved, low, high)
    result = np.empty_like(moved)
    result[order] = moved
    return result
