"""What the check finds in a shot that was just made, for its report."""

from __future__ import annotations

from collections.abc import Collection

from gaitgen.check.check import check
from gaitgen.check.finding import Finding
from gaitgen.check.load import motion_of
from gaitgen.check.look import see
from gaitgen.check.meant_style import in_style
from gaitgen.course.ground import Ground
from gaitgen.errors import GaitgenError, Notice
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.style import Style

FOUND = "check"  # topic of the notices
MOST = 3  # findings that a report tells; the check tells all of them


def found_in_shot(
    bvh: bytes,
    name: str,
    animal: str | None,
    ground: Ground,
    jumps_m: tuple[float, ...] = (),
    styles: Collection[Style] = (),
) -> tuple[Notice, ...]:
    """Say what the check finds in the file of a shot; nothing where it cannot be judged.

    Parameters
    ----------
    bvh, name
        The file, and its name.
    animal
        As `gaitgen check --animal` takes it; None to find out.
    ground, jumps_m
        What it goes over, and how far along its way it jumps. [m]
    styles
        Those of its passages: what one for all of them shows is meant, and of several nothing is told.
    """
    if len(set(styles)) > 1:
        return ()
    try:
        motion, limits = motion_of(read_bvh(bvh, name), name, name, animal)
        seen = see(motion, limits, surface=ground, jumps_m=jumps_m)
        findings = check(seen)
        for style in set(styles) - {Style()}:
            findings = (
                check(in_style(seen, limits, None, None, style, "as it was asked,")) if findings else []
            )
    except GaitgenError:  # a shot may be longer than the check takes, or go nowhere
        return ()
    notices = [Notice(FOUND, f"{name}: the check finds {_said(each)}.") for each in findings[:MOST]]
    if len(findings) > MOST:
        more = len(findings) - MOST
        notices.append(Notice(FOUND, f"{name}: gaitgen check tells of {more} more."))
    return tuple(notices)


def _said(found: Finding) -> str:
    """Put a finding into words: what, where, when and how much."""
    if found.first_frame == found.last_frame:
        frames = f"in frame {found.first_frame}"
    else:
        frames = f"in frames {found.first_frame} to {found.last_frame}"
    amount = f"{found.amount:.3g} {found.unit}, {found.limit:.3g} let through"
    return f"{found.kind} ({found.place}) {frames}: {amount}"
