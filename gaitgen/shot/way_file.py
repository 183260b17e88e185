"""The path and the marks of a shot file."""

from __future__ import annotations

import math
from pathlib import Path

from gaitgen.animal.limb import LIMBS
from gaitgen.animal.toml_table import Table
from gaitgen.errors import AnimalError, CourseError, FileFormatError, GaitgenError
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.request import MOST_FRAMES
from gaitgen.shot.asked import Mark
from gaitgen.shot.curve_file import read_curve
from gaitgen.shot.ground_file import FAR_M, Beside, pair
from gaitgen.shot.way import Piece, along_curve, through

Way = tuple[list[Piece], tuple[float, float], float]
"""Pieces, where they start [m], and facing where [rad]."""

# Of bends of legs whose radius is not given, and of a path through points (estimate).
TURN_RADIUS_M = 6.0


def read_path(table: Table, beside: Beside) -> Way:
    """Read a path: legs of straight pieces and turns, points, or a file of points."""
    given = [key for key in ("points", "legs", "file") if table.has(key)]
    if len(given) == 1 and table.has("file"):
        path = beside(table, "file", table.text("file"))
        table.no_more()
        try:
            return curve_way(path)
        except GaitgenError as error:
            raise table.fail(f"file: {error}") from None
    start = table.vector("start", 2, -FAR_M, FAR_M) if table.has("start") else (0.0, 0.0)
    if len(given) != 1:
        raise table.fail(
            "needs either points = [[0, 0], [10, 0], [14, 6]] or legs = "
            '[{ straight = 8 }, { turn = 90, radius = 6 }], in metres and degrees, or file = "curve.csv"'
        )
    if table.has("points"):
        radius = table.number("radius", 0.1, FAR_M) if table.has("radius") else TURN_RADIUS_M
        rows = table.rows("points")
        points = [pair(table, row, "points") for row in rows]
        if len(points) < 2:
            raise table.fail("points has fewer than two points; give at least two")
        table.no_more()
        try:
            pieces, heading = through(points, radius)
        except GaitgenError as error:
            raise table.fail(f"points: {error}") from None
        return pieces, points[0], heading
    heading = math.radians(table.number("heading", -360.0, 360.0)) if table.has("heading") else 0.0
    value = table.take("legs")
    if not isinstance(value, list) or not all(isinstance(leg, dict) for leg in value):
        raise table.fail(
            "legs is no list of legs; write legs = [{ straight = 8 }, { turn = 90, radius = 6 }]"
        )
    pieces = [_leg(table, leg, number) for number, leg in enumerate(value, 1)]
    table.no_more()
    return pieces, (start[0], start[1]), heading


def curve_way(path: Path, space: FileSpace | None = None) -> Way:
    """Read a way from a table of points, which is in some unit and axes if a shot wrote it.

    Raises
    ------
    GaitgenError
        If there are no points that a way leads through.
    """
    points = read_curve(path, space)
    try:
        pieces, heading = along_curve(points)
    except CourseError as error:
        raise FileFormatError(f"{path}, line 2 and all after it: {error}") from None
    return pieces, (float(points[0, 0]), float(points[0, 1])), heading


def _leg(table: Table, content: dict[str, object], number: int) -> Piece:
    leg = Table(table.where, f"{table.name}", content)
    if "straight" in content:
        length = leg.checked(content["straight"], f"legs, number {number}: straight", 0.01, FAR_M)
        leg.take("straight")
        leg.no_more()
        return length, 0.0
    if set(content) != {"turn", "radius"}:
        raise table.fail(
            f"legs, number {number}, is {content}; write {{ straight = <metres> }} or "
            "{ turn = <degrees to the left>, radius = <metres> }"
        )
    turn = leg.checked(content["turn"], f"legs, number {number}: turn", -3600.0, 3600.0)
    radius = leg.checked(content["radius"], f"legs, number {number}: radius", 0.1, FAR_M)
    if turn == 0.0:
        raise table.fail(f"legs, number {number}: turn is 0; write {{ straight = <metres> }}")
    return abs(math.radians(turn)) * radius, math.copysign(1.0 / radius, turn)


def read_mark(table: Table) -> Mark:
    """Read a mark: a place, and what has to be there when."""
    if not table.has("at"):
        raise table.fail("has no at; add at = [x, y], in metres")
    x, y = table.vector("at", 2, -FAR_M, FAR_M)
    frame = table.whole("frame", 1, MOST_FRAMES) if table.has("frame") else None
    foot = LIMBS.index(_foot(table)) if table.has("foot") else None
    halts = table.flag("halt")
    table.no_more()
    if halts and foot is not None:
        raise table.fail("has a foot and a halt; write two marks, or take one of them out")
    if frame is None and not halts:
        raise table.fail("does not say when; add frame = 48, or halt = true to halt there")
    return Mark((x, y), frame, foot, halts)


def _foot(table: Table) -> str:
    word = table.text("foot")
    if word not in LIMBS:
        raise table.fail(f"foot is {word!r}; write one of {', '.join(LIMBS)}")
    return word


def path_of(marks: tuple[Mark, ...]) -> Way:
    """Lead the way through the marks of the body, where no other path is given."""
    points = [(0.0, 0.0), *dict.fromkeys(mark.place_m for mark in marks if mark.foot is None)]
    points = [points[0], *(point for point in points[1:] if point != points[0])]
    if len(points) < 2:
        return [], (0.0, 0.0), 0.0
    try:
        pieces, heading = through(points, TURN_RADIUS_M)
    except GaitgenError as error:
        raise AnimalError(f"[mark, number 1] needs a path that leads to the marks: {error}") from None
    return pieces, points[0], heading
