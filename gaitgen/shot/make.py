"""The order of the stages of a shot: cycles, timeline, body, feet and limbs, what hangs, frames."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.body.body import body_frames
from gaitgen.course.ground import FLAT, Ground
from gaitgen.course.path import Frames, Path
from gaitgen.course.steps import Steps, stance_state
from gaitgen.errors import Notice
from gaitgen.gait.tempo import froude_number
from gaitgen.motion.facts import Facts, Plan
from gaitgen.motion.motion import Motion
from gaitgen.numerics.rotations import axis_angle_matrix, continuous_sign, quaternion_from_matrix
from gaitgen.shot.carriage import Carriage, carriage
from gaitgen.shot.going import Posed, hung_turns, look_along, looking, manner, pose
from gaitgen.shot.placing import balanced
from gaitgen.shot.poses import shot_poses
from gaitgen.shot.section import Section
from gaitgen.shot.timeline import Halt, Timeline, lay_timeline

Array = npt.NDArray[np.float64]

REST_BREATHS_HZ = 0.25  # of an animal that stands (estimate)


@dataclass(frozen=True, eq=False)
class Shot:
    """A shot that is laid out: who goes how, along what, over what.

    Attributes
    ----------
    items
        Sections and halts in order.
    frame_rate_hz
        Frames per second. [Hz]
    start_m, heading_rad, pieces
        As of a Path, whose distance 0 is under the body in frame 1.
    ground
        The ground.
    """

    items: tuple[Section | Halt, ...]
    frame_rate_hz: float
    pieces: tuple[tuple[float, float], ...] = ((float("inf"), 0.0),)
    start_m: tuple[float, float] = (0.0, 0.0)
    heading_rad: float = 0.0
    ground: Ground = FLAT


@dataclass(frozen=True, eq=False)
class Made:
    """A shot as a motion, and what it was laid out as.

    Attributes
    ----------
    clip
        The motion, travelling.
    timeline, path, ground
        What it follows.
    """

    clip: Motion
    timeline: Timeline
    path: Path
    ground: Ground


def make_shot(shot: Shot) -> Made:
    """Make one motion of a shot.

    Raises
    ------
    GaitgenError
        If a foot cannot be put down where it must.
    """
    timeline = lay_timeline(shot.items, shot.frame_rate_hz)
    path = Path(shot.start_m, shot.heading_rad, shot.pieces, timeline.pace)
    timeline = balanced(timeline, path, shot.ground)
    steps = timeline.steps(path, shot.ground)
    grid, (first, after) = timeline.grid, timeline.solved
    animal = timeline.cycles[0].animal
    frames = body_frames(animal, path, grid.time_s)
    state = stance_state(steps, grid.time_s).seen(frames)
    carried, as_cycles = carriage(timeline, steps, path, shot.ground)
    share = timeline.solved_share
    made = manner(timeline, state, carried, as_cycles)
    posed = pose(timeline, carried, made, as_cycles)
    breath = _breath_turns(timeline)[first:after]
    turns = hung_turns(timeline, posed.trunk, grid, share, as_cycles, breath)
    turns = look_along(timeline, turns, looking(timeline, path, frames, grid))
    clip = _clip(shot, timeline, steps, frames, carried, posed, turns, breath, first)
    return Made(clip, timeline, path, shot.ground)


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
) -> Motion:
    """Take the frames out, in the world."""
    from gaitgen.hanging.followers import Hung

    animal = timeline.cycles[0].animal
    start = round(-float(timeline.frame[first]) * timeline.per_frame)
    rows = start + timeline.per_frame * np.arange(timeline.frames + 1)
    hung = Hung(turns, (), np.zeros((0, 0, 3)), breath, ())
    local = np.broadcast_to(np.eye(3), (rows.size, len(animal.joint_names), 3, 3)).copy()
    for part in (posed.trunk.local(animal, rows), posed.legs.local(animal, rows), hung.local(rows)):
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
        facts=_facts(timeline, animal, speed, posed),
        notices=_notices(timeline),
    )


def _facts(timeline: Timeline, animal: Animal, speed_m_s: float, posed: Posed) -> Facts:
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
        chest_drop_m=float(posed.drop_m[:, 0].max()),
        hips_drop_m=float(posed.drop_m[:, 1].max()),
    )


def _notices(timeline: Timeline) -> tuple[Notice, ...]:
    """What was said of the cycles, once."""
    found = [
        notice
        for cycle in timeline.cycles
        for notice in (*cycle.settled.notices, *cycle.made.placed.notices, *cycle.made.notices)
    ]
    return tuple(dict.fromkeys(found))
