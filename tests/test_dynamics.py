"""The motion against Newton, by an independent solver (MuJoCo) on the same tree and masses."""

import numpy as np
import pytest

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.measure import measure_feet

pytest.importorskip("mujoco")

from dynamics import angular_momentum, distance_outside, ground_wrench, zero_moment_point
from gait_measures import FINE_HZ, contacts_s, going

HORSES = [name for name in animal_names() if load_animal(name).species == "horse"]
FINE = 240


def _fine_clip(animal, period_s):
    return make_cycle(Request(animal=animal, frames=FINE, frame_rate_hz=FINE / period_s, in_place=False))


# A little above what was measured on both horses at their usual speeds, with 240 moments a second, in weights
# of the body: how far the mean of the ground's force is from it; root mean square of what the motion needs
# beside the forces planned, upward, forward and to the left; the most that holds the body in flight, upward
# and in all; how much the angular momentum changes meanwhile, over weight, hip height and a stride. The feet
# of a gallop are quick, and their motion is not in the plan to the last. The mean is the
# weight but for the sampling (at a gallop 0.0122 with 240 moments, 0.0054 with 480), so it is taken of 480.
BOUNDS = {
    "trot": (0.002, 0.05, 0.095, 0.04, 0.055, 0.24, 0.003),
    "pace": (0.002, 0.05, 0.105, 0.035, 0.05, 0.17, 0.003),
    "canter": (0.003, 0.07, 0.16, 0.055, 0.11, 0.20, 0.004),
    "gallop": (0.006, 0.21, 0.36, 0.10, 0.43, 0.45, 0.014),
}


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", HORSES)
@pytest.mark.parametrize("gait", BOUNDS)
def test_running_gaits_are_carried_by_their_forces_and_fly_freely(gait, animal):
    mean, upward, forward, aside, lifted, held, spun = BOUNDS[gait]
    clip = going(gait, animal=animal, in_place=False)
    weight = clip.animal.body_mass_kg * GRAVITY_M_S2
    force, _ = ground_wrench(clip)
    planned = np.concatenate(
        [clip.plan.force_horizontal_n.sum(axis=1), clip.plan.force_n.sum(axis=1)[:, None]], axis=1
    )[:-1]
    finer, _ = ground_wrench(going(gait, animal=animal, in_place=False, rate_hz=2.0 * FINE_HZ))
    assert abs(finer[:, 2].mean() / weight - 1.0) < mean
    beside = np.sqrt(np.mean((force - planned) ** 2, axis=0)) / weight
    assert np.all(beside < (forward, aside, upward))
    contact, down = contacts_s(clip)
    moment = np.arange(clip.frames - 1)[:, None] / clip.frame_rate_hz
    flies = ((moment - contact) % clip.facts.period_s > down).all(axis=1)
    assert np.abs(force[flies, 2]).max() / weight < lifted
    assert np.linalg.norm(force[flies], axis=1).max() / weight < held
    around = np.flatnonzero(~flies)[0]  # the first row is not in the middle of a flight
    spin, flies = (np.roll(each, -around, axis=0) for each in (angular_momentum(clip), flies))
    flights = np.split(spin[flies], np.flatnonzero(np.diff(np.flatnonzero(flies)) > 1) + 1)
    most = max(np.ptp(each, axis=0).max() for each in flights)
    assert most / (weight * clip.animal.hip_height_m * clip.facts.period_s) < spun


# Of all other animals in all gaits they use, as measured, rounded up, and over what horses are held to only
# where legs are heavy or strides quick (greyhound, hare): what the motion needs beside the forces planned,
# forward, to the left and upward, the most that holds the body up in flight, and how far the mean is off.
WALKS, TROTS = (0.06, 0.035, 0.05, 0.0, 0.001), (0.065, 0.035, 0.03, 0.065, 0.005)
CANTERS, GALLOPS = (0.13, 0.05, 0.08, 0.17, 0.004), (0.28, 0.08, 0.20, 0.55, 0.025)
LIKE = {
    "walk": WALKS,
    "amble": WALKS,
    "running_walk": WALKS,
    "trot": TROTS,
    "pace": TROTS,
    "canter": CANTERS,
    "gallop": GALLOPS,
    "rotary_gallop": GALLOPS,
    "half_bound": GALLOPS,
}
OTHERS = [name for name in animal_names() if name not in {"riding_horse", "draft_horse"}]


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [(animal, gait) for animal in OTHERS for gait in load_animal(animal).gaits],
)
def test_other_animals_too_are_carried_by_the_forces_planned(animal, gait):
    forward, aside, upward, lifted, mean = LIKE[gait]
    clip = going(gait, animal=animal, in_place=False)
    weight = clip.animal.body_mass_kg * GRAVITY_M_S2
    force, _ = ground_wrench(clip)
    planned = np.concatenate(
        [clip.plan.force_horizontal_n.sum(axis=1), clip.plan.force_n.sum(axis=1)[:, None]], axis=1
    )[:-1]
    assert abs(force[:, 2].mean() / weight - 1.0) < mean
    assert np.all(np.sqrt(np.mean((force - planned) ** 2, axis=0)) / weight < (forward, aside, upward))
    contact, down = contacts_s(clip)
    moment = np.arange(clip.frames - 1)[:, None] / clip.frame_rate_hz
    flies = ((moment - contact) % clip.facts.period_s > down).all(axis=1)
    assert np.abs(force[flies, 2]).max(initial=0.0) / weight <= lifted


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


@pytest.mark.sample(1)
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


@pytest.mark.sample(1)
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
