"""Angles of the limb joints, seen from the animal's side."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.gait.gait import LIMBS
from gaitgen.rigs.bones import template_limb_m
from gaitgen.rigs.rig_map import NO_BONES, RigMap

Array = npt.NDArray[np.float64]


def included_angles_deg(
    file: BvhFile, rig_map: RigMap, places: Array, toes: Array, heading: Array
) -> dict[tuple[str, str], Array]:
    """Measure the included angles on the flexor side, seen from the animal's side.

    Parameters
    ----------
    file, rig_map
        The clip and the map of its rig.
    places, toes
        (frames, joints, 3) and (frames, 4, 3); z up.
    heading
        (frames,) direction the animal faces, to the left of x. [rad]

    Returns
    -------
    (frames,) by foot and joint word, where the rig has the bones above and below; may pass 180. [degrees]
    """
    forward = np.stack([np.cos(heading), np.sin(heading), np.zeros_like(heading)], axis=1)

    template = load_animal(rig_map.template)
    found: dict[tuple[str, str], Array] = {}
    for row, limb in enumerate(LIMBS):
        own, animal_limb = rig_map.limbs[limb], template.limbs[row]
        chain = template.bones(animal_limb.end)
        at = {
            chain.index(bone): places[:, file.joint_names.index(name)]
            for name, bone in zip(own.joints, own.bones, strict=True)
            if bone not in NO_BONES
        }
        lowest = max(at)
        for k in range(1, len(chain)):
            joint = animal_limb.joints[k]
            word, sign = template.angle_names[joint].replace(" ", "_"), template.angle_signs[joint]
            below = at.get(k + 1, toes[:, row] if k == lowest else None)
            if not word or k not in at or k - 1 not in at or below is None:
                continue
            found[limb, word] = _included_deg(at[k - 1], at[k], below, forward, sign)
    return found


def _included_deg(above: Array, joint: Array, below: Array, forward: Array, sign: float) -> Array:
    """Measure the angle at a joint on the side to which it bends, seen from the side: (frames,). [degrees]"""

    def pitch(start: Array, end: Array) -> Array:
        along = end - start
        return np.asarray(np.arctan2(along[:, 2], np.sum(along * forward, axis=1)))

    turn = pitch(joint, below) - pitch(above, joint)
    turn = (turn + np.pi) % (2.0 * np.pi) - np.pi
    turn = np.where(sign * turn > np.radians(110.0), turn - sign * 2.0 * np.pi, turn)
    return np.asarray(np.degrees(np.pi + sign * turn))


@lru_cache(maxsize=32)
def standing_angles_deg(animal: Animal) -> dict[tuple[str, str], float]:
    """Measure the same angles on an animal that stands: by foot and joint word. [degrees]"""
    found: dict[tuple[str, str], float] = {}
    for row, limb in enumerate(LIMBS):
        own = animal.limbs[row]
        points = template_limb_m(animal, own.end)[:, None]
        for k in range(1, len(own.joints)):
            joint = own.joints[k]
            word, sign = animal.angle_names[joint].replace(" ", "_"), animal.angle_signs[joint]
            if word:
                forward = np.array([[1.0, 0.0, 0.0]])
                around = points[k - 1], points[k], points[k + 1]
                found[limb, word] = float(_included_deg(*around, forward, sign)[0])
    return found


def angle_joints(rig_map: RigMap, known: tuple[tuple[str, str], ...]) -> dict[tuple[str, str], str]:
    """Name the joint of the file at which each angle, by foot and joint word, is."""
    template = load_animal(rig_map.template)
    found: dict[tuple[str, str], str] = {}
    for row, limb in enumerate(LIMBS):
        own, animal_limb = rig_map.limbs[limb], template.limbs[row]
        for k, bone in enumerate(template.bones(animal_limb.end)):
            word = template.angle_names[animal_limb.joints[k]].replace(" ", "_")
            if (limb, word) in known:
                found[limb, word] = own.joints[own.bones.index(bone)]
    return found
