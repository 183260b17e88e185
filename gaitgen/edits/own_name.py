"""What the name that gaitgen gives to a clip tells of its making, also where somebody gave it another."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from gaitgen.check.tracked import Tracked
from gaitgen.formats.record import own_names
from gaitgen.gait.gait import LEADS, gait_names
from gaitgen.gait.request import MOST_VARIED, Request
from gaitgen.motion.loop import find_loop
from gaitgen.numerics.standard_input import is_standard_input

_VARIED = re.compile(r"_strides_(\d{1,2})_seed_(\d{1,5})(?=_|$)")


def own_name(path: Path) -> str:
    """Return the name that gaitgen would have given to a clip, without suffix, or else its own.

    The record of its folder knows it, also of a copy whose name goes on from that of the clip.
    """
    stem = path.name.removesuffix(path.suffix)
    if is_standard_input(path):
        return stem
    known = {name.removesuffix(".bvh"): own for name, own in own_names(path.parent).items()}
    named = max((name for name in known if stem.startswith(name)), key=len, default=None)
    return stem if named is None else f"{known[named]}{stem.removeprefix(named)}"


@dataclass(frozen=True)
class Varied:
    """Strides that differ by a seed, as a name tells them; the gait, if it tells one.

    Attributes
    ----------
    strides, seed
        How many strides, and what chooses how they differ.
    gait, lead
        Name of the gait, and the side that leads.
    """

    strides: int
    seed: int
    gait: str | None = None
    lead: str | None = None

    def loop_frames(self, motion: Tracked) -> int | None:
        """Length of a clip that is a loop of so many strides; None if it is none. [frames]"""
        loop = find_loop(motion.points_m)
        return loop.frames if loop.closes and loop.frames % self.strides == 0 else None

    def asked(self, request: Request) -> Request:
        """Ask for these strides."""
        return replace(request, strides=self.strides, seed=self.seed, gait=self.gait, lead=self.lead)


def varied_in_name(name: str) -> Varied | None:
    """Read from the name of a clip how its strides differ; None if it tells nothing of that.

    Of a name that goes on from another, as that of a carried clip, the last counts.
    """
    told = [match for match in _VARIED.finditer(name) if 2 <= int(match[1]) <= MOST_VARIED]
    if not told:
        return None
    before = name[: told[-1].start()]
    strides, seed = int(told[-1][1]), int(told[-1][2])
    ends = {gait: before.rfind(f"_{gait}_") + len(gait) + 2 for gait in gait_names() if f"_{gait}_" in before}
    if not ends:
        return Varied(strides, seed)
    gait = max(ends, key=lambda each: (ends[each], len(each)))
    lead = next((lead for lead in LEADS if before[ends[gait] :].startswith(f"{lead}_")), None)
    return Varied(strides, seed, gait, lead)
