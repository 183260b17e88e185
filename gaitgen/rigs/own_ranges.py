"""How far the joints of a rig's animal may turn: as far as the template's, and as its own walk takes them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal
from gaitgen.animal.hanging_part import HangingPart
from gaitgen.errors import GaitgenError, RigError
from gaitgen.gait.request import WALK, Request
from gaitgen.numerics.rotations import matrix_from_quaternion, pitch_roll_yaw_rad
from gaitgen.pipeline import make_cycle
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]
Turns = tuple[Array, Mapping[str, float]]

# A plain walk: so much of a stride each foot is in the air (Hildebrand 1976, symmetrical gaits: a walk has a
# duty factor over 0.5; the middle of what animals choose is an estimate), in so many frames.
SWING_SHARE, WALK_FRAMES = 0.36, 32
RUN_SWING_SHARE, RUN_FRAMES = 0.62, 24  # of its other gaits (estimate)
AXES = ("pitch", "roll", "yaw")
# What hangs swings free in that walk, as far as this; and at most so many times the template's in any other.
FREE_RAD, MOST_SWING = np.radians(80.0), 1.5
# A neck or head that swings freely in a plain gait may swing so many times as far with a style.
STYLE_ROOM, NOD = 1.5, "nod"


def with_own_ranges(rig: Rig, animal: Animal, template: Animal, known: Turns | None = None) -> Animal:
    """Let a rig stand and walk plainly inside its own ranges, with as much to spare as its template has.

    Where the map sets a range it holds, whatever the walk does.

    Parameters
    ----------
    rig, animal, template
        The rig, the animal with its proportions and the template's ranges from standing, and the template.
    known
        What `own_turns` finds for them, if it is known.
    """
    turned_rad, most_rad = own_turns(animal, template) if known is None else known
    ranges = turned_rad.copy()
    for row, axis, limits in _said(rig, animal):
        ranges[row, axis] = limits
    hanging = tuple(replace(part, most_rad=most_rad[part.name]) for part in animal.hanging)
    goings = {
        gait: replace(going, hanging=_swings_to(going.hanging, most_rad))
        for gait, going in animal.goings.items()
    }
    return replace(animal, ranges_rad=ranges, hanging=hanging, goings=goings)


def own_turns(animal: Animal, template: Animal) -> Turns:
    """Find how far the joints of a rig's animal turn as it goes in its gaits, and what hangs on it swings.

    Parameters
    ----------
    animal, template
        The animal with the rig's proportions and the template's ranges from standing, and the template.

    Returns
    -------
    Ranges (joints, 3, 2), and by part its greatest swing; as they are if it cannot walk. [rad]
    """
    walks, models = _walks_rad(animal), _walks_rad(template)
    ranges, hanging = animal.ranges_rad, animal.hanging
    if walks:
        model = np.concatenate(models) if models else None
        ranges = _walked_rad(animal, template, np.concatenate(walks), model)
        if model is not None:
            hanging = tuple(_swinging(template, part, walks, model) for part in animal.hanging)
    return ranges, {part.name: part.most_rad for part in hanging}


def refuse_other_joints(rig: Rig, animal: Animal) -> None:
    """Refuse a map that sets the range of a joint that its animal does not turn.

    Raises
    ------
    RigError
        If it does; one line with what to do.
    """
    _said(rig, animal)


def with_ranges_in(rig: Rig, animal: Animal, template: Animal, gait: str) -> Animal:
    """Let a rig go inside its ranges in a gait that its template has no manner for, with as much to spare.

    Parameters
    ----------
    rig, animal, template
        The rig, the animal that stands for it, with its ranges, and the template.
    gait
        Name or path of a gait.
    """
    if gait in (WALK, *animal.goings) or (gone := _gone_rad(_loose(animal), gait)) is None:
        return animal
    ranges = _walked_rad(animal, template, gone, _gone_rad(_loose(template), gait))
    for row, axis, limits in _said(rig, animal):
        ranges[row, axis] = limits
    return replace(animal, ranges_rad=ranges)


def _swings_to(hanging: tuple[HangingPart, ...], most_rad: Mapping[str, float]) -> tuple[HangingPart, ...]:
    return tuple(replace(part, most_rad=max(part.most_rad, most_rad.get(part.name, 0.0))) for part in hanging)


def _walked_rad(animal: Animal, template: Animal, walk: Array, model: Array | None) -> Array:
    """Widen ranges (joints, 3, 2) to what a walk asks, and those of limbs by what is to spare. [rad]"""
    ranges, extremes = animal.ranges_rad, _extremes(walk)
    spare = np.zeros_like(ranges)
    if model is not None:
        rows = np.array([template.index.get(name, -1) for name in animal.joint_names])
        beyond = _beyond(template.ranges_rad, _extremes(model))
        spare = np.where(rows[:, None, None] >= 0, np.maximum(-beyond, 0.0)[rows], 0.0)
    wider = extremes + spare * np.array([-1.0, 1.0])
    is_limb = np.isin(np.arange(len(ranges)), [joint for limb in animal.limbs for joint in limb.joints])
    least, most = np.minimum(ranges[..., 0], wider[..., 0]), np.maximum(ranges[..., 1], wider[..., 1])
    is_wider = (_beyond(ranges, extremes) > 0.0) | is_limb[:, None, None]
    return np.where(is_wider, np.stack([least, most], axis=-1), ranges)


def _swinging(template: Animal, part: HangingPart, walks: tuple[Array, ...], model: Array) -> HangingPart:
    """Let a part swing as much farther at most as it swings farther than the template's in a plain walk.

    And what nods as much farther as a style asks, where it swings freely without one.
    """
    own = template.part(part.name)
    if own is None:
        return part
    times = _swing_rad(part, np.concatenate(walks)) / max(_swing_rad(own, model), 1e-6)
    most_rad = part.most_rad * float(np.clip(times, 1.0, MOST_SWING))
    if part.kind == NOD:
        swings = [swing for walk in walks if (swing := _swing_rad(part, walk)) <= most_rad]
        most_rad = max(most_rad, STYLE_ROOM * max(swings, default=0.0))
    return replace(part, most_rad=most_rad)


def _swing_rad(part: HangingPart, walk: Array) -> float:
    """Greatest pitch of the last joint of a part against its base, for a gain of 1. [rad]"""
    pitch = walk[:, list(part.joints), 0].sum(axis=1)
    return float(np.abs(pitch - pitch.mean()).max()) / max(part.gains[-1], 1e-6)


def _extremes(walk: Array) -> Array:
    """Least and greatest of (frames, joints, 3): (joints, 3, 2)."""
    return np.stack([walk.min(axis=0), walk.max(axis=0)], axis=-1)


def _beyond(ranges: Array, extremes: Array) -> Array:
    """How far extremes (joints, 3, 2) are outside ranges; negative inside. [rad]"""
    return np.asarray((extremes - ranges) * np.array([-1.0, 1.0]))


@lru_cache(maxsize=64)
def _walks_rad(animal: Animal) -> tuple[Array, ...]:
    """Pitch, roll and yaw in each plain gait at its tempo, with what hangs free: (frames, joints, 3). [rad]

    And in the walk that is made where nothing else is asked for, which is slow for a small rig. Nothing if
    the animal cannot walk so; another gait that it cannot go in is left out.
    """
    loose = _loose(animal)
    found = {gait: _gone_rad(loose, gait) for gait in dict.fromkeys((WALK, *animal.goings))}
    if found[WALK] is None:
        return ()
    usual = _made_rad(loose, WALK, WALK_FRAMES, Request().frame_rate_hz)
    return tuple(turns for turns in (*found.values(), usual) if turns is not None)


def _loose(animal: Animal) -> Animal:
    """Let what hangs on an animal swing free; and leave out its flesh, which turns nothing and takes time."""
    free = {part.name: FREE_RAD for part in animal.hanging}
    goings = {
        gait: replace(going, hanging=_swings_to(going.hanging, free)) for gait, going in animal.goings.items()
    }
    return replace(animal, hanging=_swings_to(animal.hanging, free), goings=goings, outline=())


def _gone_rad(animal: Animal, gait: str) -> Array | None:
    frames = WALK_FRAMES if gait == WALK else RUN_FRAMES
    return _made_rad(animal, gait, frames, plain_rate_hz(animal, gait))


def plain_rate_hz(animal: Animal, gait: str) -> float:
    """Return the frame rate at which the frames of a plain cycle make the tempo of an animal. [Hz]"""
    frames, share = (WALK_FRAMES, SWING_SHARE) if gait == WALK else (RUN_FRAMES, RUN_SWING_SHARE)
    return float(np.clip(frames * share / animal.in_gait(gait).tempo.swing_time_s, 1.0, 1000.0))


def _made_rad(animal: Animal, gait: str, frames: int, rate_hz: float) -> Array | None:
    try:
        clip = make_cycle(Request(gait=gait, animal=animal, frames=frames, frame_rate_hz=rate_hz))
    except GaitgenError:
        return None
    if not np.isfinite(clip.rotations).all():
        return None
    return pitch_roll_yaw_rad(matrix_from_quaternion(clip.rotations))


def _said(rig: Rig, animal: Animal) -> list[tuple[int, int, Array]]:
    """List the ranges that the map sets: joint of the animal, axis, least and greatest. [rad]

    A joint of a limb, of the head or the jaw stands for one of the animal's. One of a row (back, neck, tail,
    what hangs) shares its range among the joints of the animal that it stands for.
    """
    said = []
    for name, axes in rig.map.ranges_deg.items():
        rows, share = rows_of(rig, animal, name)
        if not rows:
            raise RigError(
                f"[ranges.{name}] of the map is about a joint that the animal does not turn; name one that "
                "is in [parts], [limbs] or [hanging]"
            )
        for axis, limits in axes.items():
            said += [(row, AXES.index(axis), share * np.radians(np.array(limits))) for row in rows]
    return said


def rows_of(rig: Rig, animal: Animal, name: str) -> tuple[list[int], float]:
    """Return the animal's joints that a joint of the rig stands for, if any, and their share of its range."""
    own = rig.map
    for limb, chain in zip(rig.limbs, animal.limbs, strict=True):
        turning = {rig.file.joint_names[j]: b for j, b in zip(limb.joints, limb.bones, strict=True) if b >= 0}
        if name in turning:
            return [chain.joints[turning[name]]], 1.0
    single = {own.head: animal.head}
    for joint, part in ((own.jaw, "jaw"), (own.ear_left, "ear_L"), (own.ear_right, "ear_R")):
        found = animal.part(part)
        single[joint] = None if found is None else found.joints[0]
    if (row := single.get(name)) is not None:
        return [row], 1.0
    lines = [(own.spine, animal.spine), (own.neck, animal.neck)]
    for key, joints in (("tail", own.tail), *((n, part.joints) for n, part in own.hanging.items())):
        part_found = animal.part(key)
        lines.append((joints, () if part_found is None else part_found.joints))
    for names, rows in lines:
        if name in names and rows:
            of_rig = np.minimum((np.arange(len(rows)) + 0.5) / len(rows) * len(names), len(names) - 1).astype(
                int
            )
            mine = [row for row, k in zip(rows, of_rig, strict=True) if k == names.index(name)]
            nearest = rows[min(names.index(name) * len(rows) // len(names), len(rows) - 1)]
            return mine or [nearest], len(names) / len(rows)
    return [], 1.0
