"""A hind foot passes the foreleg in front of it; it does not go through it (common practice, no source)."""

from itertools import pairwise

import numpy as np
import pytest

from gaitgen import animal_names
from gaitgen.animal.library import load_animal
from gaitgen.gait.gait import load_gait
from gaitgen.motion.kinematics import world_frames
from gaitgen.pipeline import Request, settle
from gaitgen.pipeline.temper import tempered

RUNS = [
    (animal, gait)
    for animal in animal_names()
    for gait in load_animal(animal).gaits
    if not load_gait(gait).walks
]
# Feet are rounder than the lines that are measured, and give way.
ROOM_SHARE = 0.7
DIRECT = {
    ("cat", "trot"): "its hind foot lands in the print that the fore foot is leaving",
}


def bones_m(solved):
    """Points along the last two bones of each limb and its foot: (samples, 4, points, 3)."""
    animal, rows = solved.course.animal, np.arange(solved.course.grid.count)
    places, _ = world_frames(animal, solved.trunk.root_m, solved.local_rotations(rows))
    share = np.linspace(0.0, 1.0, 6)[:, None]
    points = []
    for k, limb in enumerate(animal.limbs):
        ends = [places[:, joint] for joint in limb.joints[-3:]] + [solved.legs.feet.toe_m[:, k]]
        lines = [a[:, None] + share * (b - a)[:, None] for a, b in pairwise(ends)]
        points.append(np.concatenate(lines, axis=1))
    return np.stack(points, axis=1)


def least_m(points, one, other):
    """Return the least distance between two limbs."""
    away = points[:, one, :, None] - points[:, other, None]
    return float(np.linalg.norm(away, axis=-1).min())


@pytest.mark.sample(8)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [
        pytest.param(
            *run, marks=[pytest.mark.xfail(strict=True, reason=DIRECT[run])] if run in DIRECT else []
        )
        for run in RUNS
    ],
)
def test_hind_feet_pass_beside_fore_legs(animal, gait):
    solved = tempered(settle(Request(animal=animal, gait=gait, frame_rate_hz=48.0))).solved
    points, limbs = bones_m(solved), solved.course.animal.limbs
    room = ROOM_SHARE * (limbs[0].foot.half_width_m + limbs[2].foot.half_width_m)
    assert min(least_m(points, fore, hind) for fore in (0, 1) for hind in (2, 3)) > room


@pytest.mark.sample(8, 3)
@pytest.mark.parametrize(
    ("animal", "gait"), [(animal, gait) for animal in animal_names() for gait in load_animal(animal).gaits]
)
def test_a_foot_goes_around_its_fellow(animal, gait):
    """Left and right pass one another without going through one another (common practice, no source)."""
    solved = tempered(settle(Request(animal=animal, gait=gait, frame_rate_hz=48.0))).solved
    points, limbs = bones_m(solved), solved.course.animal.limbs
    for one, other in ((0, 1), (2, 3)):
        room = ROOM_SHARE * (limbs[one].foot.half_width_m + limbs[other].foot.half_width_m)
        assert least_m(points, one, other) > room
