"""What a way into a gait or to a halt takes beside the strides that are asked for it: it is said."""

from __future__ import annotations

from gaitgen.errors import Notice
from gaitgen.shot.items import Item
from gaitgen.shot.piece import Piece
from gaitgen.shot.rhythm import STEADY_STRIDES, Change
from gaitgen.shot.section import Section
from gaitgen.shot.speeding import Within

CHANGE = "change"  # topic of the notice
BESIDE = {
    "start": f"the shift of weight before them and {STEADY_STRIDES:g} of the cycle after them",
    "change": f"{STEADY_STRIDES:g} of the cycle on either side",
    "halt": f"{STEADY_STRIDES:g} of the cycle before them, the last step and the settling",
}


def asked_strides_notices(items: tuple[Item, ...]) -> tuple[Notice, ...]:
    """Say of each way for which strides are asked in which frames these are, and what is beside them.

    Nothing is beside a change of style alone, and nothing is said of it.
    """
    found: list[Notice] = []
    at = 1  # frames are told from 1
    for item in items:
        if isinstance(item, Section) and item.within:
            ways = [piece for piece in item.pieces if piece.kind != "steady"]
            asked = item.within[0 if item.starts else 1 :]
            for piece, each in zip(ways, asked, strict=False):
                if each is not None and piece.kind in BESIDE:
                    found.append(_notice(item, piece, each, at))
        at += item.frames
    return tuple(found)


def _notice(section: Section, piece: Piece, asked: Within, at: int) -> Notice:
    before, after = (section.cycles[number][0] for number in piece.cycles)
    stride = (before.frames + after.frames) / 2.0
    first, last = _span(section, piece)
    names = [before.gait.name.replace("_", " "), after.gait.name.replace("_", " ")]
    names[0] = "halt" if piece.kind == "start" else names[0]
    names[1] = "halt" if piece.kind == "halt" else names[1]
    text = (
        f"{names[0]} to {names[1]}: the strides in which the speed changes, {(last - first) / stride:.2g} "
        f"(asked for {asked.strides:g}), are frames {at + first:.0f} to {at + last:.0f}; with "
        f"{BESIDE[piece.kind]} it takes frames {at + piece.first} to {at + piece.after}."
    )
    return Notice(CHANGE, text)


def _span(section: Section, piece: Piece) -> tuple[float, float]:
    """First and last moment of the change of speed. [frames]"""
    if piece.kind == "start":  # of a piece that begins at 0
        return section.moves_frame, section.moves_frame + section.speeding_frames
    if piece.kind == "halt":
        return section.slows_frame, section.rests_frame
    made = section.changes[piece.cycles[0]]
    assert isinstance(made, Change)  # noqa: S101, a jump is a piece of its own kind
    return piece.first + made.tempo[0], piece.first + made.tempo[1]
