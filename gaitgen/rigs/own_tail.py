"""A rig's own tail in pictures: what little of it looks out of the template's rump is drawn all the same."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Ball
from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# A tail is lost in the rump if less than this share of it looks out from the side; then the rump goes less
# far behind the hips, as the root of the tail is less far behind them, but by no more than this (estimates).
SEEN_SHARE, LEAST_RUMP = 0.5, 0.5
POINTS = 25  # of a tail, for what of it is seen


def with_own_tail(rig: Rig, animal: Animal, template: Animal) -> Animal:
    """Draw a tail of the rig that is lost in the flesh of the trunk as one of its own, behind a shorter rump.

    Parameters
    ----------
    rig, animal
        The rig, and the animal with its proportions.
    template
        The animal whose flesh it has: where that one's tail grows out tells how far in the rig's does.
    """
    tail = animal.part("tail")
    if tail is None or not rig.map.tail or _seen_share(animal, tail.joints) >= SEEN_SHARE:
        return animal
    names = {animal.joint_names[row] for row in tail.joints}
    groups = {group for joint, _, _, group in animal.outline if joint in names}
    layers = {**animal.outline_layers, **dict.fromkeys(groups, "tail")}
    own = template.part("tail")
    if own is None:
        return replace(animal, outline_layers=layers)
    scale = animal.hip_height_m / template.hip_height_m
    behind = _behind_m(animal, tail.joints[0]) / (scale * _behind_m(template, own.joints[0]))
    share = float(np.clip(behind, LEAST_RUMP, 1.0))
    outline = tuple(_moved(animal, ball, share) if ball[3] not in groups else ball for ball in animal.outline)
    return replace(animal, outline=outline, outline_layers=layers)


def _behind_m(animal: Animal, row: int) -> float:
    """How far a joint is behind the hips, standing. [m]"""
    places = standing_positions_m(animal)
    return float(places[animal.limb("hind").top, 0] - places[row, 0])


def _moved(animal: Animal, ball: Ball, share: float) -> Ball:
    """Let a ball on the joint of the hips end by such a share of its way behind them."""
    joint, (x, y, z), radius, group = ball
    row = animal.limb("hind").girdle
    if animal.joint(joint) != row:
        return ball
    hips = -_behind_m(animal, row)  # ahead of the hips is the joint
    back = hips + x - radius
    if back >= 0.0:
        return ball
    return joint, (x + (share - 1.0) * back, y, z), radius, group


def _seen_share(animal: Animal, rows: tuple[int, ...]) -> float:
    """Share of the length of a tail that is outside the flesh of the trunk, seen from the side, standing."""
    places = standing_positions_m(animal)
    line = np.concatenate([places[list(rows)], (places[rows[-1]] + animal.tips_m[rows[-1]])[None]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.linspace(0.0, along[-1], POINTS)
    points = np.stack([np.interp(at, along, line[:, axis]) for axis in (0, 2)], axis=1)
    below = {animal.joint_names[row] for row in rows}
    groups = {group for joint, _, _, group in animal.outline if joint in below}
    balls = [ball for ball in animal.outline if ball[3] not in groups]
    if not balls:
        return 1.0
    centres = np.array([(places[animal.joint(joint)] + at_m)[[0, 2]] for joint, at_m, _, _ in balls])
    radii = np.array([radius for _, _, radius, _ in balls])
    away = np.linalg.norm(points[:, None] - centres, axis=2) - radii
    return float((away.min(axis=1) > 0.0).mean())
