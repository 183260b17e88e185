"""Writes the channels of a BVH file as a table: comma-separated values after RFC 4180, but with LF."""

from __future__ import annotations

from collections.abc import Sequence

from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import channel_table
from gaitgen.formats.cells import cell
from gaitgen.formats.decimals import table_text
from gaitgen.motion.motion import Motion


def encode(clip: Motion, space: FileSpace) -> bytes:
    """Write one row a frame: ``frame,time_s,pelvis.Xposition,...``.

    Frames count from 1; frame 1 is at 0 s. Positions are in the file's unit, angles in degrees.

    Parameters
    ----------
    clip
        The motion.
    space
        Unit, axes and rotation order.

    Returns
    -------
    bytes
        The whole file; the same clip always gives the same bytes.

    Raises
    ------
    FileFormatError
        If a joint's name cannot be written, or a number is not finite.
    """
    names, values = channel_table(clip, space)
    return with_frames(names, table_text(values, names), clip.frame_rate_hz)


def with_frames(names: Sequence[str], rows: bytes, frame_rate_hz: float) -> bytes:
    """Put names above printed rows, and frame, from 1, and time before them.

    Parameters
    ----------
    names
        Name of each column.
    rows
        One line a frame, with single spaces between numbers.
    frame_rate_hz
        Frames per second. [Hz]
    """
    lines = rows.decode("ascii").replace(" ", ",").splitlines()
    numbered = [f"{i + 1},{i / frame_rate_hz:.6f},{line}" for i, line in enumerate(lines)]
    return ("\n".join([",".join(("frame", "time_s", *map(cell, names))), *numbered]) + "\n").encode("utf-8")
