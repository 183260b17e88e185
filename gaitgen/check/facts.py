"""What was seen and found, as plain numbers, lists and words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

import numpy as np

from gaitgen.check.finding import Finding
from gaitgen.check.frame_rate import frame_rate_doubt
from gaitgen.check.seen import Seen
from gaitgen.check.shot.words import shot_facts
from gaitgen.course.named_gait import NO_NAME
from gaitgen.gait.gait import LIMBS


def facts(seen: Seen, findings: Sequence[Finding]) -> dict[str, object]:
    """Collect everything as plain numbers, lists and words."""
    motion, feet = seen.motion, seen.feet
    return {
        "file": motion.name,
        "frames": motion.frames,
        "frame_rate_hz": motion.frame_rate_hz,
        "frame_rate_doubt": frame_rate_doubt(seen, findings) or None,
        "animal_limits": seen.limits.animal,
        "hip_height_m": motion.hip_height_m,
        "unit": motion.map.unit,
        "loop": seen.loop.closes,
        "in_place": feet.in_place,
        "belt_m_s": [float(v) for v in feet.belt_m_s],
        "body_speed_m_s": float(np.linalg.norm(feet.body_m_s)),
        "soles_m": feet.ground_m,
        "ground_m": seen.plane_m,
        "ground_from": seen.plane_from,
        "meant": sorted(seen.meant.words),
        "noise": {"angle_deg": seen.noise.angle_deg, "root_m": seen.noise.root_m},
        "gait": _gait_facts(seen),
        "no_gait": seen.no_gait or None,
        "shot": None if seen.shot is None else shot_facts(seen.shot),
        "stances": [
            {
                "foot": LIMBS[stance.limb],
                "contact_frame": seen.frame(stance.first) if stance.begins else None,
                "liftoff_frame": seen.frame(stance.last) if stance.ends else None,
                "frames_down": stance.last - stance.first,
            }
            for stance in feet.stances
        ],
        "body": {
            name: {"low_frames": wave.lows, "high_frames": wave.highs, "range_m": float(np.ptp(wave.smooth))}
            for name, wave in seen.waves.items()
        },
        "findings": [asdict(finding) for finding in findings],
        "notices": [{"topic": notice.topic, "text": notice.text} for notice in motion.notices],
    }


def _gait_facts(seen: Seen) -> dict[str, object] | None:
    gait = seen.gait
    if gait is None:
        return None
    summary = gait.summary
    is_named = gait.symmetrical or summary.name == NO_NAME
    return {
        "name": summary.name if is_named else f"asymmetrical, nearest {summary.name}",
        "period_frames": gait.period,
        "strides": gait.strides,
        "order": list(gait.order),
        "duty_factor": dict(zip(LIMBS, summary.duty_factor, strict=True)),
        "lag_left": summary.lag[0],
        "lag_right": summary.lag[1],
        "hind_step": summary.hind_step,
        "fore_step": summary.fore_step,
        "asymmetry": summary.asymmetry,
        "support": dict(support_sequence(seen)),
        "support_kinds": gait.support_kinds,
        "stride_length_m": float(np.linalg.norm(seen.feet.body_m_s))
        * gait.period
        * seen.motion.file.frame_time_s,
    }


def support_sequence(seen: Seen) -> list[tuple[str, float]]:
    """List sets of feet in the order in which they carry, from the left hind's contact on, and shares."""
    gait = seen.gait
    assert gait is not None  # noqa: S101
    contact = gait.contact / gait.period
    moments = (contact[2] + (np.arange(960) + 0.5) / 960.0)[:, None]
    down = (moments - contact) % 1.0 < np.array(gait.summary.duty_factor)
    seen_keys: dict[str, float] = {}
    for row in down:
        key = "+".join(name for name, is_down in zip(LIMBS, row, strict=True) if is_down) or "none"
        seen_keys.setdefault(key, 0.0)
    return [(key, gait.support.get(key, 0.0)) for key in seen_keys if gait.support.get(key, 0.0) > 0.0]
