"""What is meant to be unusual in a clip: feet, parts and findings that are no fault of it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from gaitgen.animal.toml_table import nearest
from gaitgen.check.finding import Finding
from gaitgen.course.contacts import parse_contacts
from gaitgen.errors import RequestError
from gaitgen.gait.gait import LIMBS, Gait

PARTS = ("head", "neck and head", "tail", "ears", "spine", "hips", "chest")
# Found on a foot that is meant to go its own way, these are no fault; a slip or a pop still is.
OF_A_GAIT = ("asymmetry", "lag", "contact order", "duty factor", "unlike other side")


@dataclass(frozen=True)
class Timing:
    """When the feet are meant to be down.

    Attributes
    ----------
    contact
        Contact of each foot, as a share of the stride, in LIMBS order.
    duty_factor
        Share of the stride each foot is down; None where the gait leaves that open.
    """

    contact: tuple[float, float, float, float]
    duty_factor: tuple[float, float, float, float] | None


# What a style shows may be so much more in a clip by hand, and so much past the limit at the least.
MORE_BY_HAND, LEAST_BY_HAND = 1.5, 0.05


@dataclass(frozen=True)
class Shown:
    """What the computed cycle of a style shows: the kind of a finding, its limb, and how bad it is there."""

    kind: str
    limb: str
    excess: float

    def covers(self, finding: Finding) -> bool:
        """Tell whether a finding is that, and hardly more of it."""
        most = max(MORE_BY_HAND * (self.excess - 1.0), LEAST_BY_HAND)
        return (finding.kind, finding.limb) == (self.kind, self.limb) and finding.excess - 1.0 <= most


@dataclass(frozen=True)
class Meant:
    """What is as it should be.

    Attributes
    ----------
    words
        Feet of LIMBS, parts of PARTS, joints of the clip, and kinds of findings.
    contacts, gait
        The meant contacts and lift-offs of one stride, or the meant gait: the timing is held against these
        and not against an even gait.
    style, shown
        The meant style, in words, and what its computed cycle shows.
    """

    words: frozenset[str] = frozenset()
    contacts: str | None = None
    gait: Gait | None = None
    style: str = ""
    shown: frozenset[Shown] = frozenset()

    def timing(self, frames: int, lead: str = "left") -> Timing | None:
        """Return the meant timing of a stride of so many frames; None if none was given.

        Parameters
        ----------
        frames
            Length of the stride.
        lead
            The side that leads in the clip, for a gait with a lead: either is meant.

        Raises
        ------
        GaitError
            If the contacts cannot be read.
        """
        text, long = self.contacts, frames
        if text is None and self.gait is not None:
            text, long = self.gait.contacts, self.gait.contact_frames or frames
        if text is not None:
            plan = parse_contacts(text, long)
            contact = [value / plan.frames for value in plan.contact]
            down = [value / plan.frames for value in plan.down]
            return Timing(tuple(contact), tuple(down))  # type: ignore[arg-type]
        if self.gait is None:
            return None
        return Timing(self.gait.touchdowns(lead), None)

    def covers(self, finding: Finding) -> bool:
        """Tell whether a finding is meant."""
        if finding.kind in self.words or (finding.joint and finding.joint in self.words):
            return True
        if any(each.covers(finding) for each in self.shown):
            return True
        if finding.limb in LIMBS:
            pair = {limb for limb in LIMBS if limb[1] == finding.limb[1]}
            return bool(pair & self.words) and finding.kind in OF_A_GAIT
        return finding.limb in self.words


NOTHING = Meant()


def parse_meant(text: str, kinds: Collection[str], joints: Collection[str] = ()) -> frozenset[str]:
    """Read a list such as ``LF, head, asymmetry, tail_3``.

    Parameters
    ----------
    text
        The list.
    kinds, joints
        Findings there are, and joints of the clip.

    Raises
    ------
    RequestError
        If a word is no foot, no part, no joint and no finding.
    """
    known: dict[str, set[str]] = {}
    for each in (*PARTS, *kinds, *LIMBS, *joints):
        known.setdefault(" ".join(each.lower().split()), set()).add(each)
    words: set[str] = set()
    for part in text.split(","):
        word = " ".join(part.lower().split())
        if word not in known:
            raise RequestError(
                f"{part.strip()!r} is no foot, part, joint or finding{nearest(word, known)}; write feet "
                f"({', '.join(LIMBS)}), parts ({', '.join(PARTS)}), joints of the clip or findings, with "
                "commas between"
            )
        words |= known[word]
    return frozenset(words)
