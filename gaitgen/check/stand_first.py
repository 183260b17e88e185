"""A clip whose first frame is the standing pose of its rig, and not of its motion."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import BvhFile, channel_columns, local_rotations
from gaitgen.rigs.rest import RestPose

# A joint that turns by more than this from a standing pose to the frame after it does not start to go there
# (estimate: a start from a stand takes several frames to be as quick). [rad]
STARTS_RAD = np.radians(10.0)
SAME_DEG = 0.01  # numbers as near as this are those of the standing pose: files have two digits or more


def without_stand(file: BvhFile, stands: RestPose, least_frames: int) -> tuple[BvhFile, tuple[Notice, ...]]:
    """Leave the first frame of a clip out if the rig stands there alone, and the motion begins after it.

    Parameters
    ----------
    file
        The clip.
    stands
        How its rig stands.
    least_frames
        How many frames must be left.

    Returns
    -------
    The clip, and what was left out.
    """
    columns = [column for own in channel_columns(file, "rotation") for column in own]
    apart = np.abs(file.rows[0, columns] - np.concatenate([[], *stands.angles_deg]))
    if len(file.rows) <= least_frames or apart.max(initial=0.0) > SAME_DEG:
        return file, ()
    first, second = local_rotations(replace(file, rows=file.rows[:2]))
    traces = np.einsum("jab,jab->j", first, second)
    if np.arccos(np.clip((traces - 1.0) / 2.0, -1.0, 1.0)).max() <= STARTS_RAD:
        return file, ()
    text = (
        "frame 1 is the rig's standing pose alone and is left out: "
        "what is frame 1 here is frame 2 of the file."
    )
    return replace(file, rows=file.rows[1:]), (Notice("rest", text),)
