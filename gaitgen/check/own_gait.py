"""How far the joints of a mapped rig go in its own gait: as far they are inside its ranges."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from gaitgen.check.computed import CLIP
from gaitgen.check.findings.legs import out_of_range
from gaitgen.check.limits import Limits
from gaitgen.check.look import see
from gaitgen.check.meant import Shown
from gaitgen.check.meant_style import gait_of
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import place
from gaitgen.errors import GaitgenError
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import Request
from gaitgen.rigs.cycle import LoadedRig, load_rig


def as_the_rig_goes(seen: Seen, limits: Limits, map_path: Path) -> Seen:
    """Let the joints of a rig go as far as they do in its own gait, which its proportions ask for.

    What its plain cycle of the same gait and length shows is meant as far as it shows it; of each stretch of
    a shot its own.

    Parameters
    ----------
    seen, limits
        The clip, and what it is held against before its size and its gait are known.
    map_path
        The map of its rig.
    """
    loaded = load_rig(str(map_path))
    parts = (seen, *(each.seen for each in seen.parts))
    shown = frozenset[Shown]().union(*(_shown(part, limits, loaded) for part in parts))
    return replace(seen, meant=replace(seen.meant, shown=seen.meant.shown | shown))


def _shown(seen: Seen, limits: Limits, loaded: LoadedRig) -> set[Shown]:
    """Return which joints leave their ranges in the rig's own cycle that a stretch is nearest to."""
    if seen.gait is None:
        return set()
    gait, lead = gait_of(seen)
    frames, rate_hz = round(seen.gait.period), seen.motion.frame_rate_hz
    try:
        made = loaded.cycle(Request(gait=gait, lead=lead, frames=frames, frame_rate_hz=rate_hz))
    except GaitgenError:  # no such cycle of that length: then nothing is meant
        return set()
    own = place(read_bvh(made.bvh(), CLIP), made.rig.map, CLIP, made.rig.rest)
    return {Shown(each.kind, each.limb, each.excess) for each in out_of_range(see(own, limits))}
