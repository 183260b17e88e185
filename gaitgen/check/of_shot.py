"""What the check finds in a shot that was just made, for its report and its page."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from gaitgen.check.check import check
from gaitgen.check.finding import Finding
from gaitgen.check.findings.legs import OUT_OF_RANGE
from gaitgen.check.load import mapped_motion, motion_of
from gaitgen.check.look import see
from gaitgen.check.meant_style import in_style
from gaitgen.check.own_gait import as_the_rig_goes
from gaitgen.course.ground import Ground
from gaitgen.errors import GaitgenError, Notice
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.style import Style
from gaitgen.rigs.map_file import is_map
from gaitgen.shot.asked import ShotRequest
from gaitgen.shot.make import Made

FOUND = "check"  # topic of the notices
MOST = 3  # findings that a report tells; the check tells all of them


def found_in_shot(
    data: bytes,
    name: str,
    animal: str | None,
    ground: Ground,
    jumps_m: tuple[float, ...] = (),
    styles: Collection[Style] = (),
) -> tuple[Notice, ...]:
    """Say what the check finds in the file of a shot; nothing where it cannot be judged.

    Parameters
    ----------
    data, name
        The BVH file, and its name.
    animal
        As `gaitgen check --animal` takes it, such as the map of a rig; None to find out.
    ground, jumps_m
        What it goes over, and how far along its way it jumps. [m]
    styles
        Those of its passages: what any of them shows in the gait of a stretch is meant.
    """
    try:
        findings = _findings(data, name, animal, ground, jumps_m, styles)
    except GaitgenError:  # a shot may be longer than the check takes, or go nowhere
        return ()
    notices = [Notice(FOUND, f"{name}: the check finds {_said(each)}.") for each in findings[:MOST]]
    if len(findings) > MOST:
        more = len(findings) - MOST
        notices.append(Notice(FOUND, f"{name}: gaitgen check tells of {more} more."))
    return tuple(notices)


def found_in_made(made: Made, request: ShotRequest, name: str) -> tuple[Notice, ...]:
    """Say what the check finds in a shot of which no file is written, as `found_in_shot` says it.

    Parameters
    ----------
    made, request
        The shot, and what it was asked to be; on a rig, the animal that has the rig's proportions.
    name
        The name that its file would have.
    """
    whose = str(request.first.animal)
    styles = [cycle.style for cycle in made.timeline.cycles]
    return found_in_shot(
        bvh.encode(made.clip, FileSpace()),
        name,
        None if is_map(whose) else whose,
        made.ground,
        tuple(jump.at_m for jump in request.jumps),
        styles,
    )


def _findings(
    data: bytes,
    name: str,
    animal: str | None,
    ground: Ground,
    jumps_m: tuple[float, ...],
    styles: Collection[Style],
) -> list[Finding]:
    file = read_bvh(data, name)
    if animal is not None and is_map(animal):
        motion, limits = mapped_motion(file, name, name, Path(animal))
    else:
        motion, limits = motion_of(file, name, name, animal)
    seen = see(motion, limits, surface=ground, jumps_m=jumps_m)
    findings = check(seen)
    if animal is not None and is_map(animal) and any(each.kind == OUT_OF_RANGE for each in findings):
        seen = as_the_rig_goes(seen, limits, Path(animal))
        findings = check(seen)
    styled = [style for style in dict.fromkeys(styles) if style != Style()]
    if findings and styled:
        for style in styled:
            seen = in_style(seen, limits, None, None, style, "as it was asked,")
        findings = check(seen)
    return findings


def _said(found: Finding) -> str:
    """Put a finding into words: what, where, when and how much."""
    if found.first_frame == found.last_frame:
        frames = f"in frame {found.first_frame}"
    else:
        frames = f"in frames {found.first_frame} to {found.last_frame}"
    amount = f"{found.amount:.3g} {found.unit}, {found.limit:.3g} let through"
    return f"{found.kind} ({found.place}) {frames}: {amount}"
