"""Writes the way of a body over the ground as a table, for a joint above the rest: RFC 4180, but with LF."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import POSITION_WORDS
from gaitgen.formats.channels import with_frames
from gaitgen.formats.decimals import table_text

Array = npt.NDArray[np.float64]


def encode(place_m: Array, heading_rad: Array, space: FileSpace, frame_rate_hz: float) -> bytes:
    """Write one row a frame: ``frame,time_s,path.Xposition,...,path.heading``.

    Parameters
    ----------
    place_m
        (frames, 3) on the ground under the body. [m]
    heading_rad
        (frames,) to the left of x. [rad]
    space
        Unit and axes; the heading is in degrees about up.
    frame_rate_hz
        Frames per second. [Hz]
    """
    names = (*(f"path.{word}" for word in POSITION_WORDS), "path.heading")
    values = np.concatenate([space.positions_to_file(place_m), np.degrees(heading_rad)[:, None]], axis=1)
    return with_frames(names, table_text(values, names), frame_rate_hz)
