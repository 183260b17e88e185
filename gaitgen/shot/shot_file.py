"""Shot files: TOML, read with messages that name the file, the line, what is wrong and what to write."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from gaitgen.animal.library import animal_names
from gaitgen.animal.toml_table import Table, nearest, parse, read_bytes
from gaitgen.course.ground import FLAT, Heights
from gaitgen.errors import AnimalError, GaitgenError, RequestError
from gaitgen.gait.gait import load_gait
from gaitgen.gait.presets import mixed, parse_names
from gaitgen.gait.request import LEADS, Request
from gaitgen.gait.style import Style
from gaitgen.option import options_of
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.changed_file import Changes, changed
from gaitgen.shot.file_lines import CHANGE, change_line, ground_line, jump_line, line_of, mark_line, way_key
from gaitgen.shot.ground_file import read_ground
from gaitgen.shot.jump import Obstacle, Where
from gaitgen.shot.named_in_file import Folder, beside, gait_ahead, named
from gaitgen.shot.on_the_spot import PIVOTS
from gaitgen.shot.speeding import FEWEST, MOST, Within
from gaitgen.shot.way_file import path_of, read_mark, read_path

T = TypeVar("T")

STATES = ("stand", "going")
CLIP = b"HIERARCHY"  # how a BVH begins
LONGEST_M = 10_000.0
MOST_TURN_DEG, LEAST_TURN_DEG = 720.0, 2.0  # on the spot
MOST_JUMP_M = 5.0
MOST_MARKS = 500


def read_shot(path: Path) -> ShotRequest:
    """Read a shot file.

    Raises
    ------
    RequestError
        If it cannot be read or a value of it is not usable, with the line.
    """
    return shot_in(shot_bytes(path), path, Folder(path.parent))


def shot_bytes(path: Path) -> bytes:
    """Read the bytes of a shot file.

    Raises
    ------
    RequestError
        If it cannot be read.
    """
    return _told(lambda: read_bytes(path, "shot file"), "", str(path))


def shot_in(data: bytes, path: Path, folder: Folder, changes: Changes = ()) -> ShotRequest:
    """Read what a shot file holds.

    Parameters
    ----------
    data, path
        Its contents, and where they are from, for messages.
    folder
        Where the files are that it names.
    changes
        Values that take the place of its own.

    Raises
    ------
    RequestError
        If a value of it is not usable, with the line.
    """
    if data.lstrip().startswith(CLIP):
        raise RequestError(
            f"{path} is a clip (BVH), and a shot is made from its shot file; name the TOML file it came from"
        )
    text = data.decode("utf-8-sig", "replace")

    def read() -> ShotRequest:
        request = _shot(changed(parse(data, str(path)), changes), folder)
        marks = (
            replace(m, where=f"{path}: line {mark_line(text, m, n)}") for n, m in enumerate(request.marks, 1)
        )
        jumps = (
            replace(each, where=Where(*(jump_line(path, text, n, key) for key in Where._fields)))
            for n, each in enumerate(request.jumps, 1)
        )
        passages = tuple(
            each
            if each.within is None
            else replace(each, within=each.within._replace(where=change_line(path, text, n)))
            for n, each in enumerate(request.passages, 1)
        )
        ground = request.ground
        if isinstance(ground, Heights):
            ground = replace(ground, where=ground_line(path, text))
        return replace(
            request,
            passages=passages,
            marks=tuple(marks),
            jumps=tuple(jumps),
            ground=ground,
            way_key=way_key(path, text),
        )

    return _told(read, text, str(path))


def _told(read: Callable[[], T], text: str, where: str) -> T:
    """Turn complaints about tables into ones about a shot file, with the line."""
    try:
        return read()
    except AnimalError as error:
        words = str(error).replace("skeleton file", "shot file")
        if words.startswith(f"{where}: "):
            words = words.removeprefix(f"{where}: ")
            line = line_of(text, words)
            where = f"{where}: line {line}" if line else where
            words = f"{where}: {words}"
        raise RequestError(words) from None


def _shot(top: Table, folder: Folder) -> ShotRequest:
    if top.has("format"):
        top.whole("format", 1, 1)
    base = Request(
        animal=named(top, "animal", animal_names(), folder) if top.has("animal") else "riding_horse",
        frame_rate_hz=top.number("fps", 1.0, 1000.0) if top.has("fps") else 24.0,
    )
    base = _styled(top, base)
    found = top.array("passage")
    if not found:
        alike = difflib.get_close_matches("passage", top.content, n=1)
        if alike:
            raise top.fail(f"has an unknown key {alike[0]!r}; write [[passage]], one table a passage")
        raise top.fail('has no passage; add a table [[passage]] with gait = "walk" and strides = 3')
    passages = tuple(_passage(table, base, folder) for table in found)
    starts, ends = (_state(top, key) for key in ("start", "end"))
    if passages[0].within is not None and not (starts and passages[0].cycle):
        raise found[0].fail(f"has {CHANGE}, and nothing is before it that changes; take it out")

    def near(table: Table, key: str, name: str) -> Path:
        return beside(table, key, name, folder)

    given = top.array("mark")
    if len(given) > MOST_MARKS:
        raise top.fail(f"mark is there {len(given)} times; give at most {MOST_MARKS} marks")
    marks = tuple(read_mark(table) for table in given)
    jumps = tuple(_jump(table) for table in top.array("jump"))
    turns = any(each.turn_rad != 0.0 for each in passages)
    if turns and top.has("path") and not top.table("path").has("legs"):
        raise top.table("path").fail(
            "leads through points, and from a turn on the spot on the path turns with the animal; give it as "
            "legs = [{ straight = 8 }, { turn = 90, radius = 6 }]"
        )
    led = () if turns else marks  # from a turn on the spot on the path turns with the animal
    pieces, start_m, heading = read_path(top.table("path"), near) if top.has("path") else path_of(led)
    ground = FLAT
    if top.has("ground"):
        ground = read_ground(top.table("ground"), near)
    top.no_more()
    return ShotRequest(passages, starts, ends, tuple(pieces), start_m, heading, ground, marks, jumps)


def _choice(table: Table, key: str, choices: tuple[str, ...]) -> str:
    word = table.text(key)
    if word not in choices:
        raise table.fail(f"{key} is {word!r}; write one of {', '.join(choices)}")
    return word


def _state(top: Table, key: str) -> bool:
    """Tell whether the shot begins, or ends, standing."""
    return not top.has(key) or _choice(top, key, STATES) == STATES[0]


def _styled(table: Table, base: Request) -> Request:
    """Read style factors and ready-made styles over those of the whole shot."""
    given: dict[str, Any] = {
        found.field: table.number(found.name, *(found.option.limits or (0.0, 3.0)))
        for found in options_of(Style)
        if table.has(found.name)
    }
    factors = base.style.times(Style(**given))
    if not table.has("style"):
        return replace(base, style=factors)
    words = table.text("style")
    try:
        mixed(parse_names(words), factors)
    except GaitgenError as error:
        raise table.fail(f"style is {words!r}: {error}") from None
    named = ", ".join(each for each in (base.named_style, words) if each)
    return replace(base, style=factors, named_style=named)  # what it is of a leg, the gait says


KINDS = ("gait", "speed", "froude", "halt", "turn")  # one of these says what a passage is
LATER = ("strides", "frames", "distance", CHANGE)  # keys of a passage that are read last


def _passage(table: Table, base: Request, folder: Folder) -> Passage:
    if table.has("halt"):
        halt, within = table.whole("halt", 0, 12_000), _within(table)
        table.no_more()
        return Passage(halt_frames=halt, within=within)
    if table.has("turn"):
        return _turn(table, base)
    if not any(table.has(key) for key in ("gait", "speed", "froude")):
        known = {*KINDS, *LATER, *(found.name for found in options_of(Style))}
        for key in table.content:
            if key not in known and (hint := nearest(key, KINDS)):
                raise table.fail(f"has an unknown key {key!r}{hint}")
        raise table.fail(
            'has no gait; add gait = "walk", or speed = <m/s>, or make it a halt = <frames>, or a turn on '
            "the spot, turn = <degrees to the left>"
        )
    gait = gait_ahead(table, folder) if table.has("gait") else None
    lead = _choice(table, "lead", LEADS) if table.has("lead") else None
    if lead is not None and gait is not None and not load_gait(gait).has_lead:
        raise table.fail(f"lead is {lead!r}, and a {gait} has none; take it out")
    try:
        cycle = replace(
            _styled(table, base),
            gait=gait,
            speed_m_s=table.number("speed", 0.01, 40.0) if table.has("speed") else None,
            froude=table.number("froude", 0.0001, 100.0) if table.has("froude") else None,
            frames=table.whole("stride_frames", 4, 2000) if table.has("stride_frames") else None,
            lead=lead,
        )
    except RequestError as error:
        raise table.fail(f"is not usable: {error}") from None
    lengths = [key for key in ("strides", "frames", "distance") if table.has(key)]
    if not lengths:
        table.no_more(LATER)
    if len(lengths) != 1:
        what = f"has {' and '.join(lengths)}" if lengths else "does not say how long it is"
        raise table.fail(f"{what}; give one of strides = 4, frames = 96 or distance = 6.0 (in metres)")
    passage = Passage(
        cycle=cycle,
        strides=table.whole("strides", 0, 500) if table.has("strides") else None,
        frames=table.whole("frames", 1, 12_000) if table.has("frames") else None,
        distance_m=table.number("distance", 0.01, LONGEST_M) if table.has("distance") else None,
        within=_within(table),
    )
    table.no_more()
    return passage


def _within(table: Table) -> Within | None:
    """Read how many strides it takes to come into a passage."""
    return Within(table.number(CHANGE, FEWEST, MOST), key=f"{CHANGE} = ") if table.has(CHANGE) else None


def _turn(table: Table, base: Request) -> Passage:
    """Read a turn on the spot."""
    degrees = table.number("turn", -MOST_TURN_DEG, MOST_TURN_DEG)
    if abs(degrees) < LEAST_TURN_DEG:
        raise table.fail(
            f"turn is {degrees:g}; give at least {LEAST_TURN_DEG:g} degrees, to the left, or minus as many "
            "to the right"
        )
    on = _choice(table, "on", PIVOTS) if table.has("on") else PIVOTS[0]
    try:
        cycle = replace(
            _styled(table, base),
            gait="walk",
            frames=table.whole("stride_frames", 4, 2000) if table.has("stride_frames") else None,
        )
    except RequestError as error:
        raise table.fail(f"is not usable: {error}") from None
    strides = table.whole("strides", 1, 500) if table.has("strides") else None
    table.no_more()
    return Passage(
        cycle=cycle,
        strides=strides,
        turn_rad=math.radians(degrees),
        on="forehand" if on == "forehand" else "haunches",
    )


def _jump(table: Table) -> Obstacle:
    """Read what is jumped."""
    for key in ("at", "height"):
        if not table.has(key):
            raise table.fail(f"has no {key}; add at = 14.0, along the path, and height = 0.5, in metres")
    at, height = table.number("at", 0.0, LONGEST_M), table.number("height", 0.01, MOST_JUMP_M)
    spread = table.number("spread", 0.0, MOST_JUMP_M) if table.has("spread") else 0.0
    table.no_more()
    return Obstacle(at, height, spread)
