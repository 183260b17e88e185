"""A motion in reverse: Newton's laws know no direction of time, and a walk backwards is one from its end."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

from gaitgen.course.cycle import CycleTiming
from gaitgen.course.steps import Steps

T = TypeVar("T")


def in_reverse(thing: T, count: int, last: int = 0) -> T:
    """Return something with all its curves in reverse: sample k becomes sample ``last`` - k of the loop.

    Parameters
    ----------
    thing
        An array, or a dataclass or dictionary of such; arrays of another length, and anything else, stay.
    count
        Number of samples; 0 leaves all as it is.
    last
        The sample that comes first.
    """
    found: Any = thing
    if count == 0:
        return thing
    if isinstance(found, np.ndarray):
        if found.ndim == 0 or found.shape[0] != count:
            return thing
        turned: Any = found[(last - np.arange(count)) % count]
        return turned  # type: ignore[no-any-return]
    if isinstance(found, dict):
        made: Any = {key: in_reverse(value, count, last) for key, value in found.items()}
        return made  # type: ignore[no-any-return]
    if is_dataclass(found) and not isinstance(found, type):
        own = ((item.name, getattr(found, item.name)) for item in fields(found) if item.init)
        back: Any = replace(found, **{name: in_reverse(value, count, last) for name, value in own})
        return back  # type: ignore[no-any-return]
    return thing


def steps_in_reverse(steps: Steps, last_s: float) -> Steps:
    """Return steps whose feet land when they left and leave when they landed, from ``last_s`` backwards.

    Each is laid where the loop has it first from its start on.
    """
    assert steps.loop is not None  # noqa: S101
    loop, period = steps.loop, steps.loop.period_s
    touchdown, liftoff = last_s - steps.liftoff_s, last_s - steps.touchdown_s
    turns = np.floor(touchdown / period + 1e-9)
    shift = np.array(loop.shift_m)
    order = np.argsort(touchdown - turns * period, kind="stable")
    return replace(
        steps,
        limb=steps.limb[order],
        touchdown_s=(touchdown - turns * period)[order],
        liftoff_s=(liftoff - turns * period)[order],
        place_m=(steps.place_m + (turns[:, None] - last_s / period) * shift)[order],
        heading_rad=steps.heading_rad[order],
        normal=steps.normal[order],
        loop=replace(loop, shift_m=tuple((-shift).tolist())),
    )


def timing_in_reverse(timing: CycleTiming, last: float) -> CycleTiming:
    """Return the contacts in frames of the same in reverse."""
    contact = tuple(
        (last - on - down) % timing.frames for on, down in zip(timing.contact, timing.down, strict=True)
    )
    return replace(timing, contact=contact)  # type: ignore[arg-type]
