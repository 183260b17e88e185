"""A trunk or head that comes under the ground, as a belly on very short legs does: measured, and said."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.flesh import LAYERS, body_of
from gaitgen.course.ground import FLAT, Ground
from gaitgen.errors import Notice
from gaitgen.motion.kinematics import fixed_points
from gaitgen.motion.motion import Motion

Array = npt.NDArray[np.float64]

SAID_M = 1e-3  # less than this under the ground no picture shows (estimate)
BELLY = "belly"  # topic of the notice
_HELD = tuple(LAYERS.index(layer) for layer in ("trunk", "head"))


def trunk_room_m(clip: Motion, ground: Ground = FLAT) -> tuple[Array, tuple[str, ...]]:
    """Return how far each ball of the flesh of trunk and head is over the ground. [m]

    What hangs is left out: a proboscis or an udder may trail, and gives way.

    Parameters
    ----------
    clip, ground
        The motion, and what it goes over.

    Returns
    -------
    room_m
        (frames, balls) height of the lowest point of each; (frames, 0) of an animal that has no flesh. [m]
    names
        Group of the outline that each is a part of.
    """
    joints, offsets_m, radii_m, names = _trunk_balls(clip.animal)
    places, world = clip.joints
    centres = fixed_points(places, world, joints, offsets_m)
    return centres[..., 2] - radii_m - ground.height_m(centres[..., :2]), names


@lru_cache(maxsize=32)
def _trunk_balls(animal: Animal) -> tuple[npt.NDArray[np.int64], Array, Array, tuple[str, ...]]:
    """Joint, place from it (balls, 3), radius and group of the balls of trunk and head. [m]"""
    body, held = body_of(animal), {*animal.spine, animal.head}
    group = {name for name, layer in zip(body.names, body.layers, strict=True) if layer in _HELD}
    balls = [
        (animal.joint(joint), place, radius, name)
        for joint, place, radius, name in animal.outline
        if name in group and animal.joint(joint) in held
    ]
    joints = np.array([joint for joint, *_ in balls], dtype=np.int64)
    offsets = np.array([place for _, place, *_ in balls], dtype=np.float64).reshape(-1, 3)
    return joints, offsets, np.array([ball[2] for ball in balls]), tuple(ball[3] for ball in balls)


def belly_notices(clip: Motion, ground: Ground = FLAT) -> tuple[Notice, ...]:
    """Say where belly, chest or head come under the ground.

    Parameters
    ----------
    clip, ground
        The motion, and what it goes over.
    """
    room_m, names = trunk_room_m(clip, ground)
    if room_m.size == 0 or room_m.min() >= -SAID_M:
        return ()
    frame, ball = np.unravel_index(int(room_m.argmin()), room_m.shape)
    frames = int((room_m < -SAID_M).any(axis=1).sum())
    where = f"frame {frame + 1}" if frames == 1 else f"{frames} frames, most of all in frame {frame + 1}"
    text = (
        f"the {names[ball].replace('_', ' ')} is under the ground in {where}, by "
        f"{-1e3 * room_m.min():.1f} mm: its legs are too short for that; longer legs, a slower gait or a "
        "shorter stride would help."
    )
    return (Notice(BELLY, text),)
