"""Rows of a template's joints laid along those of a rig: neck and head, tail, ears, what hangs."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Ball
from gaitgen.animal.standing import standing_positions_m
from gaitgen.numerics.turns import least_turn
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# Flesh does not go along with a bone that is so much shorter, or points so much elsewhere, than its own; that
# of what hangs does, as a short tail is short all along.
LEAST_STRETCH, LEAST_STRETCH_OF_TAIL, FARTHEST_COSINE = 0.2, 0.01, -0.98
# A point that hangs on a joint nearer than this is the joint itself. [m]
APART_M = 1e-4
# In heights of the head's joint: what is farther aside, or nearer, is no end of the head.
ASIDE_OF_HEAD, LEAST_HEAD = 0.02, 0.04


def warped(template: Animal, places: Array, limbs: dict[str, Array], hind: float, fore: float) -> Array:
    """Stretch the template so that the tops of its limbs are over the rig's, (joints, 3)."""
    rear, front = (places[template.limb(end).top, 0] for end in ("hind", "fore"))
    share = np.clip((places[:, 0] - rear) / (front - rear), 0.0, 1.0)
    long = (limbs["fore"][0, 0] - limbs["hind"][0, 0]) / (front - rear)
    ahead = limbs["hind"][0, 0] + long * share * (front - rear)
    beyond = places[:, 0] - np.clip(places[:, 0], rear, front)
    up = places[:, 2] * (hind + share * (fore - hind))
    return np.stack([ahead + hind * beyond, hind * places[:, 1], up], axis=1)


def line_with_tip(rig: Rig, names: tuple[str, ...]) -> Array:
    """Joints of a line and the farthest point that hangs on its last, (points, 3)."""
    joints = [rig.joint(name) for name in names]
    if not joints:
        return np.zeros((0, 3))
    hanging = np.flatnonzero(rig.rest.parents == joints[-1])
    points = [rig.places_m[joint] for joint in joints]
    if hanging.size:
        far = np.linalg.norm(rig.places_m[hanging] - points[-1], axis=1)
        if far.max() > APART_M:
            points.append(rig.places_m[hanging[int(far.argmax())]])
    return np.asarray(np.array(points) * np.array([1.0, 0.0, 1.0]))


def _neck_line(rig: Rig) -> Array:
    """Joints of the neck, the head and the end of the head."""
    return line_with_tip(rig, (*rig.map.neck, *([rig.map.head] if rig.map.head else [])))


def place_neck(rig: Rig, template: Animal, placed: Array, scale: float) -> None:
    """Lay neck and head of the template along the rig's."""
    if template.head is None:
        return
    rows, line = (*template.neck, template.head), _neck_line(rig)
    if rig.map.head is not None:
        head = len(rig.map.neck)
        start = line[:1] if head else placed[rows[0]][None]
        line = np.concatenate([start, line[1 : head + 1] if head else line[:1]])
    place_line(template, placed, rows, line, scale, with_tip=False)


def ears_of(rig: Rig, template: Animal) -> list[tuple[int, int]]:
    """List the ears that rig and template both have: joint of the template, joint of the rig."""
    pairs = []
    for name, own in (("ear_L", rig.map.ear_left), ("ear_R", rig.map.ear_right)):
        part = template.part(name)
        if part is not None and own is not None and rig.map.head is not None:
            pairs.append((part.joints[0], rig.joint(own)))
    return pairs


def place_ears(rig: Rig, template: Animal, placed: Array, ahead_m: float) -> None:
    """Put the ears where the rig has them."""
    for row, joint in ears_of(rig, template):
        placed[row] = rig.places_m[joint] + np.array([ahead_m, 0.0, 0.0])


def place_line(
    template: Animal, placed: Array, rows: tuple[int, ...], line: Array, scale: float, *, with_tip: bool
) -> None:
    """Lay a row of the template's joints along a line of the rig, and carry along what hangs on the last."""
    before = placed.copy()
    own = standing_positions_m(template)
    if len(line) >= 2:
        bones = np.linalg.norm(np.diff(own[list(rows)], axis=0), axis=1)
        if with_tip:
            bones = np.append(bones, np.linalg.norm(template.tips_m[rows[-1]]))
        marks = np.concatenate([[0.0], np.cumsum(bones)]) / max(float(bones.sum()), 1e-9)
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
        for k, row in enumerate(rows):
            placed[row] = [np.interp(marks[k] * along[-1], along, line[:, axis]) for axis in range(3)]
    moved = placed[rows[-1]] - before[rows[-1]]
    for joint in template.below(rows[-1])[1:]:
        placed[joint] = before[rows[-1]] + moved + scale * (own[joint] - own[rows[-1]])


def turn_head(template: Animal, placed: Array, tip_m: Array, scale: float) -> Array:
    """Turn and stretch what is on the template's head with the head of the rig.

    Parameters
    ----------
    template
        The template, which has a head.
    placed
        (joints, 3) places, standing; those on the head are changed. [m]
    tip_m
        (3,) end of the rig's head from its joint. [m]
    scale
        Size of the rig against the template.

    Returns
    -------
    (3, 3) the turn, with the stretch.
    """
    row = template.head
    assert row is not None  # noqa: S101
    own = scale * template.tips_m[row]
    size, long = float(np.linalg.norm(own)), float(np.linalg.norm(tip_m))
    if float(own @ tip_m) <= FARTHEST_COSINE * size * long:
        return np.eye(3)
    turn = least_turn(own, tip_m) * (long / size)
    standing = standing_positions_m(template)
    rows = list(template.below(row)[1:])
    placed[rows] = placed[row] + scale * (standing[rows] - standing[row]) @ turn.T
    return np.asarray(turn)


def head_tip_m(rig: Rig, head_m: Array) -> Array | None:
    """From the head's joint to the farthest point before it, or None if the rig has none."""
    if rig.map.head is None:
        return None
    joint = rig.joint(rig.map.head)
    apart = {rig.joint(name) for part in rig.map.hanging.values() for name in part.joints}
    below = [joint]
    for member in below:
        below.extend(int(c) for c in np.flatnonzero(rig.rest.parents == member) if c not in apart)
    aside = ASIDE_OF_HEAD * head_m[2]
    reach = [rig.places_m[p] - head_m for p in below if abs(float(rig.places_m[p, 1])) < aside]
    if not reach:
        return None
    flat = np.array(reach) * np.array([1.0, 0.0, 1.0])
    best = flat[int((flat[:, 0] - flat[:, 2]).argmax())]
    return best if float(np.linalg.norm(best)) > LEAST_HEAD * head_m[2] else None


def flesh_along(template: Animal, tips_m: Array, scale: float) -> tuple[Ball, ...]:
    """Lay the balls of the template's outline along the bones of a rig's animal.

    What is along a bone grows with it and turns with it; what is across grows with the animal.

    Parameters
    ----------
    template
        The animal whose flesh it is.
    tips_m
        (joints, 3) end of each bone of the rig's animal from its joint, standing. [m]
    scale
        Size of the rig's animal against the template.
    """
    balls: list[Ball] = []
    hanging = {joint for part in template.hanging for joint in part.joints}
    bones: dict[int, tuple[Array, float, float, Array] | None] = {}  # each once
    for joint, place, radius, group in template.outline:
        row = template.joint(joint)
        at = scale * np.array(place)
        if row not in bones:
            least = LEAST_STRETCH_OF_TAIL if row in hanging else LEAST_STRETCH
            bones[row] = _turned_bone(scale * template.tips_m[row], tips_m[row], least)
        bone = bones[row]
        if bone is not None:
            own, size, long, turn = bone
            along = (at @ own) / size**2 * own
            at = turn @ (along * long / size + (at - along))
        balls.append((joint, (float(at[0]), float(at[1]), float(at[2])), scale * radius, group))
    return tuple(balls)


def _turned_bone(own: Array, new: Array, least: float) -> tuple[Array, float, float, Array] | None:
    """Return a bone (3,), its length, that on the rig and its turn there; None if they are unlike. [m]"""
    size, long = float(np.linalg.norm(own)), float(np.linalg.norm(new))
    if size > 0.0 and long > least * size and float(own @ new) > FARTHEST_COSINE * size * long:
        return own, size, long, least_turn(own, new)
    return None
