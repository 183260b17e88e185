"""A body that is too low in some frames: the soles of most feet are under the ground there at once."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings.feet import floor_m
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

# Feet: legs that are at fault are one, or the two of an end or a side; more at once are under a body.
MOST_OF_LEGS = 2
LEAST_DEEP = len(LIMBS) - 1 - MOST_OF_LEGS  # place of the least deep of so many, from the highest


def sinking_together(seen: Seen) -> list[Finding]:
    """Find a body that takes the soles of three feet or more under the ground in the same frames.

    It does not ask when feet stand, for a body that goes up and down over them hides that.
    """
    limit_m = seen.limits["sole_under_ground"].top / 1000.0
    deep_m = floor_m(seen) - seen.motion.toes_m[..., 2]  # (frames, feet)
    under = deep_m > limit_m + STANDS_OUT * seen.noise.toe_m[:, 2]
    together = under.sum(axis=1) > MOST_OF_LEGS
    if seen.shot is not None or not together.any() or together.all():
        return []
    by_m = np.where(together, np.sort(deep_m, axis=1)[:, LEAST_DEEP], 0.0)
    row = int(by_m.argmax())
    first, last = next(span for span in runs(together) if span[0] <= row <= span[1])
    return seen.finding(
        "body moves over planted feet",
        "whole body",
        (first, last),
        1000.0 * float(by_m[row]),
        "the root is too low there and takes the soles of most feet under the ground: mend the root's curve, "
        "or bend the legs more",
        noise=1000.0 * float(seen.noise.toe_m[:, 2].max()),
        limit_name="body_over_feet",
        joint=seen.motion.file.joint_names[0],
    )
