"""A body that goes along at one height: it shows no weight, however well its feet stand."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.findings import root_keys
from gaitgen.check.seen import Seen


def body_on_rails(seen: Seen) -> list[Finding]:
    """Find a pelvis that neither rises nor falls over whole strides, while the feet hold.

    Where they do not, the keys of its height are missing, which `root_keys` tells.
    """
    motion = seen.motion
    if seen.gait is None or seen.feet.planted.all() or root_keys.flat(seen):
        return []
    rise_m = float(np.ptp(motion.places_m[:, motion.joint(motion.map.pelvis), 2]))
    return seen.finding(
        "body on rails",
        "whole body",
        (0, motion.frames - 1),
        100.0 * rise_m / motion.hip_height_m,
        "let the pelvis rise and fall as weight comes onto each leg and leaves it: it stays within "
        f"{1000.0 * rise_m:.1f} mm of one height",
        below=True,
        joint=motion.map.pelvis,
    )
