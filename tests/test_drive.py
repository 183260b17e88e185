"""Legs of runners: the line of drive holds after the push, the leg folds as a whole, and feet are carried."""

import numpy as np
import pytest
from gait_measures import going, joint_deg, places_m, share_of_swing

from gaitgen import animal_names, load_animal
from gaitgen.motion.measure import measure_feet

FAST = {"canter", "gallop", "rotary_gallop", "half_bound"}
RUNS = [(name, gait) for name in animal_names() for gait in load_animal(name).gaits if gait in FAST]
WITH_HOCK = [run for run in RUNS if len(load_animal(run[0]).limb("hind").joints) > 3]
WITH_CARPUS = [run for run in RUNS if len(load_animal(run[0]).limb("fore").joints) > 4]
HEAVY = {"cow", "pig", "dromedary", "giraffe", "brown_bear"}


def swing_of(animal, gait, limb, curve):
    """Follow a curve, (samples,), over the swing of a foot: a function of its share of swing."""
    clip = going(gait, animal=animal)
    share = share_of_swing(clip, limb, np.arange(clip.frames - 1) / clip.frame_rate_hz)
    rows = np.flatnonzero(share <= 1.0)
    rows = rows[np.argsort(share[rows])]
    return lambda at: np.interp(at, share[rows], curve[rows])


def angle_of(animal, gait, limb, place):
    """One joint of a limb, counted from the trunk, over its swing. [deg]"""
    clip = going(gait, animal=animal)
    joint = clip.animal.joint_names[clip.animal.limbs[limb].joints[place]][:-2]
    return swing_of(animal, gait, limb, joint_deg(clip, joint, limb))


@pytest.mark.sample(5)
@pytest.mark.parametrize(("animal", "gait"), WITH_HOCK)
def test_the_line_of_drive_holds_for_a_fifth_of_the_swing(animal, gait):
    """The hock stays open as the leg trails, on hooves most of all: common practice, no source."""
    on_paws = load_animal(animal).limb("hind").foot.kind == "paw"
    for limb in (2, 3):
        hock = angle_of(animal, gait, limb, 2)
        assert hock(np.linspace(0.02, 0.2, 19)).min() > (124.0 if on_paws else 136.0)


@pytest.mark.sample(5)
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_a_hind_leg_is_folded_most_as_it_passes_under_the_hip(animal, gait):
    """Once, half-way through swing, and not as it leaves or lands: common practice, no source."""
    share = np.linspace(0.0, 1.0, 201)
    for limb in (2, 3):
        stifle = angle_of(animal, gait, limb, 1)(share)
        assert 0.35 < share[stifle.argmin()] < 0.6
        falls = np.diff(stifle) < -0.02
        assert not falls[(share[1:] > stifle.argmin() / 200.0 + 0.03) & (share[1:] < 0.85)].any()


@pytest.mark.sample(len(RUNS))
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_a_hind_foot_is_carried_off_the_ground_under_the_hip(animal, gait):
    """In shares of hip height, as the leg is folded most: common practice, no source."""
    clip = going(gait, animal=animal)
    least = 0.11 if gait == "canter" or animal in HEAVY else 0.19
    for limb in (2, 3):
        toe = swing_of(animal, gait, limb, measure_feet(clip).toe_m[:-1, limb, 2])
        middle = toe(np.linspace(0.45, 0.6, 31)) / clip.animal.hip_height_m
        assert least < middle.max() < 0.4


@pytest.mark.sample(len(WITH_CARPUS))
@pytest.mark.parametrize(("animal", "gait"), WITH_CARPUS)
def test_a_foreleg_reaches_with_a_bent_knee_and_lands_on_a_straight_one(animal, gait):
    """Bent until the last fifth or quarter of its swing: common practice, no source."""
    for limb in (0, 1):
        carpus = angle_of(animal, gait, limb, 3)
        assert carpus(0.7) < 165.0
        assert carpus(0.97) > 170.0


@pytest.mark.sample(len(WITH_CARPUS))
@pytest.mark.parametrize(("animal", "gait"), WITH_CARPUS)
def test_a_foreleg_is_opening_in_the_last_third_of_its_swing(animal, gait):
    """It is not cranked until the foot lands: the carpus is open to 150 degrees by four fifths of swing, and
    the forearm of a hoofed animal is coming down (common practice, no source).
    """
    on_paws = load_animal(animal).limb("fore").foot.kind == "paw"
    clip = going(gait, animal=animal)
    for limb in (0, 1):
        elbow, carpus = (clip.animal.limbs[limb].joints[place] for place in (2, 3))
        along = places_m(clip)[:, carpus] - places_m(clip)[:, elbow]
        forearm = swing_of(animal, gait, limb, np.degrees(np.arctan2(along[:, 0], -along[:, 2])))
        highest = forearm(np.linspace(0.0, 1.0, 101)).max()
        assert highest < (72.0 if on_paws else 82.0)
        assert on_paws or forearm(0.8) < max(highest - 10.0, 50.0)
        assert angle_of(animal, gait, limb, 3)(0.8) > 150.0


@pytest.mark.sample(len(RUNS))
@pytest.mark.parametrize(("animal", "gait"), RUNS)
def test_a_thigh_stays_behind_for_a_fifth_of_the_swing(animal, gait):
    """As it drove, within 20 degrees: common practice, no source."""
    clip = going(gait, animal=animal)
    for limb in (2, 3):
        hip, stifle = clip.animal.limbs[limb].joints[:2]
        along = places_m(clip)[:, stifle] - places_m(clip)[:, hip]
        thigh = swing_of(animal, gait, limb, np.degrees(np.arctan2(along[:, 0], -along[:, 2])))
        assert thigh(0.2) < thigh(0.04) + 20.0
