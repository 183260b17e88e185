"""The flesh of a head that is larger than its template's: as large as brings it to the ears of the rig."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.animal.animal import Animal, Ball
from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.lines import ears_of
from gaitgen.rigs.rig import Rig

Array = npt.NDArray[np.float64]

# Ears that begin so many times as far from the line of the head as the template's would float beside its
# flesh; the head then grows toward them, by so much at a time, to at most so many times (estimates).
APART_EARS, STEP, MOST_GROWTH = 1.5, 0.1, 6.0
LEAST_M = 1e-4  # nothing is taken to be shorter


def with_large_head(
    flesh: tuple[Ball, ...], rig: Rig, template: Animal, placed: Array, tip_m: Array, scale: float
) -> tuple[Ball, ...]:
    """Let the head of a rig's animal grow, from its lower side on, until its ears begin in its flesh.

    Parameters
    ----------
    flesh
        The balls of the rig's animal.
    rig, template
        The rig, and the animal whose flesh it has.
    placed
        (joints, 3) places of the template's joints on the rig, standing. [m]
    tip_m
        (3,) end of the rig's head from its joint. [m]
    scale
        Size of the rig against the template.
    """
    row, ears = template.head, [ear for ear, _ in ears_of(rig, template)]
    if row is None or not ears:
        return flesh
    standing = standing_positions_m(template)
    own = _off_line_m(scale * (standing[ears] - standing[row]), template.tips_m[row])
    arms = placed[ears] - placed[row]
    new = _off_line_m(arms, tip_m)
    name = template.joint_names[row]
    rows = [k for k, ball in enumerate(flesh) if ball[0] == name]
    if not rows or np.linalg.norm(new, axis=1).max() < APART_EARS * np.linalg.norm(own, axis=1).max():
        return flesh
    toward = new.mean(axis=0) / max(float(np.linalg.norm(new.mean(axis=0))), LEAST_M)
    places, radii = np.array([flesh[k][1] for k in rows]), np.array([flesh[k][2] for k in rows])
    goes = _off_line_m(places, tip_m) + radii[:, None] * toward  # with each time that it is as large
    times = np.arange(1.0, MOST_GROWTH + STEP, STEP)
    grown = places + (times[:, None, None] - 1.0) * goes  # (times, balls, 3)
    away = np.linalg.norm(grown[:, :, None] - arms, axis=-1) - (times[:, None] * radii)[..., None]
    meets = np.flatnonzero((away.min(axis=1) <= 0.0).all(axis=1))
    k = int(meets[0]) if meets.size else len(times) - 1
    balls = list(flesh)
    for ball, (x, y, z), radius in zip(rows, grown[k].tolist(), radii.tolist(), strict=True):
        balls[ball] = (name, (x, y, z), float(times[k]) * radius, flesh[ball][3])
    return tuple(balls)


def _off_line_m(points_m: Array, along_m: Array) -> Array:
    """From a line through the origin to each of some points, (points, 3). [m]"""
    share = points_m @ along_m / max(float(along_m @ along_m), LEAST_M**2)
    return np.asarray(points_m - share[:, None] * along_m)
