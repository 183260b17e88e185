"""What `gaitgen check` does, without the printing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from gaitgen.check.check import check
from gaitgen.check.facts import facts
from gaitgen.check.finding import Finding
from gaitgen.check.findings.legs import OUT_OF_RANGE
from gaitgen.check.kinds import KINDS
from gaitgen.check.limits import Limits, with_changes
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.check.meant import Meant, parse_meant
from gaitgen.check.seen import Seen
from gaitgen.check.text import as_text
from gaitgen.errors import RequestError
from gaitgen.formats.decimals import LARGEST
from gaitgen.gait.gait import load_gait
from gaitgen.numerics.json_text import report_text
from gaitgen.rigs.map_file import is_map

if TYPE_CHECKING:
    from gaitgen.check.against import Parting
    from gaitgen.course.ground import Ground


@dataclass(frozen=True, eq=False)
class Checked:
    """A clip that was looked at, and what is wrong with it.

    Attributes
    ----------
    seen, findings
        What was seen; what is wrong, worst first.
    against, partings
        Name of the gait it was compared with, and how far the two part.
    """

    seen: Seen
    findings: tuple[Finding, ...]
    against: str | None = None
    partings: tuple[Parting, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 if nothing was found, 1 if something was."""
        return 1 if self.findings else 0

    def text(self) -> str:
        """Write everything for people."""
        text = as_text(self.seen, self.findings)
        if self.against is None:
            return text
        from gaitgen.check.against import partings_text

        return text + partings_text(list(self.partings), self.against)

    def pdf(self, paper: str = "a4") -> bytes:
        """Draw everything for paper; a RequestError for a paper that is not known."""
        from gaitgen.check.page import write_page

        return write_page(self.seen, self.findings, paper)

    def json(self) -> str:
        """Write everything for programs."""
        found = facts(self.seen, self.findings)
        if self.against is not None:
            found["against"] = {"gait": self.against, "partings": [asdict(part) for part in self.partings]}
        return report_text(found) + "\n"


def check_file(
    path: Path,
    *,
    animal: str | None = None,
    map_path: Path | None = None,
    limits_path: Path | None = None,
    against: str | None = None,
    ground: float | None = None,
    shot_path: Path | None = None,
    meant: str | None = None,
    contacts: str | None = None,
    gait: str | None = None,
    style: str | None = None,
    legs: str | None = None,
) -> Checked:
    """Check one BVH file.

    Parameters
    ----------
    path
        The clip.
    animal
        Whose limits hold: an animal, an animal file or a set of limits; found out if not given.
    map_path
        Map of the rig; found in the file if not given.
    limits_path
        Limits of the user's own that stand for some of the animal's.
    against
        Gait to compare with.
    ground
        Height of the ground in the file's unit.
    shot_path
        Shot file that says what the ground is like, and where it jumps.
    meant
        Feet, parts and findings that are as they should be.
    contacts, gait
        Contacts and lift-offs, or the gait or gait file, that the clip is meant to have.
    style, legs
        Ready-made styles, and factors of single legs, that it is meant to be in.

    Raises
    ------
    GaitgenError
        If the file, the map or the limits cannot be read; one line.
    """
    if ground is not None and shot_path is not None:
        raise RequestError("--ground says that the ground is level, --shot what it is like; give one of them")
    if ground is not None and not abs(ground) < LARGEST:
        raise RequestError(f"--ground is {ground:g}; give a height below {LARGEST:.0e}, in the file's unit")
    surface, jumps_m = (None, ()) if shot_path is None else _of_shot(shot_path)
    motion, limits = load_motion(path, map_path, animal)
    limits = with_changes(limits, limits_path)
    seen = see(
        motion, limits, ground, _meant(meant, contacts, gait, motion.file.joint_names), surface, jumps_m
    )
    if style is not None or legs is not None:
        from gaitgen.check.meant_style import in_style

        seen = in_style(seen, limits, style, legs)
    found = tuple(check(seen))
    mapped = map_path or (Path(animal) if animal is not None and is_map(animal) else None)
    if mapped and not limits_path and any(finding.kind == OUT_OF_RANGE for finding in found):
        from gaitgen.check.own_gait import as_the_rig_goes

        seen = as_the_rig_goes(seen, limits, mapped)
        found = tuple(check(seen))
    if found and style is None and legs is None:
        seen, found = _as_named(path, seen, limits, found)
    if against is None:
        return Checked(seen, found)
    from gaitgen.check.against import partings

    return Checked(seen, found, against, tuple(partings(seen, against, limits)))


def _as_named(
    path: Path, seen: Seen, limits: Limits, found: tuple[Finding, ...]
) -> tuple[Seen, tuple[Finding, ...]]:
    """Leave out what the style shows too that the name or the record of a clip tells, if it tells one."""
    from gaitgen.check.meant_style import in_style
    from gaitgen.edits.named_style import factors_in_name, style_in_name
    from gaitgen.edits.own_name import own_name
    from gaitgen.gait.style import Style

    name = own_name(path)
    named, factors = style_in_name(name), factors_in_name(name)
    if named is None and factors == Style():
        return seen, found
    try:
        seen = in_style(seen, limits, named, None, factors, "as its name tells,")
    except RequestError:  # a name may say anything
        return seen, found
    return seen, tuple(check(seen))


def _of_shot(path: Path) -> tuple[Ground, tuple[float, ...]]:
    """Return the ground of a shot, and how far along its path it jumps. [m]"""
    from gaitgen.shot.shot_file import read_shot

    shot = read_shot(path)
    return shot.ground, tuple(jump.at_m for jump in shot.jumps)


def _meant(words: str | None, contacts: str | None, gait: str | None, joints: Sequence[str]) -> Meant:
    known: frozenset[str] = frozenset() if words is None else parse_meant(words, KINDS, joints)
    return Meant(known, contacts, None if gait is None else load_gait(gait))
