"""What pictures of a shot need: its ground under the moving body, and what happens in each frame."""

from __future__ import annotations

import numpy as np

from gaitgen.pictures.terrain import Terrain
from gaitgen.shot.make import Made
from gaitgen.shot.report import Part, shot_parts


def terrain_of(made: Made) -> Terrain:
    """Return the ground of a shot as it is seen from the frame that goes along its way."""
    return Terrain(made.ground, *made.root_motion(), made.clip.animal.withers_height_m)


def parts_by_row(made: Made) -> list[Part]:
    """Return which part of a shot each frame belongs to."""
    parts = shot_parts(made)
    ends = np.array([part.last_frame for part in parts[:-1]], dtype=np.int64)
    return [parts[k] for k in np.searchsorted(ends, np.arange(made.clip.frames) + 1, side="right")]


def strip_of(made: Made, poses: int) -> bytes:
    """Draw a strip of a shot as a PNG: poses from all over it, over its own ground."""
    from gaitgen.pictures.strip import write_strip

    parts = parts_by_row(made)
    return write_strip(made.over_its_way(), poses, terrain_of(made), lambda row: parts[row].what)
