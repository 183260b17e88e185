"""Reads a shot back from its BVH file and the way of its body beside it, as it is drawn and played."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.limb import LIMBS
from gaitgen.check.noise import find_noise
from gaitgen.check.shot.on_the_ground import on_the_ground
from gaitgen.check.shot.standing import Stand, stands
from gaitgen.check.tracked import Tracked, place
from gaitgen.course.path import Frames
from gaitgen.course.steps import Steps
from gaitgen.errors import FileFormatError, GaitError, Notice
from gaitgen.formats.units import METRES_PER_UNIT
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.loop import Loop
from gaitgen.motion.motion import KeyPose, Motion
from gaitgen.numerics.rotations import axis_angle_matrix, continuous_sign, quaternion_from_matrix
from gaitgen.pictures.shot_plan import ShotPlan, Stretch
from gaitgen.pictures.terrain import Terrain
from gaitgen.reading.match import Matched
from gaitgen.reading.on_rig import tracked_on
from gaitgen.reading.read import opened, own_map
from gaitgen.reading.shot_way import Way, ground_along, ground_near, read_way
from gaitgen.rigs.animal_pose import animal_pose, home_m
from gaitgen.rigs.cycle import LoadedRig, load_rig
from gaitgen.rigs.map_file import is_map

Array = npt.NDArray[np.float64]

# Slower than this share of a walk's speed, in hip heights a second, an animal stands.
STANDS_HIPS_S = 0.06


@dataclass(frozen=True, eq=False)
class Posed:
    """An animal as a clip has it, in the world.

    Attributes
    ----------
    name, animal, rate_hz
        Of the file; whose motion it is; its frames in a second.
    root_m, local
        (frames, 3) place of its root [m], and (frames, joints, 3, 3) rotations in their parents' frames.
    toes_m, feet
        (frames, 4, 3) ground points of the toes [m], and (frames, 4, 3, 3) how its feet turn in the world.
    stands
        Where and when its feet stand, as the check finds them; in order of limb and time.
    notices
        What was guessed.
    """

    name: str
    animal: Animal
    rate_hz: float
    root_m: Array
    local: Array
    toes_m: Array
    feet: Array
    stands: tuple[Stand, ...]
    notices: tuple[Notice, ...]


def shot_from_bvh(clip: Path, way: Path, animal: str | None = None) -> ShotPlan:
    """Read a shot that gaitgen wrote, perhaps refined by hand since.

    Contacts are found in the motion as the check finds those of a shot; the ground that is drawn is that
    of the way, level across it.

    Parameters
    ----------
    clip, way
        The BVH file and the way of its body (.path.csv).
    animal
        As in `clip_from_bvh`: an animal's name or file, or the map of the rig that the clip is on.

    Raises
    ------
    GaitgenError
        If a file cannot be read, or they do not belong together; one line.
    """
    if animal is not None and is_map(animal):
        loaded = load_rig(animal)
        rig = loaded.rig
        gone = read_way(way, rig.axes, rig.metres_per_unit)
        motion = tracked_on(clip, rig)
        _refuse_other_length(clip, way, gone, motion.frames)
        return _plan(_posed_rig(motion, loaded), gone)
    file, matched = opened(clip, animal)
    gone = read_way(way, matched.axes, METRES_PER_UNIT[matched.unit])
    _refuse_other_length(clip, way, gone, len(file.rows))
    return _plan(_posed(place(file, own_map(file, str(clip), matched), clip.name), matched), gone)


def _refuse_other_length(clip: Path, way: Path, gone: Way, frames: int) -> None:
    if len(gone.heading_rad) != frames:
        raise FileFormatError(
            f"{way} has {len(gone.heading_rad)} rows and {clip.name} {frames} frames; give the way "
            "that was written with the clip, or take it out of the folder"
        )


def _posed(motion: Tracked, matched: Matched) -> Posed:
    """Return an animal of ours as its clip has it."""
    axes, animal = matched.axes, matched.animal
    local = axes @ motion.local[:, matched.rows] @ axes.T
    local[:, 0] = motion.changes[:, matched.rows[0]]
    root = motion.places_m[:, matched.rows[0]].copy()
    feet = motion.changes[:, [matched.rows[limb.foot_joint] for limb in animal.limbs]]
    rate = motion.frame_rate_hz
    return Posed(
        motion.name, animal, rate, root, local, motion.toes_m, feet, _stands(motion), matched.notices
    )


def _posed_rig(motion: Tracked, loaded: LoadedRig) -> Posed:
    """Return the animal that stands for a rig as a clip on the rig has it."""
    rig, animal = loaded.rig, loaded.animal
    home = home_m(rig, animal) * np.array([0.0, 0.0, 1.0])  # over the ground it is where its way is
    toes = motion.toes_m - home
    pose = animal_pose(rig, animal, motion.places_m - home, motion.changes, toes)
    feet = motion.changes[:, [limb.joints[-1] for limb in rig.limbs]]
    rate = motion.frame_rate_hz
    standing = _stands(replace(motion, toes_m=toes))
    return Posed(motion.name, animal, rate, pose.root_m, pose.local, toes, feet, standing, motion.notices)


def _stands(motion: Tracked) -> tuple[Stand, ...]:
    """Find where feet stand as the check does in a shot: by their speed among the steps near in time."""
    no_loop = Loop(closes=False, frames=motion.frames, advance_m=np.zeros(3), repeats_first=False)
    every = stands(motion, find_noise(motion, no_loop))
    return tuple(on_the_ground(every, motion.hip_height_m)[0])


def _plan(posed: Posed, way: Way) -> ShotPlan:
    animal, rate, frames = posed.animal, posed.rate_hz, len(posed.root_m)
    ground = ground_along(way)
    steps, poses = _steps(posed)
    terrain = Terrain(ground, way.place_m, way.heading_rad, animal.withers_height_m)
    speed = float(terrain.gone_m[-1]) * rate / max(frames - 1, 1)
    still = np.zeros(frames)
    clip = Motion(
        animal=animal,
        frame_rate_hz=rate,
        root_path_m=posed.root_m,
        rotations=continuous_sign(quaternion_from_matrix(posed.local)),
        steps=steps,
        belt_m_s=np.zeros(2),
        key_poses=poses,
        plan=Plan(np.zeros((frames, 4)), np.zeros((frames, 4, 2)), still, still.copy(), still.copy()),
        facts=Facts(
            frames=frames - 1,
            strides=1,
            period_s=(frames - 1) / rate,
            speed_m_s=speed,
            stride_length_m=float(terrain.gone_m[-1]),
            duty_factor=0.0,
            lag=0.0,
            froude_number=froude_number(speed, animal.hip_height_m),
            chest_drop_m=0.0,
            hips_drop_m=0.0,
        ),
        notices=(
            Notice(
                "read",
                f"read from {posed.name} and the way beside it; contacts found by position and speed.",
            ),
            *posed.notices,
        ),
    )
    return ShotPlan(
        clip,
        _over_its_way(clip, posed.local, way),
        terrain,
        _stretches(terrain, rate, animal.hip_height_m),
        bare=ground_near(way, ground, animal.withers_height_m),
    )


def _over_its_way(clip: Motion, local: Array, way: Way) -> Motion:
    """Return a clip as seen from the frame that goes along its way."""
    frames = Frames(way.place_m[:, :2], way.heading_rad, np.zeros(clip.frames), np.zeros((clip.frames, 2)))
    root = frames.seen(clip.root_path_m) - np.array([0.0, 0.0, 1.0]) * way.place_m[:, 2:]
    turned = local.copy()
    turned[:, 0] = axis_angle_matrix("Z", -way.heading_rad) @ local[:, 0]
    return replace(clip, root_path_m=root, rotations=continuous_sign(quaternion_from_matrix(turned)))


def _steps(posed: Posed) -> tuple[Steps, tuple[KeyPose, ...]]:
    """Put down the stances in order of time, and name the frames on which feet land."""
    rate, last = posed.rate_hz, len(posed.toes_m) - 1
    rows = sorted((stand.first, stand.limb, stand.last) for stand in posed.stands)
    first, limb, until = np.array(rows, dtype=np.int64).reshape(-1, 3).T
    middle = (first + until) // 2
    facing = posed.feet[middle, limb]
    try:
        steps = Steps(
            limb=limb,
            touchdown_s=(first - (first == 0)) / rate,  # cut off by the clip's ends: before, and after
            liftoff_s=(until + (until == last)) / rate,
            place_m=posed.toes_m[middle, limb],
            heading_rad=np.arctan2(facing[:, 1, 0], facing[:, 0, 0]),
        )
    except GaitError as fault:
        raise FileFormatError(f"{posed.name}: no stances to draw, {fault}") from None
    return steps, _poses(posed.stands, last + 1)


def _poses(stands: tuple[Stand, ...], frames: int) -> tuple[KeyPose, ...]:
    named: dict[int, str] = {0: "start", frames - 1: "end"}
    for stand in sorted(stands, key=lambda each: (each.first, -each.limb)):
        if stand.first > 0:
            before = named.get(stand.first, "")
            joined = f"{before.removesuffix(' contact')} + " if before.endswith("contact") else ""
            named[stand.first] = f"{joined}{LIMBS[stand.limb]} contact"
    return tuple(KeyPose(row + 1.0, named[row]) for row in sorted(named))


def _stretches(terrain: Terrain, rate: float, hip_height_m: float) -> tuple[Stretch, ...]:
    """Say where a body stands and where it goes."""
    speed = np.gradient(terrain.gone_m) * rate
    goes = speed > STANDS_HIPS_S * hip_height_m
    edges = [0, *(np.flatnonzero(np.diff(goes)) + 1).tolist(), len(goes)]
    found = []
    for first, after in pairwise(edges):
        words = f"goes, {speed[first:after].max():.1f} m/s" if goes[first] else "stands"
        found.append(Stretch(words, first + 1, min(after + 1, len(goes)), float(speed[after - 1])))
    return tuple(found)
