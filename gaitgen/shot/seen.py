"""What pictures of a shot need: its ground under the moving body, and what happens in each frame."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from gaitgen.animal.limb import LIMBS
from gaitgen.course.surfaces import with_block
from gaitgen.pictures.shot_plan import Fence, ShotPlan, Spot, Stretch
from gaitgen.pictures.terrain import Terrain
from gaitgen.shot.asked import Mark
from gaitgen.shot.make import Made
from gaitgen.shot.report import shot_parts

# Obstacles are drawn so wide, and at least so thick, in withers heights.
DRAWN_WIDE, DRAWN_THICK = 1.6, 0.06


def terrain_of(made: Made) -> Terrain:
    """Return the ground of a shot as it is seen from the frame that goes along its way."""
    withers = made.clip.animal.withers_height_m
    ground = made.ground
    for place_m, heading_rad, size_m in _blocks(made):
        ground = with_block(ground, place_m, heading_rad, size_m)
    return Terrain(ground, *made.root_motion(), withers)


def _blocks(made: Made) -> list[tuple[tuple[float, float], float, tuple[float, float, float]]]:
    """Return what is jumped as drawn: middle [m], heading [rad]; length along it, width and height [m]."""
    found = []
    withers = made.clip.animal.withers_height_m
    for laid in made.timeline.leaps:
        obstacle = laid.leap.obstacle
        place, heading, _ = made.path.at(np.array(obstacle.at_m))
        thick = max(obstacle.spread_m, DRAWN_THICK * withers)
        size = thick, DRAWN_WIDE * withers, obstacle.height_m
        found.append(((float(place[0]), float(place[1])), float(heading), size))
    return found


def _fence(place_m: tuple[float, float], heading_rad: float, size_m: tuple[float, float, float]) -> Fence:
    """Return what is jumped as it is seen from above."""
    ahead = np.array([np.cos(heading_rad), np.sin(heading_rad)])
    axes = np.stack([ahead, [-ahead[1], ahead[0]]]) * np.array(size_m[:2])[:, None] / 2.0
    return Fence(np.array(place_m) + np.array([[1, 1], [-1, 1], [-1, -1], [1, -1]]) @ axes, size_m[2])


def plan_of(made: Made, marks: Sequence[Mark] = ()) -> ShotPlan:
    """Return what is drawn of a shot, and of the marks it was asked to meet."""
    stretches = (Stretch(p.what, p.first_frame, p.last_frame, p.speed_m_s) for p in shot_parts(made))
    spots = tuple(Spot(mark.place_m, _says(mark)) for mark in marks)
    fences = tuple(_fence(*block) for block in _blocks(made))
    still, terrain = made.over_its_way(), terrain_of(made)
    return ShotPlan(made.clip, still, terrain, tuple(stretches), spots, fences, made.ground)


def _says(mark: Mark) -> str:
    """Say in short what a mark asks for."""
    what = "halt" if mark.halts else "here" if mark.foot is None else LIMBS[mark.foot]
    return what if mark.frame is None else f"{what} at {mark.frame}"


def strip_of(made: Made, poses: int) -> bytes:
    """Draw a strip of a shot as a PNG: poses from all over it, over its own ground."""
    from gaitgen.pictures.strip import write_strip

    plan = plan_of(made)
    return write_strip(plan.still, poses, plan.terrain, lambda row: plan.stretch_at(row).what)
