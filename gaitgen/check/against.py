"""A clip beside the computed one of the same stride: where and how far they part."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from gaitgen.check.limits import Limits
from gaitgen.check.look import see
from gaitgen.check.seen import Seen
from gaitgen.check.tracked import place
from gaitgen.errors import RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.gait import LIMBS, load_gait
from gaitgen.pipeline import Request, make_cycle
from gaitgen.rigs.find import find_rig

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Parting:
    """How far one quantity is from the computed one.

    Attributes
    ----------
    what
        Such as ``LF carpus`` or ``hips height``.
    unit
        ``degrees`` or ``mm``.
    worst, frame
        Largest difference, clip minus computed, and its frame, from 1.
    rms
        Root of the mean square.
    """

    what: str
    unit: str
    worst: float
    frame: int
    rms: float


def partings(seen: Seen, gait_name: str, limits: Limits) -> list[Parting]:
    """Compare with the computed clip of as many frames a stride, laid so that the contacts match best.

    Heights are compared about their means, and scaled by hip height.

    Raises
    ------
    GaitgenError
        If the clip has no stride, or the gait cannot be made in as many frames.
    """
    if seen.gait is None:
        raise RequestError(
            f"{seen.motion.name} has no stride to compare ({seen.no_gait}); leave out --against"
        )
    frames = round(seen.gait.period)
    lead = seen.gait.summary.lead if load_gait(gait_name).has_lead else None
    clip = make_cycle(
        Request(
            gait=gait_name,
            lead=lead,
            animal=seen.motion.map.template,
            frames=frames,
            frame_rate_hz=seen.motion.frame_rate_hz,
            in_place=True,
        )
    )
    file = read_bvh(bvh.encode(clip, FileSpace()), "the computed clip")
    found, _ = find_rig(file, "the computed clip")
    other = see(place(file, found, "computed"), limits)
    if other.gait is None:
        raise RequestError(f"the computed {gait_name} of {frames} frames has no stride; leave out --against")
    shift = _shift(seen, other)
    rows = np.round(np.arange(seen.motion.frames) * frames / seen.gait.period + shift).astype(int) % frames
    out = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        if (limb, word) in other.motion.angles_deg:
            apart = angle - other.motion.angles_deg[limb, word][rows]
            out.append(_parting(f"{limb} {word.replace('_', ' ')}", "degrees", apart))
    size = seen.motion.hip_height_m / other.motion.hip_height_m
    for name, joints in _ends(seen).items():
        own = seen.motion.places_m[:, joints, 2].mean(axis=1)
        made = size * other.motion.places_m[:, _ends(other)[name], 2].mean(axis=1)[rows]
        out.append(_parting(f"{name} height", "mm", 1000.0 * ((own - own.mean()) - (made - made.mean()))))
    for row, limb in enumerate(LIMBS):
        own = seen.motion.toes_m[:, row, 2] - seen.feet.ground_m
        made = size * (other.motion.toes_m[:, row, 2] - other.feet.ground_m)[rows]
        out.append(_parting(f"{limb} toe height", "mm", 1000.0 * (own - made)))
    return sorted(out, key=lambda part: (part.unit, -part.rms, part.what))


def _ends(seen: Seen) -> dict[str, list[int]]:
    motion = seen.motion
    tops = [motion.top(limb) for limb in LIMBS]
    ends = {"hips": tops[2:], "chest": tops[:2]}
    if motion.map.head:
        ends["head"] = [motion.joint(motion.map.head)]
    return ends


def _shift(seen: Seen, other: Seen) -> float:
    """Frames of the computed clip at the clip's first frame, by the mean of the four contacts."""
    assert seen.gait is not None  # noqa: S101
    assert other.gait is not None  # noqa: S101
    turns = other.gait.contact / other.gait.period - seen.gait.contact / seen.gait.period
    turn = cmath.phase(sum(cmath.exp(2j * math.pi * float(value)) for value in turns))
    return turn / (2.0 * math.pi) * other.gait.period


def _parting(what: str, unit: str, apart: Array) -> Parting:
    row = int(np.abs(apart).argmax())
    return Parting(what, unit, float(apart[row]), row + 1, float(np.sqrt(np.mean(apart**2))))


def partings_text(parts: list[Parting], gait_name: str) -> str:
    """Lay the comparison out as a table."""
    lines = ["", f"  against the computed {gait_name} of the same stride, clip minus computed:"]
    lines.append(f"  {'what':<20}{'most':>9}{'at frame':>10}{'rms':>9}")
    for before, part in pairwise([None, *parts]):
        if part is None:
            continue
        if before is not None and before.unit != part.unit:
            lines.append("")
        unit = "deg" if part.unit == "degrees" else "mm"
        lines.append(f"  {part.what:<20}{part.worst:>9.1f}{part.frame:>10}{part.rms:>9.1f} {unit}")
    return "\n".join(lines) + "\n"
