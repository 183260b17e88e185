"""The files that an animator takes over: motion, channels, keys, control curves, key poses."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from gaitgen.errors import RequestError
from gaitgen.formats import bvh, channels
from gaitgen.formats import controls as control_files
from gaitgen.formats import keys as key_files
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.decimals import table_text
from gaitgen.motion.keys import Keys, Tolerance
from gaitgen.motion.measure import slip_m
from gaitgen.motion.motion import Motion


@dataclass(frozen=True)
class HandOff:
    """What is wanted beside the motion.

    Attributes
    ----------
    keys
        Whether to write keys.
    controls
        Whether to write control curves (and their keys, if keys are wanted).
    key_poses
        Whether to write a BVH of the named poses alone.
    tolerance
        How far the splines may be from the motion.
    rig_scale
        Size of the rig against the animal; None is the animal's own size.
    rig_height
        Withers height of the rig, the other way to give its size. [unit of the file]
    """

    keys: bool = True
    controls: bool = False
    key_poses: bool = False
    tolerance: Tolerance = field(default_factory=Tolerance)
    rig_scale: float | None = None
    rig_height: float | None = None

    def __post_init__(self) -> None:
        """Refuse what would have no effect.

        Raises
        ------
        RequestError
            If the size of a rig is given and no control curves are wanted.
        """
        if not self.controls and not (self.rig_scale is None and self.rig_height is None):
            raise RequestError("the size of a rig changes the control curves only; add --controls")


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
        If the poses cannot be frames of a BVH, or the size of the rig is not usable.
    FileFormatError
        If the clip cannot be written.
    """
    table = bvh.channel_table(clip, space)
    rows = table_text(table.values, table.names)
    files = {
        ".bvh": bvh.above_rows(clip, space) + rows,
        ".channels.csv": channels.with_frames(table.names, rows, clip.frame_rate_hz),
    }
    keys = key_files.channel_keys(clip, space, wanted.tolerance, table) if wanted.keys else None
    if keys is not None:
        files[".keys.csv"] = key_files.encode(keys)
    if wanted.key_poses:
        files[".keys.bvh"] = key_files.encode_key_poses(clip, space)
    if wanted.controls:
        files |= _control_files(clip, space, wanted)
    return files, keys


def key_facts(clip: Motion, keys: Keys, space: FileSpace) -> dict[str, object]:
    """Sum up the keys of the channels for the report.

    ``planted_drift_m`` is how far a planted toe gets from its print if the splines turn the joints: small
    errors of many joints add up at the foot. The control curves do not drift.
    """
    is_length = np.array([name.endswith("position") for name in keys.names])
    busiest = int(keys.count.argmax())
    return {
        "keys": int(keys.count.sum()),
        "channels": len(keys.names),
        "poses": len(keys.poses),
        "most_per_channel": int(keys.count[busiest]),
        "busiest_channel": keys.names[busiest],
        "worst_deviation_deg": float(keys.deviation[~is_length].max()),
        "worst_deviation_m": float(keys.deviation[is_length].max()) * space.metres_per_unit,
        "planted_drift_m": slip_m(key_files.played_clip(clip, keys, space)),
    }


def _control_files(clip: Motion, space: FileSpace, wanted: HandOff) -> dict[str, bytes]:
    from gaitgen.motion.controls import controls, rig_scale

    height = None if wanted.rig_height is None else wanted.rig_height * space.metres_per_unit
    scale = rig_scale(
        clip.skeleton.withers_height_m, factor=wanted.rig_scale, height_m=height, unit=space.unit
    )
    curves = controls(clip, scale)
    files = {".controls.csv": control_files.encode(curves, space, clip.frame_rate_hz)}
    if wanted.keys:
        keys = control_files.control_keys(clip, curves, space, wanted.tolerance, scale)
        files[".controls.keys.csv"] = key_files.encode(keys)
    return files
