"""A clip without a period, found out from its file alone: stretches, way, ground, feet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.check.noise import Noise
from gaitgen.check.shot.ground import FoundGround
from gaitgen.check.shot.on_the_ground import on_the_ground
from gaitgen.check.shot.standing import Stand, stands
from gaitgen.check.shot.strides import (
    GOES,
    STANDS,
    Stretch,
    Stride,
    end_names,
    stretches_of,
    strides_of,
    with_jumps,
)
from gaitgen.check.shot.way import Way, way_of
from gaitgen.check.tracked import Tracked
from gaitgen.course.ground import Ground
from gaitgen.motion.contacts import Feet, Stance
from gaitgen.motion.loop import changes_manner, changes_pace

Array = npt.NDArray[np.float64]

LEAST_WAY = 0.5  # hip heights: what goes less far stays where it is
LEAST_TURN_RAD = np.radians(20.0)  # but for what turns by more
# A stride that turns by more and goes less far, in hip heights, turns on the spot.
ROUND_RAD, ROUND_WAY = np.radians(8.0), 0.6
LEAST_STANDS = 8  # of all feet
JUMP_STRIDES = 1.75  # before and after a jump, from where fore feet leave to where hind feet are down again
ROOM = 2.0  # times what stances near a foot are off the ground: so far off nothing is said of it


@dataclass(frozen=True, eq=False)
class Shot:
    """A clip without a period.

    Attributes
    ----------
    stretches
        What the animal does, in order.
    way
        Where it goes.
    ground
        What it stands on.
    feet
        Its stances, with heights against the ground that the other stances show.
    level
        The clip with heights against that ground.
    straight
        The same, seen from the frame that goes along the way, and laid out straight.
    stride_frames
        Its usual stride. [frames]
    """

    stretches: tuple[Stretch, ...]
    way: Way
    ground: FoundGround
    feet: Feet
    level: Tracked
    straight: Tracked
    stride_frames: float

    def is_stepped(self, stretch: Stretch) -> bool:
        """Whether feet stand on steps or rocks in a stretch."""
        middles = self.ground.middles
        inside = (middles >= stretch.first) & (middles <= stretch.last)
        return bool(self.ground.is_stepped[inside].any())


def find_shot(
    motion: Tracked, noise: Noise, surface: Ground | None = None, jumps_m: Sequence[float] = ()
) -> Shot | None:
    """Tell whether a clip is one without a period: one that halts, changes, turns or climbs; None if not.

    A clip in place is none: its feet keep to no place in the world. One whose ground is given, or where it
    jumps, so many metres along its way, is one if it travels.
    """
    moved = motion.root_m[:, :2] - motion.root_m[0, :2]
    if (
        float(np.linalg.norm(moved, axis=1).max()) < LEAST_WAY * motion.hip_height_m
        and float(np.ptp(np.unwrap(motion.heading_rad))) < LEAST_TURN_RAD
    ):
        return None
    every = stands(motion, noise)
    if len(every) < LEAST_STANDS or len({stand.limb for stand in every}) < 4:
        return None
    every, ground = on_the_ground(every, motion.hip_height_m, surface)
    if ground is None:
        return None
    strides = [
        _nameless_round(motion, stride) for stride in strides_of(every, motion.frames, motion.template)
    ]
    known = [stride.frames for stride in strides if stride.name]
    stride = float(np.median(known)) if known else motion.frame_rate_hz
    down = _down(every, motion.frames)
    way = way_of(motion, ground, stride)
    speed = np.linalg.norm(np.gradient(way.level_m, axis=0), axis=1) / motion.file.frame_time_s
    still = np.linalg.norm(np.gradient(motion.root_m[:, :2], axis=0), axis=1) / motion.file.frame_time_s
    slow = np.minimum(speed, still) / motion.hip_height_m
    ends = end_names(every, motion.frames, motion.template)
    stretches = stretches_of(strides, down, slow, motion.frame_rate_hz, ends)
    jumps = _jumps(way, jumps_m, stride)
    stretches = with_jumps(stretches, jumps)
    if (
        surface is None
        and not jumps
        and not _is_one(stretches, way, [stride.name for stride in strides if stride.name])
        and not changes_pace(motion.root_m, stride, changes_gait=all(ends) and ends[0] != ends[1])
        and not changes_manner(motion.points_m, stride)
    ):
        return None
    level = _levelled(motion, every, ground)
    straight, body = _straightened(level, way)
    over = ground.level_m if ground.is_level or surface is not None else 0.0
    feet = Feet(
        belt_m_s=np.zeros(2),
        body_m_s=body,
        in_place=False,
        ground_m=over,
        planted=down,
        stances=tuple(_stance(stand, level, motion.frames, over) for stand in every),
        is_exact=False,
    )
    return Shot(tuple(stretches), way, ground, feet, level, straight, stride)


def _jumps(way: Way, jumps_m: Sequence[float], stride_frames: float) -> list[tuple[int, int]]:
    """First and last rows of jumps at so many metres along a way; none of one that is not in the clip."""
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(way.level_m, axis=0), axis=1))])
    found: list[tuple[int, int]] = []
    reach, last = round(JUMP_STRIDES * stride_frames), len(along) - 1
    for at_m in sorted(jumps_m):
        row = int(np.searchsorted(along, at_m))
        if row > last:
            continue
        first = max(0, row - reach, found[-1][1] if found else 0)
        found.append((first, min(last, row + reach)))
    return found


def _nameless_round(motion: Tracked, stride: Stride) -> Stride:
    """Take a stride that turns on the spot for none of a gait."""
    heading = np.unwrap(motion.heading_rad)[[stride.first, stride.last]]
    way = np.linalg.norm(motion.root_m[stride.last, :2] - motion.root_m[stride.first, :2])
    is_round = abs(np.diff(heading)[0]) > ROUND_RAD and way < ROUND_WAY * motion.hip_height_m
    return replace(stride, name="") if is_round else stride


def _is_one(stretches: Sequence[Stretch], way: Way, names: Sequence[str]) -> bool:
    """Whether there is more than one thing that an animal does, or a way that is not straight and level."""
    kinds = {each.what for each in stretches}
    if GOES not in kinds and STANDS not in kinds:
        return len(set(names)) > 1 and names[0] != names[-1]
    if kinds == {STANDS}:
        return False
    return len(stretches) > 1 or bool(way.bends or way.rises)


def _down(every: Sequence[Stand], frames: int) -> npt.NDArray[np.bool_]:
    down = np.zeros((frames, 4), dtype=bool)
    for stand in every:
        down[stand.first : stand.last + 1, stand.limb] = True
    return down


def _levelled(motion: Tracked, every: Sequence[Stand], ground: FoundGround) -> Tracked:
    """Put the ground under every foot and under the body at height 0; level ground stays where it is."""
    if ground.is_level:
        return motion
    rows = np.arange(motion.frames)
    toes = motion.toes_m.copy()
    number = {id(stand): k for k, stand in enumerate(ground.stands)}
    for limb in range(4):
        own = np.full(motion.frames, -1)
        for stand in every:
            if stand.limb == limb:
                own[stand.first : stand.last + 1] = number[id(stand)]
        height, room = ground.height_and_room_m(motion.toes_m[:, limb, :2], rows, own)
        over = motion.toes_m[:, limb, 2] - height
        toes[:, limb, 2] = np.sign(over) * np.maximum(np.abs(over) - ROOM * room, 0.0)
    under = ground.height_m(motion.root_m[:, :2], rows)
    places = motion.places_m - np.array([0.0, 0.0, 1.0]) * under[:, None, None]
    return replace(motion, toes_m=toes, places_m=places)


def _stance(stand: Stand, level: Tracked, frames: int, ground_m: float) -> Stance:
    path = level.toes_m[stand.first : stand.last + 1, stand.limb].copy()
    path[:, :2] -= np.median(path[:, :2], axis=0)
    path[:, 2] -= ground_m
    return Stance(stand.limb, stand.first, stand.last, stand.first > 0, stand.last < frames - 1, path)


def _straightened(motion: Tracked, way: Way) -> tuple[Tracked, Array]:
    """Turn every frame back by the heading and lay the way out straight; and the mean velocity along it."""
    cos, sin = np.cos(way.heading_rad), np.sin(way.heading_rad)
    back = np.stack([np.stack([cos, sin], axis=1), np.stack([-sin, cos], axis=1)], axis=1)  # (frames, 2, 2)
    steps = np.einsum("fij,fj->fi", back[:-1], np.diff(way.level_m, axis=0))
    along = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])

    def laid(points: Array) -> Array:
        apart = points[..., :2] - way.level_m[:, None]
        level = np.einsum("fij,fpj->fpi", back, apart) + along[:, None]
        return np.concatenate([level, points[..., 2:]], axis=2)

    made = replace(
        motion,
        places_m=laid(motion.places_m),
        toes_m=laid(motion.toes_m),
        heading_rad=motion.heading_rad - way.heading_rad,
    )
    return made, along[-1] / (motion.file.frame_time_s * (motion.frames - 1))


def cut(motion: Tracked, first: int, last: int) -> Tracked:
    """Take some rows of a clip out, the last one too."""
    rows = slice(first, last + 1)
    return replace(
        motion,
        file=replace(motion.file, rows=motion.file.rows[rows]),
        places_m=motion.places_m[rows],
        changes=motion.changes[rows],
        local=motion.local[rows],
        toes_m=motion.toes_m[rows],
        heading_rad=motion.heading_rad[rows],
        angles_deg={key: value[rows] for key, value in motion.angles_deg.items()},
    )


def feet_in(feet: Feet, motion: Tracked, first: int, last: int) -> Feet:
    """Take what feet do in some rows; ``motion`` is the clip of these rows."""
    made = []
    for stance in feet.stances:
        a, b = max(stance.first, first), min(stance.last, last)
        if b - a < 1:
            continue
        made.append(
            Stance(
                stance.limb,
                a - first,
                b - first,
                stance.begins and stance.first >= first,
                stance.ends and stance.last <= last,
                stance.path_m[a - stance.first : b - stance.first + 1],
            )
        )
    root = (motion.root_m[-1] - motion.root_m[0])[:2]
    return replace(
        feet,
        body_m_s=root / (motion.file.frame_time_s * max(1, last - first)),
        planted=feet.planted[first : last + 1],
        stances=tuple(made),
    )
