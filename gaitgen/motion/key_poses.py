"""The key poses of a stride: four contacts, and half-way between them four down and up positions."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from gaitgen.gait.gait import LIMBS
from gaitgen.motion.extremes import share_of_range
from gaitgen.motion.motion import KeyPose

Array = npt.NDArray[np.float64]


def key_poses(contact: Sequence[float], frames: int, heave_m: Mapping[str, Array]) -> tuple[KeyPose, ...]:
    """Name the poses of one stride by what happens in them (common practice, no source).

    Parameters
    ----------
    contact
        Contact of each foot in LIMBS order, 0 up to ``frames``. [frames]
    frames
        Length of the stride. [frames]
    heave_m
        Heave of ``hips`` and ``chest``, (samples,) each, evenly over the stride without its end; the more
        samples, the better poses between frames are judged. [m]

    Returns
    -------
    tuple of KeyPose
        In order of frame, from 1; the last repeats the first where the stride begins with a pose. Where all
        contacts are on whole frames, so are the poses between them: half a frame goes to the earlier one,
        as both ends of the body are low before the middle.
    """
    order = sorted(range(len(LIMBS)), key=lambda limb: contact[limb])
    is_whole = all(abs(frame - round(frame)) < 1e-6 for frame in contact)
    poses = []
    for limb, following in zip(order, (*order[1:], order[0]), strict=True):
        step = (contact[following] - contact[limb]) % frames
        middle = contact[limb] + step / 2.0
        if is_whole and step >= 2.0:
            middle = math.ceil(middle - 0.5 - 1e-9)
        middle %= frames
        poses.append(KeyPose(contact[limb] + 1.0, f"{LIMBS[limb]} contact"))
        poses.append(KeyPose(middle + 1.0, level_name(middle / frames, heave_m)))
    poses.sort(key=lambda pose: pose.frame)
    last = [KeyPose(frames + 1.0, pose.name) for pose in poses[:1] if pose.frame == 1.0]
    return (*poses, *last)


def level_name(share: float, heave_m: Mapping[str, Array]) -> str:
    """Say whether hips and chest are low, high or level at a share of the stride."""
    words = []
    for end, curve in heave_m.items():
        place = share_of_range(curve, share * curve.size)
        words.append(f"{end} {'low' if place < 1 / 3 else 'high' if place > 2 / 3 else 'level'}")
    return ", ".join(words)
