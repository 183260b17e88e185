"""Both sides of a body against each other: joints and toes of one, and of the other half a stride later."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.check.finding import Finding
from gaitgen.check.findings.in_step import in_step
from gaitgen.check.findings.mates import unlike_deg
from gaitgen.check.findings.opposite import mates_of_joints
from gaitgen.check.findings.spikes import spikes
from gaitgen.check.seen import STANDS_OUT, Seen
from gaitgen.check.trial import MIRROR, taken_apart
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

# Of what goes to and fro from frame to frame, so much is in the upper half of the spectrum of a stride (half
# of it where all of it is noise), and half of the frames have so much of the usual size (a pop has one).
FAST, SPREAD = 0.3, 0.35
# A joint that shakes does so this much more than the rest, and than the limit for one that is seen for long.
OVER_REST, OVER_LIMIT = 3.0, 2.5
LEAST_ROWS = 8
NOISIEST = 4  # order of the differences, in which noise outgrows the turns of a leg
LEAST_STRIDES = 1.5  # from which a foot is held against itself
APART = 0.5  # of how far they are apart at the most: where they are
SURELY = 1.3  # times its mate: a foot that does so is the one that is off


def shaking(seen: Seen) -> list[Finding]:
    """Find a joint that shakes in a stride of few frames, by what its mate does half a stride later."""
    gait, loop = seen.gait, seen.loop
    if gait is None or not loop.closes or loop.frames % 2 or loop.frames < LEAST_ROWS:
        return []
    if round(gait.strides) != 1 or seen.noise.angle_deg > 0.0:
        return []
    motion, n = seen.motion, loop.frames
    turns, mates = taken_apart(motion).turns[:n], mates_of_joints(seen)
    other = np.roll(MIRROR @ turns[:, mates] @ MIRROR, -(n // 2), axis=0)
    between = np.swapaxes(other, -1, -2) @ turns  # (frames, joints, 3, 3)
    apart = np.degrees(
        np.stack(
            [
                between[..., 2, 1] - between[..., 1, 2],
                between[..., 0, 2] - between[..., 2, 0],
                between[..., 1, 0] - between[..., 0, 1],
            ],
            axis=-1,
        )
        / 2.0
    )  # (frames, joints, 3)
    spectrum = (np.abs(np.fft.rfft(apart, axis=0)) ** 2).sum(axis=2)
    fast = spectrum[n // 4 + 1 :].sum(axis=0) / np.maximum(spectrum[1:].sum(axis=0), 1e-12)
    size = np.linalg.norm(apart - apart.mean(axis=0), axis=2)  # (frames, joints)
    usual = np.sqrt((size**2).mean(axis=0))
    is_noise = (fast > FAST) & (np.median(size, axis=0) > SPREAD * usual)
    noise = np.where(is_noise, usual / np.sqrt(3.0), 0.0)
    ears = [motion.joint(name) for name in (motion.map.ear_left, motion.map.ear_right) if name]
    noise[ears] = 0.0
    noise[_on_one_side(seen, mates)] = 0.0
    noise[[joint for _, joint, _ in spikes(seen)]] = 0.0
    worst = int(noise.argmax())
    pair = [worst, int(mates[worst])]
    if noise[worst] < OVER_LIMIT * seen.limits["jitter"].top:
        return []
    if noise[worst] < OVER_REST * float(np.quantile(np.delete(usual, pair), 0.9)):
        return []
    joint = pair[int(np.argmax(_restless(turns[:, pair])))]
    return seen.finding(
        "jitter",
        motion.file.joint_names[joint],
        (0, motion.frames - 1),
        float(noise[worst]),
        "smooth the curves, or key them anew: they go to and fro from frame to frame"
        + (", and those of its mate do not" if pair[0] != pair[1] else ""),
    )


def _on_one_side(seen: Seen, mates: Ints) -> Ints:
    """Return joints that hang on one side's and have no mate: half a stride later nothing does the same."""
    parents = np.asarray(seen.motion.file.parents)
    alone = np.flatnonzero((mates == np.arange(len(mates))) & (parents >= 0))
    hung = np.asarray(mates[parents[alone]] != parents[alone])
    return np.asarray(alone[hung])


def _restless(turns: Array) -> Array:
    """How much noise is in turns of joints (rows, joints, 3, 3) of a loop, (joints,).

    Differences go round the loop: without those over its end, half of a short stride is left out of one leg
    and not of its mate, whose turns are half a stride later.
    """
    for _ in range(NOISIEST):
        turns = np.roll(turns, -1, axis=0) - turns
    return np.asarray((turns**2).mean(axis=(0, 2, 3)))


def swings_unlike(seen: Seen) -> list[Finding]:
    """Find a foot that takes another way through the air than its mate half a stride later."""
    gait, loop, motion = seen.gait, seen.loop, seen.motion
    if gait is None or not loop.closes or seen.noise.angle_deg > 0.0:
        return []
    even = unlike_deg(seen)
    n, period = loop.frames, round(gait.period)
    tops = [motion.limb_joints(limb)[0] for limb in LIMBS]
    facing = np.angle(np.exp(1j * motion.heading_rad).mean())
    away = motion.toes_m[:n] - motion.places_m[:n][:, tops]
    turn = np.array(
        [[np.cos(facing), np.sin(facing), 0.0], [-np.sin(facing), np.cos(facing), 0.0], [0.0, 0.0, 1.0]]
    )
    away = away @ turn.T
    ways = [away]
    if period % 2:  # one flight is longer by a frame, and its body higher: feet may be alike over the ground
        ways.append(np.concatenate([away[..., :2], motion.toes_m[:n, :, 2:]], axis=-1))
    found: list[Finding] = []
    for left, right in ((0, 1), (2, 3)):
        if LIMBS[left] not in even:
            continue
        laters = [np.arange(float(n)) + half for half in sorted({period // 2, -(-period // 2)})]
        if period % 2 and n % period == 0:
            laters.append(in_step(gait, left, right, n))
        way, later, mate, apart = min(
            (_half_later(each[:, left], each[:, right], later) for each in ways for later in laters),
            key=lambda each: float(each[3].max()),
        )
        row = int(apart.argmax())
        share = 100.0 * float(apart[row]) / motion.hip_height_m
        unlike = _unlike_itself_m(seen, away[:, [left, right]])
        off = (way[row] - mate[row]) / max(float(apart[row]), 1e-9)
        # The one that bends more, in all or where they are apart, or goes farther there, was moved.
        both = (way, mate)
        bends = [float((np.diff(each, n=2, axis=0) ** 2).sum()) for each in both]
        if max(bends) < SURELY * min(bends):
            bends = [_bend(each, apart > APART * apart[row]) for each in both]
        if max(bends) < SURELY * min(bends):
            bends = [float(np.ptp(each @ off)) for each in both]
        limb = (left, right)[int(np.argmax(bends))]
        at = row if limb == left else round(float(later[row])) % n
        is_sure = max(bends) > SURELY * min(bends)
        found += seen.finding(
            "swing unlike other side",
            LIMBS[limb],
            (at, at),
            share,
            "let the foot take the way that its mate takes half a stride later: it is "
            f"{1000.0 * apart[row]:.0f} mm off it"
            + ("" if is_sure else "; or its mate is off, which cannot be told"),
            noise=100.0 * unlike / motion.hip_height_m / STANDS_OUT,
        )
    return found


def _half_later(way_m: Array, mate_m: Array, later: Array) -> tuple[Array, Array, Array, Array]:
    """Hold a foot (rows, 3) against its mate, mirrored, at the rows ``later`` that are half a stride later.

    In a stride of an odd number of frames one of both sides is half a frame early on whole frames, and the
    other late: there each way of rounding is tried.

    Returns
    -------
        The way, the rows, the way of the mate (rows, 3), and how far the foot is from it (rows,). [m]
    """
    n = len(mate_m)
    at, part = np.divmod(later, 1.0)
    before, after = (mate_m[(at.astype(np.int64) + k) % n] for k in (0, 1))
    mate = ((1.0 - part)[:, None] * before + part[:, None] * after) * np.array([1.0, -1.0, 1.0])
    return way_m, later, mate, np.linalg.norm(way_m - mate, axis=1)


def _bend(way_m: Array, where: npt.NDArray[np.bool_]) -> float:
    """How much a way (rows, 3) of a loop bends at some of its rows, squared. [m^2]"""
    bend = np.roll(way_m, -1, axis=0) - 2.0 * way_m + np.roll(way_m, 1, axis=0)
    return float((bend[where] ** 2).sum())


def _unlike_itself_m(seen: Seen, away_m: Array) -> float:
    """How far feet (rows, feet, 3) are from where they are a stride later; 0 in a single stride. [m]"""
    if seen.gait is None or seen.gait.strides < LEAST_STRIDES:
        return 0.0
    later = np.roll(away_m, -round(seen.gait.period), axis=0)
    return float(np.linalg.norm(later - away_m, axis=2).max())
