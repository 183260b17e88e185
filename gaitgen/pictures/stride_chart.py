"""One stride as footfall bars and curves, with the key frames ruled through."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.motion import Motion
from gaitgen.pictures.key_figures import Course, KeyFigure
from gaitgen.pictures.marks import spread
from gaitgen.pictures.page import GREY, NAME_PT, SMALL_PT, TEXT_PT, Page
from gaitgen.pictures.pose_cell import frame_words

Array = npt.NDArray[np.float64]

LABELS_MM = 22.0
RULE_HEAD_MM, TICKS_MM = 6.5, 3.5
BAR_ROW_MM, BAR_MM = 5.0, 3.7
BAR_TONES = {"L": "0.45", "R": "0"}
LEAST_CURVE_MM = 5.5
MOST_TICKS = 130
# A turn is named on the middle line of its curve if the curve is this far from it there.
WORD_ROOM_MM = 1.7
PAD = {"facecolor": "1", "edgecolor": "none", "pad": 0.5}


@dataclass(frozen=True)
class Span:
    """Where the frames of one stride lie across a page.

    Attributes
    ----------
    left, right
        Place of frame 1 and of the last frame. [mm]
    frames
        Length of the stride. [frames]
    """

    left: float
    right: float
    frames: int

    def x(self, frame: float) -> float:
        """Place of a frame, from 1. [mm]"""
        return self.left + (frame - 1.0) / self.frames * (self.right - self.left)


def stride_span(page: Page, clip: Motion, margin: float) -> Span:
    """Lay one stride across a page, with room for labels on the left."""
    return Span(margin + LABELS_MM, page.width_mm - margin - 3.0, clip.facts.frames)


def keys_within(keys: Sequence[KeyFigure], clip: Motion) -> list[tuple[float, bool]]:
    """Return frame, from 1, and whether a foot lands on it, of the key poses inside one stride."""
    last = clip.facts.frames + 1.0 + 1e-6
    return [(key.frame, any(key.lands)) for key in keys if key.frame <= last]


def draw_rules(page: Page, span: Span, keys: Sequence[tuple[float, bool]], bottom: float, top: float) -> None:
    """Rule key frames down the page and number them at the top; contacts are bold.

    Parameters
    ----------
    page, span
        Where to draw.
    keys
        Frame, from 1, and whether a foot lands on it.
    bottom, top
        Ends of the rules. [mm]
    """
    words = [frame_words(frame) for frame, _ in keys]
    places = np.array([span.x(frame) for frame, _ in keys])
    room = max(4.5, 1.9 * max(len(word) for word in words) + 1.0)
    written = spread(places, room, span.left, page.width_mm - 3.0)
    for word, x, at, (_, lands) in zip(words, places, written, keys, strict=True):
        page.line([x, x], [bottom, top], linewidth=0.7 if lands else 0.5, zorder=0.5, color="0.25")
        page.line([x, at], [top, top + 1.2], linewidth=0.5, color="0.25")
        page.text(float(at), top + 1.8, word, NAME_PT, ha="center", fontweight="bold" if lands else "normal")


def draw_bars(page: Page, span: Span, clip: Motion, keys: Array, top: float) -> float:
    """Draw when each foot is down, a row each in order of contact; return the lower edge. [mm]

    Key frames, (poses,) from 1, are ruled through the bars in white.
    """
    steps, rate = clip.steps, clip.frame_rate_hz
    first = steps.touchdown_s < span.frames / rate - 1e-9
    order = [k for k in np.argsort(steps.touchdown_s, kind="stable") if first[k]]
    rows: list[int] = list(dict.fromkeys(int(steps.limb[k]) for k in order))
    for k in order:
        limb = int(steps.limb[k])
        middle = top - (rows.index(limb) + 0.5) * BAR_ROW_MM
        contact = float(steps.touchdown_s[k]) * rate + 1.0
        liftoff = float(steps.liftoff_s[k]) * rate + 1.0
        _bar(page, span, contact, liftoff, middle, tone=BAR_TONES[LIMBS[limb][0]], keys=keys)
    for row, limb in enumerate(rows):
        middle = top - (row + 0.5) * BAR_ROW_MM
        page.text(
            span.left - 3.0, middle, LIMBS[limb], NAME_PT, ha="right", va="center_baseline", fontweight="bold"
        )
        page.line([span.left, span.right], [middle, middle], linewidth=0.4, color="0.6", zorder=0.4)
    return top - len(rows) * BAR_ROW_MM


def _bar(
    page: Page, span: Span, contact: float, liftoff: float, middle: float, *, tone: str, keys: Array
) -> None:
    """Draw one stance, turned back to the start where it goes over the last frame, with its two frames."""
    last = span.frames + 1.0
    pieces = [(span.x(contact), span.x(min(liftoff, last)))]
    if liftoff > last:
        pieces.append((span.left, span.x(liftoff - span.frames)))
        liftoff -= span.frames
    for left, right in pieces:
        page.box(left, middle - BAR_MM / 2.0, right - left, BAR_MM, facecolor=tone, zorder=1.0)
        ends = [middle - BAR_MM / 2.0, middle + BAR_MM / 2.0]
        for x in (span.x(float(frame)) for frame in keys):
            if left + 0.2 < x < right - 0.2:
                page.line([x, x], ends, linewidth=0.6, color="1", zorder=1.2)
    whole = len(pieces) == 1
    for word, piece, at_start in (
        (frame_words(contact), pieces[0], True),
        (frame_words(liftoff), pieces[-1], False),
    ):
        need = (1.5 * len(word) + 1.6) * (2.0 if whole else 1.0)
        _bar_number(
            page, piece, word, middle, tone=tone if piece[1] - piece[0] > need else "", at_start=at_start
        )


def _bar_number(
    page: Page, piece: tuple[float, float], word: str, middle: float, *, tone: str, at_start: bool
) -> None:
    """Write a frame in white inside the end of a bar, or in black beside it where ``tone`` is empty."""
    into = 0.9 if tone else -0.7
    page.text(
        piece[0] + into if at_start else piece[1] - into,
        middle,
        word,
        SMALL_PT,
        ha="left" if at_start == bool(tone) else "right",
        va="center_baseline",
        fontweight="bold",
        color="1" if tone else "0",
        bbox={**PAD, "facecolor": tone or "1"},
        zorder=1.5,
    )


def draw_curves(
    page: Page, span: Span, curves: Mapping[str, Course], keys: Array, bottom: float, top: float
) -> None:
    """Draw heights over the stride, one above the other at one scale, with dots on the key frames.

    Parameters
    ----------
    page, span
        Where to draw.
    curves
        Part of the body to its course.
    keys
        (poses,) key frames, from 1.
    bottom, top
        Room on the page. [mm]
    """
    gap = 3.0
    room = top - bottom - gap * (len(curves) - 1)
    rises = np.array([max(course.span_m, 1e-4) for course in curves.values()])
    heights = _shares(rises, room, LEAST_CURVE_MM)
    scale = float((heights / rises).min())
    edge = top
    for (part, course), height in zip(curves.items(), heights, strict=True):
        middle = edge - height / 2.0
        centre = (course.height_m.max() + course.height_m.min()) / 2.0
        ys = middle + scale * (course.height_m - centre)
        xs = [span.x(frame) for frame in course.frames]
        page.line([span.left, span.right], [middle, middle], linewidth=0.4, color="0.7", zorder=0.4)
        page.line(xs, ys.tolist(), linewidth=1.3, zorder=2.0)
        dots = middle + scale * (course.at(keys) - centre)
        page.line(
            [span.x(frame) for frame in keys],
            dots.tolist(),
            linestyle="none",
            marker="o",
            markersize=3.6,
            markerfacecolor="1",
            zorder=3.0,
        )
        _curve_words(page, span, part, course, middle, scale)
        edge -= height + gap


def _shares(rises: Array, room: float, least: float) -> Array:
    """Share room in proportion to the rises, none getting less than some."""
    low = rises / rises.sum() * room < least
    if np.all(low) or not np.any(low):
        return np.asarray(
            rises / rises.sum() * room if not np.any(low) else np.full(rises.size, room / rises.size)
        )
    rest = room - least * low.sum()
    return np.where(low, least, rises / rises[~low].sum() * rest)


def _curve_words(page: Page, span: Span, part: str, course: Course, middle: float, scale: float) -> None:
    page.text(span.left - 3.0, middle + 0.3, part, NAME_PT, ha="right", fontweight="bold")
    rise = f"{1000.0 * course.rise_m:.0f} mm"
    page.text(span.left - 3.0, middle - 2.6, rise, SMALL_PT, ha="right", color=GREY)
    centre = (course.height_m.max() + course.height_m.min()) / 2.0
    for turn in course.turns:
        room = scale * abs(float(course.at(turn.frame)) - centre)
        if room < WORD_ROOM_MM or span.x(turn.frame) > span.right - 3.0:
            continue
        page.text(
            max(span.x(turn.frame), span.left + 2.0),
            middle,
            f"{turn.word} {course.frame_of(turn)}",
            SMALL_PT,
            ha="center" if turn.frame > 1.5 else "left",
            va="center_baseline",
            color="0.2",
            bbox=PAD,
            zorder=1.0,
        )


def draw_frame_ticks(page: Page, span: Span, y: float) -> None:
    """Draw a tick for every frame along a line; of a stride of many frames, for every fifth, tenth, ..."""
    step = next(step for step in (1, 5, 10, 50, 100, 500) if span.frames <= MOST_TICKS * step)
    page.line([span.left, span.right], [y, y], linewidth=0.6)
    for frame in (1, *range(step if step > 1 else 2, span.frames + 2, step)):
        x = span.x(frame)
        page.line([x, x], [y, y - (1.4 if frame % (5 * step) == 0 or frame == 1 else 0.8)], linewidth=0.4)
    page.text(span.left - 3.0, y - 1.2, "frame", TEXT_PT, ha="right", color=GREY)
