"""How large prints are drawn on a plan: so that they are seen, and do not run together."""

from __future__ import annotations

import numpy as np

from gaitgen.gait.gait import LIMBS
from gaitgen.pictures.shot_plan import ShotPlan

# Prints are drawn no shorter than the first, nor, up to the second, than this share of a stride (estimates).
LEAST_PRINT_MM, CLEAR_PRINT_MM, OF_STRIDE = 1.5, 2.2, 0.5


def least_print_mm(shot: ShotPlan, scale: float) -> float:
    """Return how short a print may be drawn at a scale [mm/m], to be seen and clear of others. [mm]"""
    steps = shot.clip.steps
    places = [
        steps.place_m[[k for k in shot.prints if steps.limb[k] == limb], :2] for limb in range(len(LIMBS))
    ]
    apart = np.concatenate([np.linalg.norm(np.diff(each, axis=0), axis=1) for each in places])
    stride_mm = scale * float(np.median(apart)) if apart.size else 0.0
    return float(np.clip(OF_STRIDE * stride_mm, LEAST_PRINT_MM, CLEAR_PRINT_MM))
