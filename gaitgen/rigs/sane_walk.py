"""A template with which a rig walks and no joint of it bends backward, or a doubt that says which does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.errors import GaitgenError, Notice
from gaitgen.formats.bvh_file import BvhFile
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.request import WALK, Request
from gaitgen.motion.kinematics import included_angles_rad
from gaitgen.numerics.rotations import matrix_from_quaternion
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.as_skeleton import as_skeleton
from gaitgen.rigs.doubt import Doubt
from gaitgen.rigs.find import find_rig
from gaitgen.rigs.refused import stands_amiss
from gaitgen.rigs.rig import Rig, make_rig
from gaitgen.rigs.rig_map import Rest, RigMap

Array = npt.NDArray[np.float64]

# A joint of a limb that goes so much farther in a walk than the template's own can is broken (estimate: of
# the rigs of the tests that walk, those with an animal that fits stay within 5 degrees of what it can).
MOST_BEYOND_RAD = np.radians(10.0)
# ... of those that do not open past straight; a paw or a fetlock that does stands in rigs as it is drawn.
STRAIGHT_RAD = np.pi
FLAT_RAD = np.radians(20.0)  # less this, a joint is folded flat (estimate: two limb bones with their flesh)
MOST_TRIES = 8  # other animals that are walked in its stead


def with_sane_walk(
    data: bytes,
    where: str,
    found: RigMap,
    notices: tuple[Notice, ...],
    animal: str | None,
    rest: Rest | None = None,
) -> tuple[RigMap, tuple[Notice, ...]]:
    """Take another template where a rig cannot walk, or a joint bends backward, with the one found.

    Parameters
    ----------
    data, where
        The rig, and its name for messages.
    found, notices
        Its map, and what was said of it; the doubt about the template names others, most alike first.
    animal, rest
        The animal that was asked for, which is kept, and the pose.

    Returns
    -------
    A map, and what is said of it; with a Doubt where another animal was taken, or none walks well.
    """
    unable = f"with the limb laws of {found.template} this rig cannot walk"
    fault = _fault(data, where, found, unable)
    if not fault:
        return found, notices
    others = [name for notice in notices if isinstance(notice, Doubt) for name in notice.others]
    file = read_bvh(data, where)
    for other in others[:MOST_TRIES] if animal is None else ():
        if other != found.template and (taken := _taken(file, data, where, other, rest)) is not None:
            what = "it can" if fault == unable else "none does"
            text = f"{fault}; {other} is taken, the next of those most like it with which {what}"
            more = f"`gaitgen fit --animal {found.template}` takes that"
            kept = [notice for notice in notices if notice.topic == "unit"]  # by the build of the whole rig
            said = [notice for notice in taken[1] if notice.topic != "unit"]
            told = Doubt("template", f"{text}; {more}.")
            return replace(taken[0], unit=found.unit), (told, *said, *kept)
    text = f"{fault}; look at it, and try another animal with `gaitgen fit --animal`"
    return found, (*notices, Doubt("template", f"{text}."))


def _taken(
    file: BvhFile, data: bytes, where: str, other: str, rest: Rest | None
) -> tuple[RigMap, tuple[Notice, ...]] | None:
    """Find the rig with another animal; None if it does not walk with that either."""
    try:
        found, notices = find_rig(file, where, other, rest)
        return None if _fault(data, where, found, "it does not walk") else (found, notices)
    except GaitgenError:
        return None


def _fault(data: bytes, where: str, found: RigMap, unable: str) -> str:
    """Say which joint bends backward or folds up in a plain walk; nothing if none does.

    ``unable`` is returned if there is no walk, unless it stands so that none can be.
    """
    template = load_animal(found.template)
    rig = make_rig(data, where, found, template)
    with np.errstate(all="ignore"):
        animal = replace(as_skeleton(rig, template)[0], goings={})
        try:
            clip = make_cycle(Request(animal=animal))
        except GaitgenError:
            return "" if stands_amiss(rig) else unable
    angles = included_angles_rad(animal, matrix_from_quaternion(clip.rotations))
    beyond, joint = max(_beyond_rad(animal, template, angles), default=(0.0, 0))
    if not beyond > MOST_BEYOND_RAD:
        is_able = WALK not in template.goings or stands_amiss(rig) or _walks(rig, template)
        return "" if is_able else unable
    return (
        f"with the limb laws of {template.name} the {animal.angle_names[joint]} of this rig would go "
        f"{np.degrees(beyond):.0f} degrees past what that animal's can in a walk"
    )


def _walks(rig: Rig, template: Animal) -> bool:
    """Tell whether a rig walks in the manner that its template has for that gait alone."""
    own = replace(template.in_gait(WALK), goings={}, outline=())  # flesh moves no leg
    with np.errstate(all="ignore"):
        try:
            make_cycle(Request(animal=as_skeleton(rig, own)[0]))
        except GaitgenError:
            return False
    return True


def _beyond_rad(animal: Animal, template: Animal, angles: Array) -> list[tuple[float, int]]:
    """List how far each limb joint goes beyond what the template's can, and the joint of the animal. [rad]

    Parameters
    ----------
    animal, template
        The animal that stands for the rig, and its template.
    angles
        (frames, joints) included angles in its walk. [rad]
    """
    found = []
    for limb in animal.limbs:
        for joint in limb.joints[1:]:
            model = template.index.get(animal.joint_names[joint], -1)
            if not animal.angle_names[joint] or model < 0:
                continue
            turns = template.angle_signs[model] * template.ranges_rad[model, 0]
            least, most = np.sort(template.standing_angles_rad[model] + turns)
            if most > STRAIGHT_RAD:
                most = np.inf
            # What stands more folded than the template may fold as far from there, but not flat.
            own = float(animal.standing_angles_rad[joint] - template.standing_angles_rad[model])
            least = min(least, max(least + own, FLAT_RAD))
            beyond = max(float(angles[:, joint].max() - most), float(least - angles[:, joint].min()))
            found.append((beyond, joint))
    return found
