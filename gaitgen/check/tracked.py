"""A BVH file in metres, z up: where every joint and toe is in every frame, and the angles of the limbs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.library import load_animal
from gaitgen.check.limb_angles import angle_joints, included_angles_deg
from gaitgen.errors import FileFormatError, Notice
from gaitgen.formats.bvh_file import BvhFile, placed
from gaitgen.formats.units import unit_m
from gaitgen.gait.gait import LIMBS
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.kinematics import fixed_points
from gaitgen.rigs.rest import RestPose
from gaitgen.rigs.rig import axes_of, standing_pose
from gaitgen.rigs.rig_map import FOLLOWS, RigMap

Array = npt.NDArray[np.float64]

LAST_DECIMAL = 1e-6  # of a number in a file, as most write them; a root has three

# Of the height of a rig: an End Site that stands farther over the map's toe is not it (estimate).
LIFTED = 0.005


@dataclass(frozen=True, eq=False)
class Tracked:
    """One clip of one rig. x forward of the standing rig, y left, z up.

    Attributes
    ----------
    name
        Of the file.
    file, map, rest
        What it was made from, and how the rig stands.
    places_m
        (frames, joints, 3). [m]
    changes
        (frames, joints, 3, 3) world rotation of each joint from standing.
    local
        (frames, joints, 3, 3) rotation of each joint in its parent's, by the file's axes.
    toes_m
        (frames, 4, 3) ground points of the toes, in LIMBS order. [m]
    heading_rad
        (frames,) direction from the hind limbs' tops to the fore limbs', to the left of x. [rad]
    angles_deg
        Included angles on the flexor side by foot and joint word: (frames,). [degrees]
    standing_deg
        The same, standing.
    angle_joints
        The joint of the file at which each of them is.
    hip_height_m
        Of the standing rig. [m]
    standing_ground_m
        Height of the ground in the file, as the rig stands. [m]
    notices
        What was guessed.
    """

    name: str
    file: BvhFile
    map: RigMap
    rest: RestPose
    places_m: Array
    changes: Array
    local: Array
    toes_m: Array
    heading_rad: Array
    angles_deg: dict[tuple[str, str], Array]
    standing_deg: dict[tuple[str, str], float]
    angle_joints: dict[tuple[str, str], str]
    hip_height_m: float
    standing_ground_m: float
    notices: tuple[Notice, ...]

    @property
    def frames(self) -> int:
        """Number of frames."""
        return len(self.places_m)

    @property
    def frame_rate_hz(self) -> float:
        """Frames per second. [Hz]"""
        return 1.0 / self.file.frame_time_s

    @property
    def template(self) -> Animal:
        """The animal that the rig is like, by its map."""
        return load_animal(self.map.template)

    def joint(self, name: str) -> int:
        """Return the index of a joint of the file."""
        return self.file.joint_names.index(name)

    def limb_joints(self, limb: str) -> list[int]:
        """Return the joints of a limb from the top down."""
        return [self.joint(name) for name in self.map.limbs[limb].joints]

    def top(self, limb: str) -> int:
        """Return the joint of the topmost bone that turns, or the sling that carries it."""
        own = self.map.limbs[limb]
        first = next((k for k, bone in enumerate(own.bones) if bone != FOLLOWS), 0)
        return self.joint(own.joints[first])

    @property
    def root_m(self) -> Array:
        """Path of the root, (frames, 3). [m]"""
        return self.places_m[:, 0]

    @property
    def points_m(self) -> Array:
        """Joints and toes, (frames, joints + 4, 3). [m]"""
        return np.concatenate([self.places_m, self.toes_m], axis=1)

    def foot_paths(self, noise_m: Array) -> FootPaths:
        """Return what its contacts are found in; the noise of the toes is (4, 3). [m]"""
        step_s, rounded_m = self.file.frame_time_s, LAST_DECIMAL * unit_m(self.map.unit)
        return FootPaths(self.toes_m, self.root_m, step_s, self.hip_height_m, noise_m, rounded_m)


def place(
    file: BvhFile,
    rig_map: RigMap,
    name: str,
    rest: RestPose | None = None,
    notices: tuple[Notice, ...] = (),
) -> Tracked:
    """Place everything in all frames at once.

    Parameters
    ----------
    file, rig_map, name
        The clip, the map of its rig, and what to call it.
    rest
        How the rig stands; taken from the file itself if not given.
    notices
        What was guessed.

    Raises
    ------
    FileFormatError
        If the rig does not stand as its map says.
    """
    metres = unit_m(rig_map.unit)
    axes = axes_of(rig_map)
    rest = rest or standing_pose(file, rig_map, load_animal(rig_map.template))
    places, world, local = placed(file)
    changes = axes @ (world @ np.swapaxes(rest.rotations, -1, -2)) @ axes.T
    places = metres * places @ axes.T
    rest_m = metres * rest.places @ axes.T
    motion = Tracked(
        name=name,
        file=file,
        map=rig_map,
        rest=rest,
        places_m=np.ascontiguousarray(places),
        changes=np.ascontiguousarray(changes),
        local=local,
        toes_m=np.empty((0, 4, 3)),
        heading_rad=np.empty(0),
        angles_deg={},
        standing_deg={},
        angle_joints={},
        hip_height_m=1.0,
        standing_ground_m=0.0,
        notices=notices,
    )
    toes, rest_toes = _toes(motion, metres, axes, rest_m)
    tops = [motion.top(limb) for limb in LIMBS]
    line = motion.places_m[:, tops[:2]].mean(axis=1) - motion.places_m[:, tops[2:]].mean(axis=1)
    heading = np.arctan2(line[:, 1], line[:, 0])
    rest_line = rest_m[tops[:2]].mean(axis=0) - rest_m[tops[2:]].mean(axis=0)
    angles = included_angles_deg(file, rig_map, motion.places_m, toes, heading)
    standing = included_angles_deg(
        file, rig_map, rest_m[None], rest_toes[None], np.arctan2(rest_line[1:2], rest_line[0:1])
    )
    hip = float(rest_m[tops[2:], 2].mean() - rest_toes[:, 2].mean())
    if not 0.01 < hip < 50.0:
        raise FileFormatError(
            f"{name}: the hips stand {hip:.3g} m over the toes in {rig_map.unit}; give a map with --map"
        )
    return replace(
        motion,
        toes_m=toes,
        heading_rad=heading,
        angles_deg=angles,
        standing_deg={key: float(value[0]) for key, value in standing.items()},
        angle_joints=angle_joints(rig_map, tuple(angles)),
        hip_height_m=hip,
        standing_ground_m=float(rest_toes[:, 2].mean()),
    )


def _toes(motion: Tracked, metres: float, axes: Array, rest_m: Array) -> tuple[Array, Array]:
    """Ground points of the toes over time (frames, 4, 3) and standing (4, 3). [m]

    An End Site of the foot that is near the map's toe is taken, being a point of the file itself, unless it
    stands over that toe: the map then says that the ground is lower.
    """
    lasts, standing = [motion.limb_joints(limb)[-1] for limb in LIMBS], []
    for limb, last in zip(LIMBS, lasts, strict=True):
        offset = metres * axes @ np.array(motion.map.limbs[limb].toe)
        toe = rest_m[last] + offset
        ends = np.flatnonzero(motion.file.end_joints == last) + len(motion.file.joint_names)
        if ends.size:
            near = int(ends[np.argmin(np.linalg.norm(rest_m[ends] - toe, axis=1))])
            tall = float(np.ptp(rest_m[:, 2]))
            is_over = float(rest_m[near, 2] - toe[2]) > LIFTED * tall
            if np.linalg.norm(rest_m[near] - toe) < 0.03 * tall and not is_over:
                toe = rest_m[near]
        standing.append(toe)
    toes = np.array(standing)
    return fixed_points(motion.places_m, motion.changes, lasts, toes - rest_m[lasts]), toes
