"""What a style makes of a clip: what its computed cycle shows too is meant, and no fault of the clip."""

from __future__ import annotations

from dataclasses import replace

from gaitgen.check import kinds
from gaitgen.check.computed import found_in
from gaitgen.check.limits import Limits
from gaitgen.check.meant import Shown
from gaitgen.check.seen import Seen
from gaitgen.course.cycle import CycleTiming
from gaitgen.course.named_gait import nearest_gait
from gaitgen.errors import GaitgenError
from gaitgen.gait.gait import load_gait
from gaitgen.gait.leg_factors import FEET, parse_legs
from gaitgen.gait.presets import mixed, parse_names
from gaitgen.gait.style import Style
from gaitgen.option import Found, options_of
from gaitgen.pipeline import Request, make_cycle

# What is broken is no style where a name alone tells it.
NEVER_MEANT = frozenset((*kinds.MISREAD, *kinds.FILE, *kinds.SHAKE, *kinds.JOINT, *kinds.BODY))


def in_style(
    seen: Seen,
    limits: Limits,
    named: str | None,
    legs: str | None = None,
    factors: Style | None = None,
    told: str = "",
) -> Seen:
    """Return the clip as seen by somebody who knows that it is meant to be in a style.

    A foot to which the style gives something else than to its mate goes its own way. And what the computed
    cycle of the same animal, gait and length shows in that style is meant as far as it shows it: each
    stretch of a shot is held against its own.

    Parameters
    ----------
    seen, limits
        The clip, and what it is held against before its size and its gait are known.
    named, legs
        Ready-made styles and factors of single legs, as `gaitgen cycle` takes them.
    factors, told
        Single factors of all legs beside them; what tells the style, in words, where the user does not.

    Raises
    ------
    RequestError
        If there is no such style or factor.
    """
    factors = factors or Style()
    style = replace(factors, legs=parse_legs(legs)) if legs is not None else factors
    style = mixed(parse_names(named or ""), style)
    shown: set[Shown] = set()
    for part in (seen, *(each.seen for each in seen.parts)):
        shown |= _shown(part, limits, named, legs, factors)
    if told:
        shown = {each for each in shown if each.kind not in NEVER_MEANT}
    own = [f"{found.name} {getattr(factors, found.field):g}" for found in _changed(factors)]
    words = ", ".join(each for each in (*own, named, legs, told) if each)
    meant = replace(
        seen.meant,
        words=seen.meant.words | _uneven(style),
        shown=seen.meant.shown | frozenset(shown),
        style=words,
    )
    return replace(seen, meant=meant)


def _changed(factors: Style) -> list[Found]:
    """Return the options of a style that are not as usual."""
    return [found for found in options_of(Style) if getattr(factors, found.field) != found.default]


def _uneven(style: Style) -> frozenset[str]:
    """Name the feet that have other factors than their mates."""
    own: dict[str, dict[str, float]] = {foot: {} for foot in FEET}
    for label, value in style.legs.named().items():
        foot, _, factor = label.partition(" ")
        own[foot][factor] = value
    pairs = zip(FEET[::2], FEET[1::2], strict=True)
    uneven = [foot for pair in pairs if own[pair[0]] != own[pair[1]] for foot in pair]
    return frozenset(foot for foot in uneven if any(value != 1.0 for value in own[foot].values()))


def gait_of(seen: Seen) -> tuple[str, str | None]:
    """Return the gait that a clip is nearest to, or is meant to have, and its lead; the clip has a gait."""
    assert seen.gait is not None  # noqa: S101
    frames, summary = round(seen.gait.period), seen.gait.summary
    if seen.meant.gait is not None:
        gait, lead = seen.meant.gait.name, summary.lead
    else:
        down = tuple(share * frames for share in summary.duty_factor)
        timing = CycleTiming(tuple(float(value) for value in seen.gait.contact), down, frames)  # type: ignore[arg-type]
        gait, lead = ("back", None) if seen.is_backward else nearest_gait(timing)
    return gait, lead if load_gait(gait).has_lead else None


def _shown(seen: Seen, limits: Limits, named: str | None, legs: str | None, factors: Style) -> set[Shown]:
    """Return what the check finds in the computed cycle that a stretch is nearest to; nothing without one."""
    if seen.gait is None:
        return set()
    gait, lead = gait_of(seen)
    request = Request(
        gait=gait,
        lead=lead,
        animal=seen.motion.map.template,
        frames=round(seen.gait.period),
        frame_rate_hz=seen.motion.frame_rate_hz,
        named_style=named,
        legs=legs,
        style=factors,
    )
    try:
        found = found_in(make_cycle(request), seen.motion.map.template, limits)
    except GaitgenError:  # no such cycle of that length: then only the feet are meant
        return set()
    return {Shown(each.kind, each.limb, each.excess) for each in found}
