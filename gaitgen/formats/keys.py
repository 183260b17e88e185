"""Writes keys as a table: comma-separated values after RFC 4180, but with LF; and key poses as BVH."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import PAIR_CHAINS, SPINE
from gaitgen.errors import RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.decimals import table_text
from gaitgen.motion.keys import Keys, choose_keys, pose_frames
from gaitgen.motion.measure import slip_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.tolerance import Tolerance
from gaitgen.numerics.rotations import continuous_sign, matrix_from_euler, quaternion_from_matrix

Array = npt.NDArray[np.float64]

MOST_TIGHTENINGS = 4
COLUMNS = ("channel", "frame", "value", "slope_in", "slope_out", "pose")


def tolerances(names: tuple[str, ...], space: FileSpace, tolerance: Tolerance, scale: float = 1.0) -> Array:
    """Tolerance of each channel in the unit of the file, (channels,), told by the channel's word.

    ``scale`` is the size of the rig against the animal: lengths on a rig of half the size are kept twice
    as closely.
    """
    length = tolerance.length_mm / 1000.0 / space.metres_per_unit * scale
    words = {"position": length, "breath": tolerance.share, "planted": tolerance.share}
    known = [next((v for word, v in words.items() if name.endswith(word)), None) for name in names]
    return np.array([tolerance.angle_deg if value is None else value for value in known])


def channel_keys(clip: Motion, space: FileSpace, tolerance: Tolerance | None = None) -> Keys:
    """Choose the keys of every channel of the BVH file.

    Small errors of many joints add up at a foot. Where planted toes would drift more than the tolerance
    for lengths when the splines turn the joints, back and legs are kept more closely until they do not.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.
    tolerance
        How far the splines may be from the motion; half a degree and 3 mm if not given.

    Raises
    ------
    FileFormatError
        If a joint's name cannot be written, or a number is not finite.
    """
    names, table = bvh.channel_table(clip, space)
    tolerance = tolerance or Tolerance()
    each = tolerances(names, space, tolerance)
    carries = np.array([_carries(name) for name in names])

    def choose(allowed: Array) -> Keys:
        return choose_keys(clip, names, table, allowed)

    def drift_m(keys: Keys) -> float:
        return slip_m(played_clip(clip, keys, space))

    return holding_feet(choose, drift_m, each, carries, tolerance.length_mm / 1000.0)


def holding_feet(
    choose: Callable[[Array], Keys],
    drift_m: Callable[[Keys], float],
    allowed: Array,
    carries: npt.NDArray[np.bool_],
    most_m: float,
) -> Keys:
    """Choose keys, more closely for the channels that carry the feet until planted feet hold.

    Parameters
    ----------
    choose
        Chooses keys for tolerances (channels,).
    drift_m
        Tells how far planted feet drift when the splines play. [m]
    allowed
        (channels,) tolerances to begin with.
    carries
        (channels,) whether a channel moves the feet.
    most_m
        Drift to stay under; the best of a few tries is taken. [m]
    """
    keys = choose(allowed)
    for _ in range(MOST_TIGHTENINGS):
        drift = drift_m(keys)
        if drift <= most_m:
            break
        allowed = np.where(carries, allowed * max(0.15, 0.7 * most_m / drift), allowed)
        keys = choose(allowed)
    return keys


def _carries(channel: str) -> bool:
    """Tell whether a channel moves the feet: the root, the back, and the legs."""
    joint = channel.partition(".")[0].removesuffix("_L").removesuffix("_R")
    return joint in {*SPINE, *PAIR_CHAINS["fore"], *PAIR_CHAINS["hind"]}


def played_clip(clip: Motion, keys: Keys, space: FileSpace) -> Motion:
    """Return the clip as the splines through its channels' keys play it."""
    table = keys.played()
    order = list(bvh.depth_first(clip.skeleton))
    angles_rad = np.radians(table[:, 3:]).reshape(clip.frames, len(order), 3)
    matrices = space.rotations_from_file(matrix_from_euler(angles_rad, space.rotation_order))
    rotations = np.empty_like(clip.rotations)
    rotations[:, order] = continuous_sign(quaternion_from_matrix(matrices))
    return replace(clip, root_path_m=space.positions_from_file(table[:, :3]), rotations=rotations)


def encode(keys: Keys) -> bytes:
    """Write one row a key: ``channel,frame,value,slope_in,slope_out,pose``.

    Frames count from 1; slopes are in units per frame. ``pose`` is the name of the pose that the key
    belongs to, empty for a key that only the curve needs.

    Returns
    -------
    bytes
        The whole file; the same keys always give the same bytes.

    Raises
    ------
    FileFormatError
        If a number is not finite or too large to be a length or an angle.
    """
    numbers = np.stack([keys.value, keys.slope_in, keys.slope_out], axis=1)  # (keys, 3)
    rows = table_text(numbers, COLUMNS[2:5], b",").decode("ascii").splitlines()
    poses = {frame: '"' + name.replace('"', '""') + '"' for frame, name in keys.poses.items()}
    places = zip(keys.channel.tolist(), keys.frame.tolist(), rows, strict=True)
    lines = [f"{keys.names[k]},{frame},{row},{poses.get(frame, '')}" for k, frame, row in places]
    return ("\n".join([",".join(COLUMNS), *lines]) + "\n").encode("utf-8")


def encode_key_poses(clip: Motion, space: FileSpace) -> bytes:
    """Write a BVH whose frames are the named poses alone, with the numbers of the full file.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.

    Raises
    ------
    RequestError
        If the poses are not evenly spaced on whole frames, which BVH cannot express.
    FileFormatError
        If the clip cannot be written.
    """
    frames = np.array([frame for frame, _ in pose_frames(clip)])
    steps = np.diff(frames)
    shown = ", ".join(f"{frame:g}" for frame in frames[:9]) + (", ..." if frames.size > 9 else "")
    advice = (
        "make the cycle 8 x n frames long with a lag of 0.25, or use the keys file, which holds any spacing"
    )
    if steps.size == 0 or np.ptp(steps) > 1e-6 or frames[0] > 1.0 + 1e-6:
        raise RequestError(f"the key poses are at frames {shown}: a BVH has even frames only; {advice}")
    rows = np.rint(frames).astype(np.int64)
    if np.abs(frames - rows).max() > 1e-6:
        raise RequestError(f"the key poses are at frames {shown}: not all are whole frames; {advice}")
    head, motion = bvh.encode(clip, space).split(b"MOTION\n", 1)
    lines = motion.splitlines(keepends=True)[2:]
    frame_time_s = float(steps[0]) / clip.frame_rate_hz
    timing = f"MOTION\nFrames: {rows.size}\nFrame Time: {frame_time_s:.8f}\n".encode("ascii")
    return head + timing + b"".join(lines[row - 1] for row in rows.tolist())
