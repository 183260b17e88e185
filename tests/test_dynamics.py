"""The motion against Newton, by an independent solver (MuJoCo) on the same tree and masses."""

import numpy as np
import pytest

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.measure import measure_feet

pytest.importorskip("mujoco")

from dynamics import distance_outside, ground_wrench, zero_moment_point

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
FINE = 240


def _fine_clip(animal, period_s):
    return make_cycle(Request(animal=animal, frames=FINE, frame_rate_hz=FINE / period_s, in_place=False))


def _support_corners(clip):
    feet = measure_feet(clip)
    corners = []
    for frame in range(clip.frames - 1):
        points = []
        for limb in np.flatnonzero(feet.planted[frame]):
            foot = clip.animal.limbs[limb].foot
            points += [
                feet.toe_m[frame, limb, :2] + [-back, side]
                for back in (0.0, foot.toe_m + foot.heel_m)
                for side in (-foot.half_width_m, foot.half_width_m)
            ]
        corners.append(np.array(points))
    return corners


@pytest.mark.parametrize("animal", HORSES)
@pytest.mark.parametrize("period_s", [1.0, 4.0 / 3.0])
def test_the_ground_carries_the_weight_and_the_plan_is_what_the_motion_needs(animal, period_s):
    clip = _fine_clip(animal, period_s)
    force, moment = ground_wrench(clip)
    weight = clip.animal.body_mass_kg * GRAVITY_M_S2
    planned = clip.plan.force_n.sum(axis=1)[:-1]
    assert force[:, 2].mean() / weight == pytest.approx(1.0, abs=0.005)
    assert np.sqrt(np.mean((force[:, 2] - planned) ** 2)) / weight < 0.04
    away = distance_outside(zero_moment_point(force, moment), _support_corners(clip))
    assert away.max() < 1e-6


@pytest.mark.parametrize("animal", HORSES)
def test_a_hurried_walk_leaves_the_support_for_a_moment_and_by_little(animal):
    clip = _fine_clip(
        animal, 2.0 / 3.0
    )  # 16 frames at 24 a second: Froude number 0.6, no walk of a real horse
    force, moment = ground_wrench(clip)
    weight = clip.animal.body_mass_kg * GRAVITY_M_S2
    planned = clip.plan.force_n.sum(axis=1)[:-1]
    assert force[:, 2].mean() / weight == pytest.approx(1.0, abs=0.005)
    assert np.sqrt(np.mean((force[:, 2] - planned) ** 2)) / weight < 0.10
    away = distance_outside(zero_moment_point(force, moment), _support_corners(clip))
    assert np.mean(away > 1e-6) < 0.1
    assert away.max() < 0.04
