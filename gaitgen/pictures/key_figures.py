"""What a sheet says about each key pose: feet, courses of hips, chest and head, swing of ears and tail."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.course.stance import stance_state
from gaitgen.motion.extremes import main_extremes
from gaitgen.motion.kinematics import end_middle_m, landmark_m, tips_m, world_frames
from gaitgen.motion.measure import over_origin
from gaitgen.motion.motion import Motion
from gaitgen.numerics.curves import refined
from gaitgen.numerics.turns import mixed

Array = npt.NDArray[np.float64]

PARTS = ("hips", "chest", "head")
# A part is said to be at its high or low on the pose nearest to it, if that is within half the usual
# distance of two poses; or on a pose whose name says so, if that is little farther.
NEAR_STRIDES, NAMED_STRIDES = 1.0 / 16.0, 1.0 / 12.0
LEVEL_M = 5e-4
ON_FRAME = 0.51  # frames: a pose between two frames is on both
STILL_SHARE = 0.15


@dataclass(frozen=True)
class Turn:
    """Where a curve turns: its frame, from 1, and ``high`` or ``low``, or ``left`` or ``right``."""

    frame: float
    word: str


@dataclass(frozen=True, eq=False)
class Course:
    """How high one part of the body is over one stride.

    Attributes
    ----------
    frames
        (samples,) from 1 to the last frame, finer than the clip.
    height_m
        (samples,) over its mean. [m]
    turns
        Highs and lows in order of frame.
    """

    frames: Array
    height_m: Array
    turns: tuple[Turn, ...]

    def frame_of(self, turn: Turn) -> int:
        """Return the whole frame of a turn, as the report counts it: of the two beside it the farther out."""
        low = math.floor(turn.frame)
        before, after = (float(height) for height in self.at([low, low + 1]))
        is_top = float(self.at(turn.frame)) >= (before + after) / 2.0
        frame = low + int(after > before if is_top else after < before)
        return (frame - 1) % round(float(self.frames[-1] - self.frames[0])) + 1

    @property
    def span_m(self) -> float:
        """From the lowest to the highest of all samples. [m]"""
        return float(np.ptp(self.height_m))

    @property
    def rise_m(self) -> float:
        """From the lowest to the highest whole frame, as the report tells it. [m]"""
        return float(np.ptp(self.at(np.arange(self.frames[0], self.frames[-1] + 0.5))))

    def at(self, frames: npt.ArrayLike) -> Array:
        """Return the height at some frames. [m]"""
        length = self.frames[-1] - self.frames[0]
        place = (np.asarray(frames, dtype=np.float64) - 1.0) % length + 1.0
        return np.asarray(np.interp(place, self.frames, self.height_m))


@dataclass(frozen=True)
class KeyFigure:
    """One key pose in words and directions.

    Attributes
    ----------
    frame, name
        Frame, from 1, and name.
    planted, lands
        Whether each foot is down, and whether it makes contact on this frame, in LIMBS order.
    courses
        Part of the body to ``up``, ``down``, ``high``, ``low`` or ``level``.
    turn_frames
        Part of the body that is said to be high or low to the whole frame where it is, which may be another.
    ear, tail
        Direction in which the tip swings against its base, forward and up, of length 1; (0, 0) where it
        is about to turn back.
    stride
        Length of the stride. [frames]
    """

    frame: float
    name: str
    planted: tuple[bool, ...]
    lands: tuple[bool, ...]
    courses: Mapping[str, str]
    turn_frames: Mapping[str, int]
    ear: tuple[float, float]
    tail: tuple[float, float]
    stride: int

    def course_words(self, part: str) -> str:
        """Say where a part goes; of a high or low that is on another frame, which."""
        word = self.courses[part]
        frame = self.turn_frames.get(part)
        is_here = frame is None or abs((self.frame - frame) % self.stride) < ON_FRAME
        return word if is_here else f"{word} {frame}"


def clip_at(clip: Motion, frames: npt.ArrayLike) -> Motion:
    """Return a clip whose rows are some frames of another, from 1; straight between whole frames."""
    place = np.asarray(frames, dtype=np.float64) - 1.0
    before = np.clip(np.floor(place).astype(np.int64), 0, clip.frames - 1)
    after = np.minimum(before + 1, clip.frames - 1)
    share = np.clip(place - before, 0.0, 1.0)
    turned = mixed(clip.rotations[before], clip.rotations[after], share[:, None, None])
    root = clip.root_path_m[before] + share[:, None] * (clip.root_path_m[after] - clip.root_path_m[before])
    return replace(clip, root_path_m=root, rotations=turned, plan=clip.plan.at(before + share))


def courses(clip: Motion) -> dict[str, Course]:
    """Follow hips, chest and head over the first stride."""
    stride = clip.facts.frames
    positions, world = world_frames(clip.animal, clip.root_path_m[:stride], clip.rotations[:stride])
    curves = {end: heave_m[:stride] for end, heave_m in clip.plan.heaves_m.items()}
    if "poll" in clip.animal.landmarks_m:
        curves["head"] = landmark_m(clip.animal, positions, world, "poll")[:, 2]
    return {part: _course(curve, stride) for part, curve in curves.items()}


def side_courses(clip: Motion) -> dict[str, Course]:
    """Follow hips, chest and tip of the tail to the left and right over the first stride.

    Hips and chest are half-way between the hip joints and between the tops of the shoulder blades, which
    shift over the feet; the topline above them rocks the other way.
    """
    stride = clip.facts.frames
    animal = clip.animal
    still = over_origin(clip)
    positions, world = world_frames(animal, still.root_path_m[:stride], still.rotations[:stride])
    curves = {
        "hips": end_middle_m(animal, positions, world, "hind")[:, 1],
        "chest": end_middle_m(animal, positions, world, "fore")[:, 1],
    }
    tail = last_of(animal, "tail")
    if tail is not None:
        curves["tail"] = tips_m(animal, positions, world)[:, tail, 1]
    return {part: _course(curve, stride, ("left", "right")) for part, curve in curves.items()}


def _course(curve: Array, stride: int, words: tuple[str, str] = ("high", "low")) -> Course:
    fine = refined(curve - curve.mean())
    frames = np.linspace(1.0, stride + 1.0, fine.size)
    return Course(frames, fine, _turns(fine[:-1], stride, words))


def _turns(heights_m: Array, stride: int, words: tuple[str, str]) -> tuple[Turn, ...]:
    """Find where one turn of a curve (samples,) is at its highs and lows."""
    if np.ptp(heights_m) < LEVEL_M:
        return ()
    found = main_extremes(heights_m, is_closed=True)
    return tuple(Turn(1.0 + e.place / heights_m.size * stride, words[0 if e.is_high else 1]) for e in found)


def key_figures(clip: Motion) -> tuple[KeyFigure, ...]:
    """Describe every key pose of the first stride."""
    stride = clip.facts.frames
    frames = np.array([key.frame for key in clip.key_poses])
    moments = (frames - 1.0) / clip.frame_rate_hz
    state = stance_state(clip.steps, moments)
    lands = np.abs(moments[:, None] - state.touchdown_s) * clip.frame_rate_hz < 0.01
    curves = courses(clip)
    names = [key.name for key in clip.key_poses]
    words = {part: _words(part, curve, frames, names, stride) for part, curve in curves.items()}
    ear, tail = _swings(clip, frames, stride, "ear_R"), _swings(clip, frames, stride, "tail")
    return tuple(
        KeyFigure(
            frame=key.frame,
            name=key.name,
            planted=tuple(state.planted[k].tolist()),
            lands=tuple(lands[k].tolist()),
            courses={part: word[k][0] for part, word in words.items()},
            turn_frames={part: word[k][1] for part, word in words.items() if word[k][1]},
            ear=(float(ear[k, 0]), float(ear[k, 1])),
            tail=(float(tail[k, 0]), float(tail[k, 1])),
            stride=stride,
        )
        for k, key in enumerate(clip.key_poses)
    )


def _words(part: str, course: Course, frames: Array, names: list[str], stride: int) -> list[tuple[str, int]]:
    """Say where a part goes on each pose, and of a high or low in which frame it is, 0 if it is none."""
    if not course.turns:
        return [("level", 0)] * frames.size
    climbing = course.at(frames + 0.01) > course.at(frames - 0.01)
    words = [("up" if up else "down", 0) for up in climbing]
    for turn in course.turns:
        away = np.abs((frames - turn.frame + stride / 2.0) % stride - stride / 2.0)
        named = np.array([f"{part} {turn.word}" in name for name in names])
        named &= away <= NAMED_STRIDES * stride + 1e-6
        nearest = (
            away <= min(away.min(), NEAR_STRIDES * stride) + 1e-6
        )  # the last pose shows what the first does
        for k in np.flatnonzero(named if named.any() else nearest):
            words[k] = turn.word, course.frame_of(turn)
    return words


def last_of(animal: Animal, part: str) -> int | None:
    """Return the last joint of a part that hangs, or None without that part."""
    found = animal.part(part)
    return None if found is None else found.joints[-1]


def _swings(clip: Motion, frames: Array, stride: int, part: str) -> Array:
    """Direction in which the tip of a part moves against its base, seen from the side: (poses, 2)."""
    animal = clip.animal
    found = animal.part(part)
    if found is None:
        return np.zeros((frames.size, 2))
    positions, world = world_frames(animal, clip.root_path_m[:stride], clip.rotations[:stride])
    hold = int(animal.parents[found.joints[0]])
    away = tips_m(animal, positions, world)[:, found.joints[-1]] - positions[:, hold]
    local = refined(np.einsum("fba,fb->fa", world[:, hold], away))
    speed = np.gradient(local, axis=0, edge_order=2)[:, [0, 2]]  # (samples, 2)
    place = (frames - 1.0) % stride * (local.shape[0] - 1) / stride
    here = np.stack([np.interp(place, np.arange(local.shape[0]), speed[:, axis]) for axis in (0, 1)], axis=1)
    size = np.linalg.norm(here, axis=1, keepdims=True)
    still = size < STILL_SHARE * max(np.linalg.norm(speed, axis=1).max(), 1e-12)
    return np.asarray(np.where(still, 0.0, here / np.maximum(size, 1e-12)))
