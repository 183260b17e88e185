"""What a check finds in a clip that was just computed, without a file of it on the disk."""

from __future__ import annotations

from gaitgen.check.check import check
from gaitgen.check.finding import Finding
from gaitgen.check.limits import Limits
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.motion import Motion

CLIP = "the computed clip"


def found_in(clip: Motion, animal: str, limits: Limits | None = None) -> tuple[Finding, ...]:
    """Return what a check finds in a computed clip: each finding, and after it what follows from it.

    Parameters
    ----------
    clip
        The motion; it is written and read as its file would be.
    animal
        The name of the animal that it is held to.
    limits
        What it is held against; the animal's own if not given.

    Raises
    ------
    GaitgenError
        If nobody knows the limits of the animal, or its skeleton is no four-legged rig.
    """
    file = read_bvh(bvh.encode(clip, FileSpace()), CLIP)
    known = whose(file, CLIP, animal)
    found = check(see(place(file, known.map, CLIP), known.limits if limits is None else limits))
    return tuple(each for finding in found for each in (finding, *finding.follows))
