"""The animal's volume, posed: plain arrays, no drawing library."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.flesh import LAYERS, Body, Chain, body_of, chains_of, smooth_shares
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.motion import Motion

__all__ = ["LAYERS", "Body", "Chain", "PosedBody", "body_of", "chains_of", "pose", "smooth_shares"]

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PosedBody:
    """A body at some frames.

    Attributes
    ----------
    ends_m
        (frames, capsules, 2, 3) ends of the capsules. [m]
    hooves_m
        (frames, 4, 8, 3) corners of the hooves in LIMBS order, sole first. [m]
    body
        The capsules.
    """

    ends_m: Array
    hooves_m: Array
    body: Body


def pose(clip: Motion, frames: npt.ArrayLike) -> PosedBody:
    """Pose the animal at some rows of a clip. ``frames`` (poses,) counts from 0."""
    rows = np.asarray(frames, dtype=np.int64)
    body = body_of(clip.skeleton)
    positions, world = world_frames(clip.skeleton, clip.root_path_m[rows], clip.rotations[rows])
    balls = positions[:, body.joints] + np.einsum("fbij,bj->fbi", world[:, body.joints], body.offsets_m)
    hooves = [positions[:, j, None] + np.einsum("fij,cj->fci", world[:, j], c) for j, c in body.hooves]
    return PosedBody(np.einsum("ceb,fbi->fcei", body.blend, balls), np.stack(hooves, axis=1), body)
