"""Limb joints: forelegs bending under load, legs locking, stifle and hock parting, ranges."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.seen import Seen
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.runs import runs

Array = npt.NDArray[np.float64]

OUT_OF_RANGE = "joint out of range"
STRAIGHT_DEG = (165.0, 195.0)  # a carpus that stands like this is meant to be straight under load
RATIO = 0.9  # hock to stifle, reciprocal apparatus
# The heel begins to rise at 86 +- 8 % of stance (fore, from a summary of break-over studies): until one
# deviation before that the carpus is locked; then it bends with the heel.
HEEL_OFF_SHARE = 0.78
SETTLE_SHARE = 0.04  # of a stride at both ends of a stance: not loaded yet


def _past(
    seen: Seen,
    kind: str,
    limit_name: str,
    limb: str,
    values: Array,
    do: str,
    *,
    below: bool,
    noise: float,
    joint: str = "",
) -> list[Finding]:
    """Find the runs of frames of a curve (frames,) that are past one side of a limit, if there is one."""
    if limit_name not in seen.limits:
        return []
    limit = seen.limits[limit_name]
    edge = limit.bottom if below else limit.top
    over = (values < edge) if below else (values > edge)
    found: list[Finding] = []
    for first, last in runs(over):
        part = values[first : last + 1]
        amount = float(part.min() if below else part.max())
        found += seen.finding(
            kind,
            limb,
            (first, last),
            amount,
            do,
            below=below,
            noise=noise,
            limit_name=limit_name,
            joint=joint,
        )
    return found


def foreleg_bending(seen: Seen) -> list[Finding]:
    """Find forelegs that bend at the carpus while they carry."""
    found: list[Finding] = []
    for row, limb in enumerate(LIMBS[:2]):
        angle = seen.motion.angles_deg.get((limb, "carpus"))
        if angle is None or not STRAIGHT_DEG[0] < seen.motion.standing_deg[limb, "carpus"] < STRAIGHT_DEG[1]:
            continue
        loaded = _inside(seen, seen.feet.planted[:, row])
        straight = angle + _bent_standing(seen, limb)
        is_flat = _stance_share(seen, row) <= HEEL_OFF_SHARE
        for rows, limit_name, do in (
            (
                loaded & is_flat,
                "foreleg_bending",
                "keep the carpus (knee) straight until the heel leaves; let elbow, shoulder and fetlock give",
            ),
            (
                loaded & ~is_flat,
                "foreleg_breaking",
                "let the carpus (knee) bend less while the heel leaves; the foot still carries",
            ),
        ):
            found += _past(
                seen,
                "foreleg bending",
                limit_name,
                limb,
                np.where(rows, straight, 180.0),
                do,
                below=True,
                noise=1.2 * seen.noise.angle_deg,
                joint=seen.motion.angle_joints[limb, "carpus"],
            )
    return found


def _stance_share(seen: Seen, limb: int) -> Array:
    """How far through its stance a foot is, 0 to 1, (frames,); 1 where it is in the air or nobody knows."""
    share = np.ones(seen.motion.frames)
    stances = seen.feet.of(limb)
    whole = [stance.last - stance.first for stance in stances if stance.whole]
    if not whole:
        return share
    usual = max(float(np.median(whole)), 1.0)
    for stance in stances:
        rows = np.arange(stance.first, stance.last + 1)
        length = float(stance.last - stance.first) if stance.whole else usual
        after = (rows - stance.first) / length if stance.begins else 1.0 - (stance.last - rows) / length
        here = rows % seen.loop.frames if seen.loop.closes else rows
        share[here] = np.clip(after, 0.0, 1.0)
    if seen.loop.closes and seen.motion.frames > seen.loop.frames:
        share[seen.loop.frames :] = share[: seen.motion.frames - seen.loop.frames]
    return share


def _bent_standing(seen: Seen, limb: str) -> float:
    """How much a rig's carpus is bent when it stands, at most 180. [degrees]"""
    return max(0.0, 180.0 - seen.motion.standing_deg[limb, "carpus"])


def _inside(seen: Seen, planted: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Frames of stance without those at its ends."""
    by = max(1, round(SETTLE_SHARE * seen.period)) + seen.unsure_frames
    inner = planted.copy()
    turn = planted[: seen.loop.frames]
    for k in range(1, by + 1):
        if seen.loop.closes:
            rows = np.arange(len(planted)) % seen.loop.frames
            inner &= turn[(rows + k) % seen.loop.frames] & turn[(rows - k) % seen.loop.frames]
        else:
            inner[k:] &= planted[:-k]
            inner[:-k] &= planted[k:]
            inner[[k - 1, -k]] = False  # cut off by the clip's ends: how far the stance goes is unknown
    return inner


def locked(seen: Seen) -> list[Finding]:
    """Find joints that are stretched straight."""
    found: list[Finding] = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        if f"{word}_locked" not in seen.limits:
            continue
        if seen.motion.standing_deg[limb, word] > seen.limits[f"{word}_locked"].top - 5.0:
            continue  # this rig stands with it straight
        found += _past(
            seen,
            "leg locking",
            f"{word}_locked",
            limb,
            angle,
            f"keep a bend in the {word}: lower the body, shorten the stride, or lift the heel earlier",
            below=False,
            noise=1.2 * seen.noise.angle_deg,
            joint=seen.motion.angle_joints[limb, word],
        )
    return found


def parting(seen: Seen) -> list[Finding]:
    """Find hind limbs whose stifle and hock do not bend and stretch together."""
    found: list[Finding] = []
    for limb in LIMBS[2:]:
        stifle, hock = (seen.motion.angles_deg.get((limb, word)) for word in ("stifle", "hock"))
        if stifle is None or hock is None:
            continue
        standing = seen.motion.standing_deg
        apart = np.abs((hock - standing[limb, "hock"]) - RATIO * (stifle - standing[limb, "stifle"]))
        found += _past(
            seen,
            "stifle and hock parting",
            "stifle_hock_parting",
            limb,
            apart,
            "bend stifle and hock together, the hock by nine tenths of the stifle",
            below=False,
            noise=2.0 * seen.noise.angle_deg,
            joint=seen.motion.angle_joints[limb, "hock"],
        )
    return found


def out_of_range(seen: Seen) -> list[Finding]:
    """Find limb joints outside what the living joint does."""
    found: list[Finding] = []
    for (limb, word), angle in seen.motion.angles_deg.items():
        for below in (True, False):
            found += _past(
                seen,
                OUT_OF_RANGE,
                f"{word}_range",
                limb,
                angle,
                f"bring the {word.replace('_', ' ')} back inside its range",
                below=below,
                noise=1.2 * seen.noise.angle_deg,
                joint=seen.motion.angle_joints[limb, word],
            )
    return found
