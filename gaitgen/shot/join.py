"""Joins: from one cycle into another, or from and to a halt, so that files laid end to end are one motion."""

from __future__ import annotations

from dataclasses import replace

from gaitgen.animal.toml_table import nearest
from gaitgen.errors import RequestError
from gaitgen.gait.gait import gait_names, load_gait
from gaitgen.gait.request import STAND, Request
from gaitgen.shot.asked import HALT
from gaitgen.shot.asked_strides import asked_strides_notices
from gaitgen.shot.cycle import cycle_of
from gaitgen.shot.make import Made
from gaitgen.shot.section import Section
from gaitgen.shot.speeding import Within
from gaitgen.shot.suiting import make_alone, suited


def make_join(
    before: str, after: str, request: Request, lead_after: str | None = None, strides: float | None = None
) -> Made:
    """Make the strides between two cycles.

    The first pose is the first of the cycle before, the last pose the first of the cycle after; a halt is the
    standing animal.

    Parameters
    ----------
    before, after
        Names of gaits, or ``halt``.
    request
        What else is asked of both cycles, such as animal, frame rate and style.
    lead_after
        The side that leads after it, where it is another one.
    strides
        How many strides the change takes, with some of either cycle beside it; None for as many as it takes.

    Raises
    ------
    GaitgenError
        If there is nothing to join, feet do not hold so few strides, or a gait or the animal is not usable.
    """
    if before == after == HALT:
        raise RequestError("a halt and a halt have nothing between them; name a gait, such as walk")
    for name in (before, after):
        _refuse_what_is_no_gait(name)
    rate = request.frame_rate_hz
    leads = (request.lead, lead_after or request.lead)
    asked = [
        replace(request, gait=name, lead=lead if load_gait(name).has_lead else None)
        for name, lead in zip((before, after), leads, strict=True)
        if name != HALT
    ]
    if (request.lead or lead_after) and not any(each.lead for each in asked):
        names = " or in ".join(load_gait(name).with_article for name in (before, after) if name != HALT)
        raise RequestError(
            f"neither foot leads in {names}; leave out --lead and --lead-after, or name a gait with a lead, "
            "such as canter"
        )
    if len(asked) == 2 and asked[0] == asked[1]:
        raise RequestError(f"{before} and {after} are one cycle; name two gaits, or another --lead-after")
    cycles = tuple((cycle_of(each), 0) for each in asked)
    within = None if strides is None else Within(strides, key="--strides ")
    into = (within if before == HALT else None, within) if len(cycles) == 1 else (None, within, None)
    section = suited(Section(cycles, before == HALT, after == HALT, rate, within=into))
    made = make_alone(section)
    said = asked_strides_notices((section,))
    return replace(made, clip=replace(made.clip, notices=(*said, *made.clip.notices))) if said else made


def _refuse_what_is_no_gait(name: str) -> None:
    """Refuse a word that joins know nothing of, with those that they do.

    Raises
    ------
    RequestError
        If it is no gait that goes ahead, and no halt.
    """
    if name == HALT or name.endswith(".toml"):
        return
    known = [each for each in gait_names() if not load_gait(each).is_backward]
    if name == STAND:
        raise RequestError(f"an animal that stands is {HALT!r} in a join: write {HALT} for {STAND}")
    if name not in gait_names():
        raise RequestError(
            f"unknown gait {name!r}{nearest(name, [*known, HALT])}; use {HALT} or one of {', '.join(known)}"
        )
