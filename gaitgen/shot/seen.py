"""What pictures of a shot need: its ground under the moving body, and what happens in each frame."""

from __future__ import annotations

from gaitgen.pictures.shot_plan import ShotPlan, Stretch
from gaitgen.pictures.terrain import Terrain
from gaitgen.shot.make import Made
from gaitgen.shot.report import shot_parts


def terrain_of(made: Made) -> Terrain:
    """Return the ground of a shot as it is seen from the frame that goes along its way."""
    return Terrain(made.ground, *made.root_motion(), made.clip.animal.withers_height_m)


def plan_of(made: Made) -> ShotPlan:
    """Return what is drawn of a shot."""
    stretches = (Stretch(p.what, p.first_frame, p.last_frame, p.speed_m_s) for p in shot_parts(made))
    return ShotPlan(made.clip, made.over_its_way(), terrain_of(made), tuple(stretches))


def strip_of(made: Made, poses: int) -> bytes:
    """Draw a strip of a shot as a PNG: poses from all over it, over its own ground."""
    from gaitgen.pictures.strip import write_strip

    plan = plan_of(made)
    return write_strip(plan.still, poses, plan.terrain, lambda row: plan.stretch_at(row).what)
