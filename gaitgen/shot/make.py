"""The order of the stages of a shot: cycles, timeline, body, feet and limbs, what hangs, frames."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.under import body_frames, under_ends_m, way_height_m
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.stance import stance_state
from gaitgen.course.steps import Steps
from gaitgen.errors import Notice
from gaitgen.gait.tempo import froude_number
from gaitgen.hanging.followers import Hung
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.measure import time_s
from gaitgen.motion.motion import Motion
from gaitgen.motion.trunk_room import belly_notices
from gaitgen.numerics.grid import Grid
from gaitgen.numerics.rotations import (
    axis_angle_matrix,
    continuous_sign,
    matrix_from_quaternion,
    quaternion_from_matrix,
)
from gaitgen.shot.asked import Mark
from gaitgen.shot.bend_slowing import bend_notices
from gaitgen.shot.carriage import Carriage
from gaitgen.shot.carrying import Carrying
from gaitgen.shot.folding import fold_notices
from gaitgen.shot.following import hung_turns, kept_level, look_along, looking
from gaitgen.shot.footing import leaned, near_edges
from gaitgen.shot.laid_shot import LaidShot, Shot
from gaitgen.shot.leaping import falling, over_obstacles
from gaitgen.shot.manner import manner
from gaitgen.shot.over_ground import over_ground
from gaitgen.shot.pinning import pinned
from gaitgen.shot.placing import over_uneven
from gaitgen.shot.poses import shot_poses
from gaitgen.shot.posing import Posed, pose
from gaitgen.shot.refusing import notices_of, refuse_tight, refuse_uneven, turn_notices
from gaitgen.shot.rows import trunk_rows
from gaitgen.shot.settling import settled
from gaitgen.shot.sinking import sink_notices
from gaitgen.shot.snapping import snap_notices
from gaitgen.shot.stepping import range_notices, reached_on, refuse_high
from gaitgen.shot.timeline import Timeline

Array = npt.NDArray[np.float64]

FALLING_ROUNDS = 3  # legs and what hangs are posed so often anew for a body that is to fall freely
REST_BREATHS_HZ = 0.25  # of an animal that stands (estimate)


@dataclass(frozen=True, eq=False)
class Made:
    """A shot as a motion, and what it was laid out as.

    Attributes
    ----------
    clip
        The motion, travelling.
    timeline, path, ground
        What it follows.
    marks
        What had to be where, when.
    """

    clip: Motion
    timeline: Timeline
    path: Path
    ground: Ground
    marks: tuple[Mark, ...] = ()

    @cached_property
    def _frames(self) -> Frames:
        return body_frames(self.clip.animal, self.path, time_s(self.clip))

    def root_motion(self) -> tuple[Array, Array]:
        """Return the way of the body over the ground: place (frames, 3) [m] and heading (frames,) [rad]."""
        frames = self._frames
        distance = self.path.distance_m(time_s(self.clip))
        height = way_height_m(self.clip.animal, self.path, self.ground, distance, time_s(self.clip))
        return np.concatenate([frames.place_m, height[:, None]], axis=1), frames.heading_rad

    def over_its_way(self) -> Motion:
        """Return the clip as seen from the frame that goes along its way: the motion less the root motion."""
        place, heading = self.root_motion()
        root = self._frames.seen(self.clip.root_path_m) - np.array([0.0, 0.0, 1.0]) * place[:, 2:]
        rotations = matrix_from_quaternion(self.clip.rotations[:, 0])
        turned = axis_angle_matrix("Z", -heading) @ rotations
        whole = self.clip.rotations.copy()
        whole[:, 0] = continuous_sign(quaternion_from_matrix(turned[:, None]))[:, 0]
        return replace(self.clip, root_path_m=root, rotations=whole)


def make_shot(shot: Shot) -> Made:
    """Make one motion of a shot.

    Raises
    ------
    GaitgenError
        If a foot cannot be put down where it must.
    """
    return make_laid(LaidShot.of(shot))


def make_laid(laid: LaidShot) -> Made:
    """Make one motion of a shot that is on its timeline; raises as `make_shot`."""
    shot, path = laid.shot, laid.path
    refuse_high(laid.timeline.cycles[0].animal, shot.ground)
    refuse_uneven(laid.timeline, path, shot.ground)
    timeline = leaned(laid.balanced, path, shot.ground)
    timeline = over_uneven(timeline, path, shot.ground)
    timeline, moved = pinned(timeline, path, shot.pins)
    steps = timeline.steps(path, shot.ground)
    grid, (first, after) = timeline.grid, timeline.solved
    animal = timeline.cycles[0].animal
    frames = body_frames(animal, path, grid.time_s)
    bend = path.at(path.distance_m(grid.time_s[first:after]))[2]
    refuse_tight(animal, bend, frames.speed_m_s[first:after], shot.way_key)
    turns = (*bend_notices(timeline, path), *turn_notices(frames, shot.way_key))
    said = (*shot.notices, *moved, *notices_of(timeline), *turns)
    state = stance_state(steps, grid.time_s).seen(frames)
    edged = bool(near_edges(timeline, path, shot.ground).any())
    slope = _slope_rad(animal, path, shot.ground, grid)
    breath = _breath_turns(timeline)[first:after]
    over = settled(Carrying(timeline, steps, path, shot.ground, state, slope, breath, edged))
    timeline, steps, state = over.carrying.timeline, over.carrying.steps, over.carrying.state
    carried, as_cycles = over.found.carried, over.found.as_cycles
    made = manner(timeline, state, carried, as_cycles, lets_go=True)
    if not shot.ground.is_even:
        made = over_ground(over, made, frames)
    if timeline.leaps:
        made = replace(made, plan=over_obstacles(made.plan, path, timeline))
    share = timeline.solved_share
    looks = looking(timeline, path, frames, grid)

    def clip_of(carried: Carriage) -> Motion:
        """Put limbs and what hangs to the body."""
        with reached_on(shot.ground), np.errstate(invalid="ignore"):  # beyond the clip legs may miss feet
            posed = pose(timeline, carried, made, as_cycles, shot.ground, slope, edged=edged, frames=frames)
        turns = hung_turns(timeline, posed.trunk, grid, share, as_cycles, breath, state)
        turns = kept_level(timeline, look_along(timeline, turns, looks), slope)
        return _clip(shot, timeline, steps, frames, carried, posed, turns, breath, first, said)

    clip = clip_of(carried)
    for _ in range(FALLING_ROUNDS if timeline.leaps else 0):
        carried = falling(timeline, path, carried, clip)
        clip = clip_of(carried)
    rows = _rows(timeline, first)
    said = (
        *clip.notices,
        *fold_notices(clip, frames.acceleration_m_s2[rows], frames.speed_m_s[rows]),
        *snap_notices(clip, timeline),
        *sink_notices(clip, shot.ground),
        *belly_notices(clip, shot.ground),
        *range_notices(clip, shot.ground),
    )
    return Made(replace(clip, notices=said), timeline, path, shot.ground, shot.marks)


def _slope_rad(animal: Animal, path: Path, ground: Ground, grid: Grid) -> Array:
    """Return the slope of the ground under the trunk, (samples,). [rad]"""
    if ground == FLAT:
        return np.zeros(grid.count)
    return np.asarray(
        np.arctan(np.diff(under_ends_m(animal, path, ground, grid), axis=1)[:, 0] / -_trunk_m(animal))
    )


def _trunk_m(animal: Animal) -> float:
    """Length of the trunk from hips to chest. [m]"""
    standing = standing_positions_m(animal)
    return float(standing[animal.limb("fore").top, 0] - standing[animal.limb("hind").top, 0])


def _breath_turns(timeline: Timeline) -> Array:
    """Breaths taken: one a stride, and quiet ones at a halt, (samples,)."""
    if all(piece.kind != "stand" for piece in timeline.pieces):
        return timeline.going.count[:, 3]
    rate = np.gradient(timeline.going.count[:, 3], timeline.frame) * timeline.frame_rate_hz
    for piece in timeline.pieces:
        if piece.kind == "stand":
            open_start, open_end = piece is timeline.pieces[0], piece is timeline.pieces[-1]
            here = ((timeline.frame >= piece.first - 1) | open_start) & (
                (timeline.frame <= piece.after + 1) | open_end
            )
            rate[here] = REST_BREATHS_HZ
    steps = np.diff(timeline.frame) / timeline.frame_rate_hz
    return np.concatenate([[0.0], np.cumsum((rate[1:] + rate[:-1]) / 2.0 * steps)])


def _clip(
    shot: Shot,
    timeline: Timeline,
    steps: Steps,
    frames: Frames,
    carried: Carriage,
    posed: Posed,
    turns: dict[int, Array],
    breath: Array,
    first: int,
    notices: tuple[Notice, ...],
) -> Motion:
    """Take the frames out, in the world."""
    animal = timeline.cycles[0].animal
    rows = _rows(timeline, first)
    hung = Hung(turns, (), np.zeros((0, 0, 3)), breath, ())
    local = np.broadcast_to(np.eye(3), (rows.size, len(animal.joint_names), 3, 3)).copy()
    for part in (
        posed.trunk.local(animal, rows),
        posed.legs.local(animal, trunk_rows(posed.trunk, posed.rows), np.searchsorted(posed.rows, rows)),
        hung.local(rows),
    ):
        for joint, rotation in part.items():
            local[:, joint] = rotation
    local[:, 0] = axis_angle_matrix("Z", frames.heading_rad[rows]) @ local[:, 0]
    force = carried.force_n[rows]
    speed = float(timeline.pace.distance_m(np.array(timeline.frames / shot.frame_rate_hz)))
    speed *= shot.frame_rate_hz / timeline.frames
    return Motion(
        animal=animal,
        frame_rate_hz=shot.frame_rate_hz,
        root_path_m=frames.carried(posed.trunk.root_m)[rows],
        rotations=continuous_sign(quaternion_from_matrix(local)),
        steps=steps,
        belt_m_s=np.zeros(2),
        key_poses=shot_poses(timeline),
        plan=Plan(
            force_n=force[..., 2],
            force_horizontal_n=force[..., :2],
            hips_heave_m=carried.hips_height_m[rows],
            chest_heave_m=carried.chest_height_m[rows],
            breath=0.5 - 0.5 * np.cos(2.0 * np.pi * breath[rows]),
        ),
        facts=_facts(timeline, animal, speed, posed.drop_m[rows]),
        notices=notices,
    )


def _rows(timeline: Timeline, first: int) -> npt.NDArray[np.int64]:
    """Return the samples of the frames of a clip, of those that are solved from one on."""
    start = round(-float(timeline.frame[first]) * timeline.per_frame)
    return start + timeline.per_frame * np.arange(timeline.frames + 1)


def _facts(timeline: Timeline, animal: Animal, speed_m_s: float, drop_m: Array) -> Facts:
    period_s = float(np.mean([cycle.frames for cycle in timeline.cycles])) / timeline.frame_rate_hz
    return Facts(
        frames=timeline.frames,
        strides=1,
        period_s=period_s,
        speed_m_s=speed_m_s,
        stride_length_m=speed_m_s * period_s,
        duty_factor=float(np.mean([cycle.duty.mean() for cycle in timeline.cycles])),
        lag=0.0,
        froude_number=froude_number(speed_m_s, animal.hip_height_m),
        chest_drop_m=float(drop_m[:, 0].max()),
        hips_drop_m=float(drop_m[:, 1].max()),
    )
