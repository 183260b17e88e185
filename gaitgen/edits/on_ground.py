"""A clip that as a whole stands lower or higher than its ground: the body was moved, or the scene."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from gaitgen.edits.difference import Edit
from gaitgen.errors import Notice
from gaitgen.formats.bvh_file import placed
from gaitgen.formats.units import unit_m
from gaitgen.motion.motion import Motion
from gaitgen.reading.read import opened

LEAST_M = 5e-4  # what is nearer to the ground is on it
MOST_SHARE = 0.12  # of the hip height: a body that was moved farther has moved with its scene (estimate)


def ground_of(path: Path, clip: Motion) -> float:
    """Return the height of the ground in a file, on 0 of which the clip that was read from it stands. [m]"""
    file, matched = opened(path)
    root = placed(file)[0][0, int(matched.rows[0])] * unit_m(matched.unit)
    return float(matched.axes[2] @ root - clip.root_path_m[0, 2])


def lowered(edit: Edit, ground_m: float) -> tuple[Edit, tuple[Notice, ...]]:
    """Lower or raise the body by as much as the feet are off the ground, where a hand may have done that.

    Parameters
    ----------
    edit
        What was changed, in clips that both stand on 0.
    ground_m
        Height of the ground of the refined clip over that of the one that it started from. [m]
    """
    far = f"{abs(1000.0 * ground_m):.0f} mm {'higher' if ground_m > 0.0 else 'lower'}"
    if abs(ground_m) < LEAST_M:
        return edit, ()
    if abs(ground_m) > MOST_SHARE * edit.hip_height_m:
        text = (
            f"the whole clip is {far} than the one that it started from; that is taken for its place in the "
            "scene, and not carried."
        )
        return edit, (Notice("ground", text),)
    text = (
        f"body and feet are {far} than in the clip that it started from; the feet stay on the ground, and "
        "the body is carried as it is. If the clip was moved in the scene, move it back."
    )
    moved = edit.moved_m + np.array([0.0, 0.0, ground_m])
    return replace(edit, moved_m=moved), (Notice("ground", text),)
