"""The way of a shot over the ground: straight pieces and turns, whose bends come and go softly."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.course.ground import Heights
from gaitgen.course.path import Path
from gaitgen.errors import CourseError

Array = npt.NDArray[np.float64]
Piece = tuple[float, float]  # length [m], curvature [1/m]

# A bend comes and goes over this length of the way, in withers heights: about the length of a trunk.
EASE_BODIES = 0.9
EASE_STEPS = 10  # pieces of constant bend that a change of bend is made of
# Corners of a slope are rounded over this length. [m]
ROUND_M = 0.8
PROFILE_STEP_M = 0.05
CURVE_STEP_M, CURVE_FINE_M = 0.2, 0.01  # of a way along a curve: pieces, and looking at the curve
NEAR_STEP_M = 0.1  # of looking for the place of a path that is nearest to a point


def eased(pieces: list[Piece], withers_height_m: float) -> tuple[Piece, ...]:
    """Let the bend of a way change over a length, not at a point; its turns stay.

    A way that begins in a turn begins half that length earlier, straight ahead.

    Parameters
    ----------
    pieces
        Length and bend of each piece in order; the way goes straight on after the last. [m], [1/m]
    withers_height_m
        Of the animal. [m]
    """
    whole = [*pieces, (math.inf, 0.0)]
    bends = [bend for _, bend in whole]
    eases = [0.0]
    for (before, a), (after, b) in pairwise(whole):
        eases.append(0.0 if a == b else min(EASE_BODIES * withers_height_m, before, after))
    eases.append(0.0)
    made: list[Piece] = []
    first_bend = bends[0]
    if first_bend != 0.0:  # the way comes from straight ahead
        eases[0] = min(EASE_BODIES * withers_height_m, whole[0][0])
        made += _steps(0.0, first_bend, eases[0])
    for k, (length, bend) in enumerate(whole):
        rest = length - eases[k] / 2.0 - eases[k + 1] / 2.0
        if rest > 0.0:
            made.append((rest, bend))
        if k + 1 < len(whole) and eases[k + 1] > 0.0:
            made += _steps(bend, bends[k + 1], eases[k + 1])
    return tuple(made)


def _steps(before: float, after: float, length_m: float) -> list[Piece]:
    """Go from one bend to another over a length, in steps."""
    shares = (np.arange(EASE_STEPS) + 0.5) / EASE_STEPS
    return [(length_m / EASE_STEPS, float(before + share * (after - before))) for share in shares]


def along_curve(points_m: Array) -> tuple[list[Piece], float]:
    """Lead a way along points of a curve, close to them and softly.

    Points nearer than CURVE_STEP_M to the one before are left out; the curve through the others is cut into
    pieces of that length, each as bent as the curve turns on it.

    Parameters
    ----------
    points_m
        (points, 2) in order. [m]

    Returns
    -------
    pieces
        Lengths and bends.
    heading_rad
        Where it sets off to, to the left of x. [rad]

    Raises
    ------
    CourseError
        If all points are one.
    """
    from scipy.interpolate import CubicSpline

    from gaitgen.numerics.curves import local_mean

    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points_m, axis=0), axis=1))])
    if gone[-1] < CURVE_STEP_M:
        raise CourseError("the points of the path are all in one place; give some that lead somewhere")
    marks = np.floor(gone / CURVE_STEP_M + 1e-9)
    kept = np.concatenate([[True], np.diff(marks) > 0.0])
    kept[-1] = True
    if gone[-1] - gone[kept][-2] < CURVE_STEP_M / 2.0 and kept.sum() > 2:
        kept[np.flatnonzero(kept)[-2]] = False
    at, points = gone[kept], points_m[kept]
    if at.size == 2:
        line = points[1] - points[0]
        return [(float(at[1]), 0.0)], float(np.arctan2(line[1], line[0]))
    spline = CubicSpline(at, points)
    fine = np.linspace(0.0, at[-1], max(2, math.ceil(at[-1] / CURVE_FINE_M)))
    way = spline(fine, 1)
    speed = np.linalg.norm(way, axis=1)
    length = np.concatenate([[0.0], np.cumsum((speed[1:] + speed[:-1]) / 2.0 * np.diff(fine))])
    heading = np.unwrap(np.arctan2(way[:, 1], way[:, 0]))
    cuts = np.linspace(0.0, length[-1], max(2, round(length[-1] / CURVE_STEP_M)) + 1)
    smooth = local_mean(heading, max(1, round(CURVE_STEP_M / CURVE_FINE_M)))
    turned = np.diff(np.interp(cuts, length, smooth))
    lengths = np.diff(cuts)
    pieces = [(float(piece), float(turn / piece)) for piece, turn in zip(lengths, turned, strict=True)]
    return pieces, float(smooth[0])


def nearest_m(path: Path, place_m: tuple[float, float], from_m: float = 0.0) -> float:
    """Find the distance along a path, from one on, at which it is nearest to a place. [m]"""
    place = np.array(place_m)
    far = sum(length for length, _ in path.pieces if math.isfinite(length))
    far = max(far, from_m) + float(np.hypot(*(place - path.at(np.array(from_m))[0]))) + NEAR_STEP_M
    along = np.linspace(from_m, far, max(2, math.ceil((far - from_m) / NEAR_STEP_M)))
    away = np.linalg.norm(path.at(along)[0] - place, axis=1)
    best = float(along[int(np.argmin(away))])
    for _ in range(8):  # along the tangent
        here, heading, _ = path.at(np.array(best))
        best += float((place - here) @ np.array([np.cos(heading), np.sin(heading)]))
        best = max(best, from_m)
    return best


def through(points_m: list[tuple[float, float]], radius_m: float) -> tuple[list[Piece], float]:
    """Lead a way along lines from point to point, with a turn at every corner.

    Parameters
    ----------
    points_m
        (x, y) of at least two points. [m]
    radius_m
        Radius of the turns, smaller where the lines are too short for it. [m]

    Returns
    -------
    pieces
        Lengths and bends.
    heading_rad
        Where the first line goes, to the left of x. [rad]

    Raises
    ------
    CourseError
        If two points are one, or a corner turns right back.
    """
    points = np.array(points_m, dtype=np.float64)
    lines = np.diff(points, axis=0)
    lengths = np.hypot(lines[:, 0], lines[:, 1])
    if lengths.size == 0 or lengths.min() < 1e-6:
        k = int(np.argmin(lengths)) + 1 if lengths.size else 1
        raise CourseError(f"points {k} and {k + 1} of the path are the same; take one of them out")
    headings = np.arctan2(lines[:, 1], lines[:, 0])
    turns = (np.diff(headings) + np.pi) % (2.0 * np.pi) - np.pi
    if np.abs(turns).max(initial=0.0) > np.radians(170.0):
        k = int(np.argmax(np.abs(turns)))
        raise CourseError(f"the path turns right back at point {k + 2}; lead it around by another point")
    half = np.tan(np.abs(turns) / 2.0)
    cut = np.zeros(turns.size)
    for k in range(turns.size):
        shares = (1.0 if k == 0 else 0.5, 1.0 if k + 1 == turns.size else 0.5)  # turns share a line
        room = min(shares[0] * lengths[k], shares[1] * lengths[k + 1])
        cut[k] = min(radius_m * half[k], room)
    pieces: list[Piece] = []
    for k, length in enumerate(lengths):
        before = cut[k - 1] if k else 0.0
        after = cut[k] if k < cut.size else 0.0
        if length - before - after > 1e-9:
            pieces.append((float(length - before - after), 0.0))
        if k < cut.size and half[k] > 1e-9:
            radius = cut[k] / half[k]
            pieces.append((float(radius * abs(turns[k])), float(np.sign(turns[k]) / radius)))
    return pieces, float(headings[0])


def profile(points_m: list[tuple[float, float]], heading_rad: float) -> Heights:
    """Make ground that rises and falls along one direction and is level across it, with rounded corners.

    Parameters
    ----------
    points_m
        (distance, height) along the direction, from the origin; level before the first and after the last.
        [m]
    heading_rad
        The direction, to the left of x. [rad]

    Raises
    ------
    CourseError
        If the distances do not rise.
    """
    from scipy.interpolate import CubicSpline

    from gaitgen.numerics.curves import local_mean

    at, heights = np.array(points_m, dtype=np.float64).reshape(-1, 2).T
    if at.size < 2:
        raise CourseError("the profile has fewer than two points; give [distance, height] of at least two")
    if np.diff(at).min() <= 0.0:
        k = int(np.argmax(np.diff(at) <= 0.0)) + 2
        raise CourseError(
            f"the distances of the profile do not rise at point {k}, {at[k - 1]:g} m; give each one after "
            "the last"
        )
    along = np.arange(at[0] - 2.0 * ROUND_M, at[-1] + 2.0 * ROUND_M + PROFILE_STEP_M, PROFILE_STEP_M)
    width = round(ROUND_M / 2.0 / PROFILE_STEP_M)
    rounded = local_mean(np.interp(along, at, heights), width)
    spline = CubicSpline(along, rounded, bc_type="clamped")
    ahead = np.array([np.cos(heading_rad), np.sin(heading_rad)])

    def height_m(place_m: Array) -> Array:
        return np.asarray(spline(np.clip(place_m @ ahead, along[0], along[-1])))

    return Heights(heights_m=height_m)
