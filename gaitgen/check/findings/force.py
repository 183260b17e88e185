"""Rise and fall that the feet would have to pull for, or push beyond belief."""

from __future__ import annotations

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.gait.tempo import GRAVITY_M_S2

# Head and neck about a tenth of the mass, the rest 43 to 57 between hips and chest (Dutto et al. 2004).
SHARES = {"hips": 0.385, "chest": 0.515, "head": 0.1}


def support(seen: Seen) -> list[Finding]:
    """Find vertical motion that no support force could produce: F = m (g + z'')."""
    gait = seen.gait
    if gait is None or not seen.waves:
        return []
    present = {name: share for name, share in SHARES.items() if name in seen.waves}
    total = sum(present.values())
    parts = [share / total * seen.waves[name].accelerating for name, share in present.items()]
    curve = 1.0 + np.sum(parts, axis=0) / GRAVITY_M_S2  # (frames,)
    # Noise of the fourth harmonic, the one that counts most.
    rate = 2.0 * np.pi * 4.0 / (gait.period * seen.motion.file.frame_time_s)
    height = max(seen.noise.ends_m) * np.sqrt(2.0 * 2.0 / len(curve))
    sigma = float(rate**2 * height / GRAVITY_M_S2)
    found: list[Finding] = []
    for below in (True, False):
        row = int(curve.argmin() if below else curve.argmax())
        found += seen.finding(
            "impossible support force",
            "whole body",
            (row, row),
            float(curve[row]),
            "let the body rise and fall less, or over more frames",
            below=below,
            noise=sigma,
            limit_name="support_force",
        )
    return found
