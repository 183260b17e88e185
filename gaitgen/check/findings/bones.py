"""Bones of a rig that are longer on one side than on the other."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.formats.bvh_file import moves_under_root
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS

LEAST_SHARE = 0.02  # of the hip height: what is shorter is no bone


def unlike(seen: Seen) -> list[Finding]:
    """Find legs with a bone that is longer or shorter than its mate."""
    file, limbs = seen.motion.file, seen.motion.map.limbs
    if moves_under_root(file):
        return []
    lengths = np.linalg.norm(file.offsets, axis=1)
    hip = seen.motion.hip_height_m / unit_m(seen.motion.map.unit)
    found: list[Finding] = []
    for pair in (LIMBS[:2], LIMBS[2:]):
        own, mates = (limbs[limb].joints for limb in pair)
        if len(own) != len(mates):
            continue
        for k in range(1, len(own)):
            a, b = (float(lengths[seen.motion.joint(names[k])]) for names in (own, mates))
            if min(a, b) < LEAST_SHARE * hip:
                continue
            limb = pair[0] if a > b else pair[1]
            found += seen.finding(
                "bone unlike other side",
                limb,
                (0, seen.motion.frames - 1),
                100.0 * (max(a, b) / min(a, b) - 1.0),
                f"make the bone from {limbs[limb].joints[k - 1]} to {limbs[limb].joints[k]} as long as "
                f"its mate ({min(a, b):.4g} and {max(a, b):.4g} in the file): an OFFSET is wrong, not a key",
                joint=limbs[limb].joints[k - 1],
            )
    return found
