"""The files that an animator takes over: motion, channels, keys, control curves, key poses."""

from __future__ import annotations

import numpy as np

from gaitgen.formats import bvh, channels
from gaitgen.formats import controls as control_files
from gaitgen.formats import keys as key_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.decimals import table_text
from gaitgen.formats.wanted import HandOff
from gaitgen.motion.keys import Keys
from gaitgen.motion.measure import slip_m
from gaitgen.motion.motion import Motion
from gaitgen.motion.report import KeyFacts

# Deviations are told in whole micrometres and millionths of a degree: their last digits are those of a fit.
TOLD_DIGITS = 6

__all__ = ["HandOff", "encode", "key_facts"]


def encode(clip: Motion, space: FileSpace, wanted: HandOff) -> tuple[dict[str, bytes], Keys | None]:
    """Encode the motion, and what is wanted beside it.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.
    wanted
        Which files.

    Returns
    -------
    files
        End of each file's name, such as ``.bvh`` or ``.keys.csv``, to its contents.
    keys
        The keys of the channels, if they are wanted.

    Raises
    ------
    RequestError
        If the size of the rig is not usable.
    FileFormatError
        If the clip cannot be written.
    """
    table = bvh.channel_table(clip, space)
    rows = table_text(table.values, table.names)
    files = {
        ".bvh": bvh.above_rows(clip, space) + rows,
        ".channels.csv": channels.with_frames(table.names, rows, clip.frame_rate_hz),
    }
    keys = None
    if wanted.keys:
        keys = key_files.channel_keys(clip, space, wanted.tolerance, table, is_sparse=wanted.sparse)
        files[".keys.csv"] = key_files.encode(keys)
    if wanted.key_poses:
        files[".poses.bvh"] = key_files.encode_key_poses(clip, space)
    if wanted.controls:
        files |= _control_files(clip, space, wanted)
    return files, keys


def key_facts(clip: Motion, keys: Keys, space: FileSpace) -> KeyFacts:
    """Sum up the keys of the channels for the report.

    ``planted_drift_m`` is how far a planted toe gets from its print if the splines turn the joints, at frames
    and between them: small errors of many joints add up at the foot. The control curves do not drift.
    """
    drift_m = slip_m(key_files.played_clip(clip, keys, space))
    return facts_of(keys, space.metres_per_unit, drift_m)


def facts_of(keys: Keys, metres_per_unit: float, drift_m: float) -> KeyFacts:
    """Sum up keys in some unit, whose planted toes drift by so much at frames. [m]"""
    is_length = np.array([name.endswith("position") for name in keys.names])
    busiest = int(keys.count.argmax())
    between_m = 0.0 if keys.drift is None else keys.drift * metres_per_unit
    return KeyFacts(
        keys=int(keys.count.sum()),
        channels=len(keys.names),
        poses=len(keys.poses),
        most_per_channel=int(keys.count[busiest]),
        busiest_channel=keys.names[busiest],
        worst_deviation_deg=round(float(keys.deviation[~is_length].max()), TOLD_DIGITS),
        worst_deviation_m=round(float(keys.deviation[is_length].max()) * metres_per_unit, TOLD_DIGITS),
        planted_drift_m=max(between_m, drift_m),
    )


def _control_files(clip: Motion, space: FileSpace, wanted: HandOff) -> dict[str, bytes]:
    from gaitgen.motion.controls import controls, rig_scale

    height = None if wanted.rig_height is None else wanted.rig_height * space.metres_per_unit
    scale = rig_scale(clip.animal.withers_height_m, factor=wanted.rig_scale, height_m=height, unit=space.unit)
    curves = controls(clip, scale)
    files = {".controls.csv": control_files.encode(curves, space, clip.frame_rate_hz)}
    if wanted.keys:
        keys = control_files.control_keys(
            clip, curves, space, wanted.tolerance, scale, is_sparse=wanted.sparse
        )
        files[".controls.keys.csv"] = key_files.encode(keys)
    return files
