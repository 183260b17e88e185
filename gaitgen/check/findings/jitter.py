"""Jitter: joints, or the body, that go to and fro from frame to frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.spatial.transform import Rotation

from gaitgen.check.finding import Finding
from gaitgen.check.findings.noise_bounds import (
    alternating,
    between_halves,
    between_strides,
    gone_round,
    in_quiet_parts,
)
from gaitgen.check.findings.opposite import opposite
from gaitgen.check.seen import Seen
from gaitgen.check.shot.strides import GOES, JUMPS, STANDS
from gaitgen.formats.bvh_file import channel_columns, rotation_letters
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS

Array = npt.NDArray[np.float64]

# Frames of a stride from which what goes to and fro is looked for in one.
LEAST_STRIDE = 20
LEAST_STRIDE_OF_A_RUN = 24  # whose legs turn the more quickly
# Frames of a clip without a gait, and of one in which strides change, from which single joints are judged.
LEAST_UNKNOWN = (40, 60)
EVERYWHERE = 0.6  # of the moving channels
MOVES_DEG = 1e-3
SMOOTH = "smooth the curves, or key them anew: they go to and fro from frame to frame"
SMOOTH_ROOT = "smooth the path of the body: it shakes from frame to frame"
MIDDLE, POLE = 1, 0.5  # of three channels, and the cosine of it from which the others swing (estimate)
WHOLE_DEG = 150.0  # what turns farther from its mean is told by its channels: there turns are no vectors
AGAIN = 0.25  # of what looks like noise: where halves of a stride differ by less, it comes again and is none
# What turns about in every frame is no motion, be it that it comes again: it has one sign in nearly all rows
# of its sixth difference, taken with the signs of the rows in turn. In no gait of 18 frames or more of the
# animals here that is over 0.25 degrees.
TURNS_ABOUT, LEAST_OF_ROWS, LEAST_TURNS = 6, 0.1, 18
# A joint alone shakes by so many times the limit, and times its mate and the rest of the clip: a few sharp
# turns look like noise, and so do they all in a noisy clip.
ALONE, OVER_REST = 2.0, 3.0
# In a shot of strides of few frames turns leave up to 0.046 of a joint's range that looks like noise, and
# of how far the root goes up and down: no less is told there (joins of the animals here at 24 fps).
OF_ITS_RANGE = 0.06
# Back, neck, head and tail move so smoothly, and so much alike, that less tells there: by so many times the
# limit, and by so many times nearly all the rest of them.
ALONE_OF_BODY, CHANGES_OF_BODY, SPREAD_OF_BODY, NEARLY_ALL = 1.5, 0.62, 2.6, 0.9


def jitter(seen: Seen) -> list[Finding]:
    """Find jitter of all joints, of single ones, and of the root.

    In a stride of few frames, whose quick turns go to and fro as noise does, only what turns about in each,
    and the root: a body is heavy, and in the gaits of 18 frames or more of the animals here its path goes to
    and fro by half its limit at the most (in fewer by up to three times that).
    """
    least = LEAST_STRIDE if seen.gait is None or seen.gait.walks else LEAST_STRIDE_OF_A_RUN
    if (seen.gait is not None or seen.usual_period) and seen.period < least:
        return _turning_about(seen) + _of_root(seen) if seen.period >= LEAST_TURNS else []
    return _of_joints(seen) + _of_root(seen)


def over_strides(seen: Seen) -> list[Finding]:
    """Find the same in several strides, be they of few frames: so many rows tell noise from turns.

    Not of single joints where the animal jumps: its legs do there what comes in no other stride.
    """
    found = _of_joints(seen)
    if any(part.stretch.what == JUMPS for part in seen.parts):
        found = [finding for finding in found if finding.limb == "all joints"]
    found += _of_root(seen)
    quick = [part.seen.period for part in seen.parts if part.stretch.what != STANDS]
    if not quick or min(quick) >= LEAST_STRIDE_OF_A_RUN:
        return found
    wide = _ranges(seen)
    return [each for each in found if each.amount > OF_ITS_RANGE * wide.get(each.limb, 0.0)]


def _ranges(seen: Seen) -> dict[str, float]:
    """How far each joint turns in its widest channel [degrees], the root how far up. [mm]"""
    values, joints = channels(seen)
    names, wide = seen.motion.file.joint_names, np.zeros(len(seen.motion.file.joint_names))
    np.maximum.at(wide, joints, np.ptp(values, axis=0))
    found = dict(zip(names, wide.tolist(), strict=True))
    found[names[0]] = 1000.0 * float(np.ptp(seen.motion.root_m[:, 2]))
    return found


def is_everywhere(found: Sequence[Finding]) -> bool:
    """Whether all joints jitter, so that hardly anything else can be told."""
    return any(finding.kind == "jitter" and finding.limb == "all joints" for finding in found)


def channels(seen: Seen) -> tuple[Array, npt.NDArray[np.int64]]:
    """Return the rotation channels without turns of 360 degrees, (frames, channels), and whose each is.

    Of a joint that comes near the pole of its order, where first and last channel swing against each other,
    it is the turn from its mean, about the axes of the joint above.
    """
    file = seen.motion.file
    columns = channel_columns(file, "rotation")
    joints = np.repeat(np.arange(len(columns)), [len(own) for own in columns])
    values = file.rows[:, [k for own in columns for k in own]]
    values = np.degrees(np.unwrap(np.radians(values), axis=0))
    for joint, own in enumerate(columns):
        if len(own) == MIDDLE + 2 and np.abs(np.cos(np.radians(file.rows[:, own[MIDDLE]]))).min() < POLE:
            turned = Rotation.from_euler(rotation_letters(file, joint), file.rows[:, own], degrees=True)
            away = (turned * turned.mean().inv()).as_rotvec(degrees=True)
            if np.linalg.norm(away, axis=1).max() < WHOLE_DEG:
                values[:, joints == joint] = away
    return values, joints


def _of_joints(seen: Seen) -> list[Finding]:
    file = seen.motion.file
    values, joints = channels(seen)
    if seen.loop.repeats_first:
        over = values[-1] - values[0]
    else:
        over = 360.0 * np.round((values[-1] - values[0]) / 360.0)
    long = gone_round(seen, values, over)
    found, size = alternating(long)  # (channels,) each
    most = between_strides(seen, values)
    halves = between_halves(seen)[joints]
    most = np.where(halves < AGAIN * size, np.minimum(most, halves), most)
    about = every_frame(values)
    found = np.minimum(np.minimum(found, most), in_quiet_parts(seen, values))
    size = np.minimum(size, most)
    found, size = np.maximum(found, about), np.maximum(size, about)
    noise, restless = np.zeros(len(file.joint_names)), np.zeros(len(file.joint_names))
    np.maximum.at(noise, joints, found)
    np.maximum.at(restless, joints, size)
    every = found[np.ptp(values, axis=0) > MOVES_DEG]
    limit = seen.limits["jitter"].top
    frames, do = (0, seen.motion.frames - 1), SMOOTH
    if every.size and (every > limit / 2.0).mean() > EVERYWHERE:
        typical = float(np.median(every[every > 0.0]))
        return seen.finding("jitter", "all joints", frames, typical, do)
    shaky = noise > np.maximum(ALONE * limit, OVER_REST * _mates(seen, restless))
    shaky |= _of_body(seen, long, joints, restless, shaky, most)
    noise = np.where(shaky, np.maximum(noise, restless), noise)
    if seen.noise.angle_deg > 0.0:  # what turns sharply cannot be told from what is noisy
        shaky[[joint for limb in LIMBS for joint in seen.motion.limb_joints(limb)]] = False
        shaky &= noise > OVER_REST * seen.noise.angle_deg
    shaky |= _is_turning(seen, about, joints)
    if len(values) < LEAST_UNKNOWN[seen.shot is not None] and _knows_no_stride(seen):
        return _turning_about(seen)  # quick turns go to and fro as noise does
    for limb in LIMBS:
        own = seen.motion.limb_joints(limb)
        others = [joint for joint in np.flatnonzero(shaky) if joint not in own]
        if not others and shaky[own].sum() > 1:
            return seen.finding("jitter", limb, frames, float(noise[own].max()), do)
    alone: list[Finding] = []
    for joint in np.flatnonzero(shaky).tolist():
        alone += seen.finding("jitter", file.joint_names[joint], frames, float(noise[joint]), do)
    return alone


def _knows_no_stride(seen: Seen) -> bool:
    """Whether there are no strides that are alike, of which one would tell what is usual in another."""
    return seen.gait is None and not any(part.stretch.what == GOES for part in seen.parts)


def _turning_about(seen: Seen) -> list[Finding]:
    """Find joints that turn about in every frame."""
    values, joints = channels(seen)
    about = every_frame(values)
    found: list[Finding] = []
    for joint in np.flatnonzero(_is_turning(seen, about, joints)).tolist():
        name, size = seen.motion.file.joint_names[joint], float(about[joints == joint].max())
        found += seen.finding("jitter", name, (0, seen.motion.frames - 1), size, SMOOTH)
    return found


def _is_turning(seen: Seen, about: Array, joints: npt.NDArray[np.int64]) -> npt.NDArray[np.bool_]:
    """Tell which joints, (joints,), have a channel (channels,) [degrees] that turns about in every frame."""
    size = np.zeros(len(seen.motion.file.joint_names))
    np.maximum.at(size, joints, about)
    over = max(ALONE * seen.limits["jitter"].top, OVER_REST * seen.noise.angle_deg)
    return size > over


def _of_body(
    seen: Seen,
    long: Array,
    joints: npt.NDArray[np.int64],
    restless: Array,
    shaky: npt.NDArray[np.bool_],
    most: Array,
) -> npt.NDArray[np.bool_]:
    """Tell which joints of back, neck, head and tail shake, (joints,), where nothing else is so restless.

    Parameters
    ----------
    seen, long
        The clip and its channels (rows, channels).
    joints
        (channels,) whose each is.
    restless, shaky
        (joints,) how restless they are, and which are known to shake.
    most
        (channels,) how noisy each can be at most.
    """
    loose, _ = alternating(long, CHANGES_OF_BODY, SPREAD_OF_BODY)
    loose = np.minimum(loose, most)
    noise = np.zeros(len(restless))
    np.maximum.at(noise, joints, loose)
    names = [*seen.motion.map.spine, *seen.motion.map.neck, *seen.motion.map.tail]
    names += [seen.motion.map.head] if seen.motion.map.head else []
    body = sorted({seen.motion.joint(name) for name in names} - {0})
    found = np.zeros(len(restless), dtype=bool)
    for joint in body:
        others = [each for each in body if each != joint and not shaky[each]]
        if others:
            usual = float(np.quantile(restless[others], NEARLY_ALL))
            limit = ALONE_OF_BODY * seen.limits["jitter"].top
            found[joint] = noise[joint] > max(limit, OVER_REST * usual)
    return found


def _mates(seen: Seen, noise: Array) -> Array:
    """Return the noise of each limb joint's mates of the other side; 0 for what has none."""
    found = np.zeros_like(noise)
    for joint, mates in opposite(seen).items():
        found[joint] = noise[list(mates)].max()
    return found


def _of_root(seen: Seen) -> list[Finding]:
    columns = channel_columns(seen.motion.file, "position")[0]
    path = seen.motion.file.rows[:, columns]
    way = path[-1] - path[0]
    if seen.loop.closes and not seen.loop.repeats_first:  # one step more, to where frame 1 comes again
        way = (way + (path[1] - path[0] + path[-1] - path[-2]) / 2.0) * (len(path) - 1) / len(path)
    steady = np.linspace(0.0, 1.0, len(path))[:, None] * way
    noise, _ = alternating(gone_round(seen, path - steady, np.zeros(len(columns))))
    metres = unit_m(seen.motion.map.unit)
    return seen.finding(
        "jitter",
        seen.motion.file.joint_names[0],
        (0, seen.motion.frames - 1),
        1000.0 * metres * float(noise.max()),
        SMOOTH_ROOT,
        limit_name="root_jitter",
    )


def every_frame(values: Array) -> Array:
    """Return by how much curves (frames, curves) turn about in nearly every frame, (curves,); else 0.

    That is the top of what can be sampled, half the frame rate, all along the clip, in one phase. Turns of a
    leg or a nod, however quick, last a few frames, and noise changes its phase.
    """
    if len(values) <= LEAST_TURNS:
        return np.zeros(values.shape[1])
    high = np.diff(values, n=TURNS_ABOUT, axis=0) / 2.0**TURNS_ABOUT
    high[1::2] *= -1.0
    high *= np.sign(np.median(high, axis=0))
    return np.maximum(np.quantile(high, LEAST_OF_ROWS, axis=0), 0.0)
