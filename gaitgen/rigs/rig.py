"""A rig and its map, put into gaitgen's axes and metres."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import PurePath

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.errors import RigError
from gaitgen.formats.bvh_file import BvhFile, channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.numerics.standard_input import stem_of
from gaitgen.rigs.legs_under import with_legs_under
from gaitgen.rigs.rest import RestPose, rest_pose
from gaitgen.rigs.rig_map import NO_BONES, SLING, RigMap

Array = npt.NDArray[np.float64]

UNEVEN_SHARE = 0.1  # of the hip height: how far one toe may be off the ground of all four
AT_JOINT = 0.03  # of the hip height: a helper no farther from a joint of a limb is at it
FOOT_SHARE = 0.7  # of the hip height: how long the last bone of a limb may be

# Hips of anything on four legs stand as high as this; what is not between is in another unit (estimates). [m]
HIPS_M = (0.02, 20.0)

_LINE_END = re.compile(rb"\r\n|\r|\n")


@dataclass(frozen=True, eq=False)
class Limb:
    """One limb of a rig by index.

    Attributes
    ----------
    joints
        Joints of the rig from the top down.
    bones
        Places in the limb of the template that they turn, -1 for a joint that follows or slings.
    sling
        Position in ``joints`` of the one that lets the top of the limb ride, or None.
    toe_m
        (3,) ground point of the toe, standing. [m]
    """

    joints: tuple[int, ...]
    bones: tuple[int, ...]
    sling: int | None
    toe_m: Array

    def joint_of(self, bone: int) -> int | None:
        """Return the position in ``joints`` of the one that turns a bone, if there is one."""
        return self.bones.index(bone) if bone in self.bones else None


@dataclass(frozen=True, eq=False)
class Rig:
    """A rig, standing, in our axes: x forward, y left, z up, ground at 0, pelvis of the template at x = 0.

    Attributes
    ----------
    name
        Name of its file without folder and suffix.
    map, file, rest
        What it was made from.
    hierarchy
        The text of the file above MOTION, byte for byte.
    axes
        (3, 3) rows forward, left, up in the file's axes.
    home
        (3,) point of the file over which our origin is, on the ground of the written file.
    places_m
        (joints + ends, 3) standing. [m]
    limbs
        In LIMBS order.
    """

    name: str
    map: RigMap
    file: BvhFile
    hierarchy: bytes
    rest: RestPose
    axes: Array
    home: Array
    places_m: Array
    limbs: tuple[Limb, ...]

    @property
    def body(self) -> int:
        """The joint that carries the body: the root, or one below it."""
        return 0 if self.map.body is None else self.joint(self.map.body)

    @property
    def has_moving_root(self) -> bool:
        """Whether the root has position channels."""
        return len(channel_columns(self.file, "position")[0]) == 3

    @property
    def metres_per_unit(self) -> float:
        """Length of the file's unit. [m]"""
        return unit_m(self.map.unit)

    @property
    def offsets_m(self) -> Array:
        """Joint from the joint above, standing, (joints, 3); the root's is zero. [m]"""
        places = self.places_m[: len(self.file.parents)]
        return places - places[np.maximum(self.file.parents, 0)]

    def joint(self, name: str) -> int:
        """Return the index of a joint."""
        return self.file.joint_names.index(name)

    def goal_of(self, limb: str) -> tuple[int, int] | None:
        """Return the goal of a limb and the joint it goes with: the one that it is at, else the last."""
        name = self.map.limbs[limb].goal
        if name is None:
            return None
        goal, joints = self.joint(name), self.limbs[LIMBS.index(limb)].joints
        away = np.linalg.norm(self.places_m[list(joints)] - self.places_m[goal], axis=1)
        nearest = int(away.argmin())
        is_at = float(away[nearest]) < AT_JOINT * float(self.places_m[joints[0], 2])
        return goal, joints[nearest if is_at else -1]


def hierarchy_bytes(data: bytes) -> bytes:
    """Return everything above the MOTION line of a BVH file that was read without fault."""
    start = 0
    for end in _LINE_END.finditer(data):
        if data[start : end.start()].decode("utf-8", "replace").strip().upper() == "MOTION":
            return data[:start]
        start = end.end()
    return data


def axes_of(rig_map: RigMap) -> Array:
    """Return forward, left and up as rows (3, 3) in the file's axes."""
    up = np.zeros(3)
    up["xyz".index(rig_map.up[-1])] = -1.0 if rig_map.up.startswith("-") else 1.0
    forward = np.array(rig_map.forward) - np.dot(rig_map.forward, up) * up
    far = float(np.linalg.norm(forward))
    if far < 1e-6:
        raise RigError(
            f"forward is {list(rig_map.forward)}, along up = {rig_map.up!r}; give a level direction"
        )
    forward = forward / far
    return np.stack([forward, np.cross(up, forward), up])


def standing_pose(file: BvhFile, rig_map: RigMap, template: Animal) -> RestPose:
    """Stand a rig up as its map says: at zero or in frame 1, its legs as they are or under the body."""
    rest = rest_pose(file, rig_map.rest)
    if rig_map.legs == "as they stand":
        return rest
    names = file.joint_names
    chains = {limb: [names.index(name) for name in own.joints] for limb, own in rig_map.limbs.items()}
    return with_legs_under(file, rest, axes_of(rig_map), chains, template)


def _check_positions(file: BvhFile, where: str, rig_map: RigMap) -> None:
    """Refuse a body or a goal that cannot move."""
    columns = channel_columns(file, "position")
    movers = [("body", rig_map.body), *((f"goal of {name}", own.goal) for name, own in rig_map.limbs.items())]
    for what, joint in movers:
        if joint is not None and len(columns[file.joint_names.index(joint)]) != 3:
            raise RigError(
                f"{where}: {joint!r}, the {what} in the map, lacks position channels; leave it out, or give "
                "it Xposition Yposition Zposition"
            )


def make_rig(data: bytes, where: str, rig_map: RigMap, template: Animal) -> Rig:
    """Put a rig and its map together.

    Parameters
    ----------
    data, where
        The BVH file and its name for messages.
    rig_map
        Its map; every joint it names must be in the file.
    template
        The animal named in the map.

    Raises
    ------
    RigError
        If the rig cannot be posed: no position channels on the root, or limbs that do not stand.
    FileFormatError
        If the file cannot be read.
    """
    file = read_bvh(data, where)
    if rig_map.body is None and len(channel_columns(file, "position")[0]) != 3:
        raise RigError(
            f"{where}: the root {file.joint_names[0]!r} lacks position channels, so it cannot move; give it "
            "CHANNELS with Xposition Yposition Zposition"
        )
    axes = axes_of(rig_map)
    rest = standing_pose(file, rig_map, template)
    _check_positions(file, where, rig_map)
    size = unit_m(rig_map.unit)
    turned = size * rest.places @ axes.T
    names = file.joint_names
    toes = {
        limb: turned[names.index(rig_map.limbs[limb].joints[-1])]
        + size * axes @ np.array(rig_map.limbs[limb].toe)
        for limb in LIMBS
    }
    ground = float(np.mean([toe[2] for toe in toes.values()]))
    hips = np.mean([turned[_hip(names, rig_map, limb)] for limb in ("LH", "RH")], axis=0)
    standing = standing_positions_m(template)[template.limb("hind").top]
    height = float(hips[2]) - ground
    if not HIPS_M[0] < height < HIPS_M[1]:
        raise RigError(
            f"{where}: the hips stand {height:.3g} m over the toes in {rig_map.unit}; correct unit, up or "
            "toe in the map"
        )
    for limb, toe in toes.items():
        reach = float(np.linalg.norm(toe - turned[names.index(rig_map.limbs[limb].joints[-1])]))
        if abs(float(toe[2]) - ground) > UNEVEN_SHARE * height or reach > FOOT_SHARE * height:
            raise RigError(
                f"{where}: the toe of {limb} is {float(toe[2]) - ground:+.3g} m off the ground of all "
                f"four and {reach:.3g} m from its joint, the hips are at {height:.3g} m; correct toe in "
                f"[limbs.{limb}] of the map"
            )
    origin = np.array([hips[0] - standing[0] * height / standing[2], hips[1], ground])
    limbs = []
    for limb in LIMBS:
        own, end = rig_map.limbs[limb], "fore" if limb[1] == "F" else "hind"
        chain = template.bones(end)
        bones = tuple(-1 if bone in NO_BONES else chain.index(bone) for bone in own.bones)
        sling = own.bones.index(SLING) if SLING in own.bones else None
        toe = (toes[limb] - origin) * [1.0, 1.0, 0.0]
        limbs.append(Limb(tuple(names.index(n) for n in own.joints), bones, sling, toe))
    level = origin * np.array([1.0, 1.0, 0.0]) / size
    return Rig(
        name=stem_of(PurePath(where)),
        map=rig_map,
        file=file,
        hierarchy=hierarchy_bytes(data),
        rest=rest,
        axes=axes,
        home=axes.T @ level,
        places_m=turned - origin,
        limbs=tuple(limbs),
    )


def _hip(names: tuple[str, ...], rig_map: RigMap, limb: str) -> int:
    """Return the joint that turns the first bone of a hind limb."""
    own = rig_map.limbs[limb]
    first = next((k for k, bone in enumerate(own.bones) if bone not in NO_BONES), 0)
    return names.index(own.joints[first])
