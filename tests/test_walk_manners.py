"""How animals carry heads, roll over soles and hang their tails at a walk: common practice, no source."""

from functools import cache

import numpy as np
import pytest
from gait_measures import contacts_s, height_m, turn_deg

from gaitgen import Request, animal_names, load_animal, make_cycle
from gaitgen.animal.standing import standing_positions_m
from gaitgen.gait.gait import LIMBS

# Least and most mean height of the poll over the withers at a walk.
CARRIAGE = {
    "big_cat": (0.80, 0.95),
    "brown_bear": (0.70, 0.85),
    "cat": (0.90, 1.05),
    "cow": (0.85, 1.0),
    "dromedary": (1.05, 1.4),
    "elephant": (0.85, 1.0),
    "giraffe": (1.4, 1.7),
    "goat": (1.15, 1.5),
    "pig": (0.75, 0.98),
    "red_deer": (1.2, 1.6),
}
# How far the sole of a hind foot may have tipped up behind in the moment in which it leaves.
PEELS_DEG = {"brown_bear": 70.0, "elephant": 32.0}


@cache
def walk(animal, frames=None):
    return make_cycle(Request(animal=animal, gait="walk", frames=frames, frame_rate_hz=96.0))


@pytest.mark.parametrize("animal", sorted(CARRIAGE))
def test_heads_are_carried_as_each_animal_carries_its_own(animal):
    """Low and hung before the shoulder by bears and big cats, level by cattle, high by deer and goats."""
    clip = walk(animal)
    share = height_m(clip, "poll").mean() / clip.animal.withers_height_m
    least, most = CARRIAGE[animal]
    assert least < share < most


@pytest.mark.parametrize("animal", sorted(PEELS_DEG))
def test_a_heavy_sole_peels_off_and_does_not_stand_on_its_edge(animal):
    clip = walk(animal)
    foot = clip.animal.joint_names[clip.animal.limbs[LIMBS.index("RH")].foot_joint]
    pitch = turn_deg(clip, foot, "pitch")
    contact, down = contacts_s(clip)
    leaves = round((contact[3] + down[3]) * clip.frame_rate_hz)
    assert -PEELS_DEG[animal] < pitch[leaves % pitch.size] < -10.0


@pytest.mark.sample(6)
@pytest.mark.parametrize("limb", ["RF", "RH"])
@pytest.mark.parametrize("animal", animal_names())
def test_a_swinging_foot_hangs_from_its_leg_and_comes_level_as_it_reaches(animal, limb):
    """A foot that goes forward level from the start reads as a stamp that is moved flat through the air."""
    clip, k = walk(animal), LIMBS.index(limb)
    pitch = turn_deg(clip, clip.animal.joint_names[clip.animal.limbs[k].foot_joint], "pitch")
    contact, down = contacts_s(clip)
    swing_s = clip.facts.period_s - down[k]

    def at(share):
        row = round((contact[k] + down[k] + share * swing_s) * clip.frame_rate_hz)
        return pitch[row % (clip.frames - 1)]

    assert at(0.3) < -28.0
    assert at(0.5) < -15.0
    assert at(0.3) < at(0.5) < at(0.85) - 12.0
    assert abs(at(0.97)) < 5.0


def _balls_m(animal, joints):
    """Centres (balls, 3) and radii of the flesh on some joints, standing, tails left out. [m]"""
    places = standing_positions_m(animal)
    own = [
        (places[animal.joint(joint)] + centre, radius)
        for joint, centre, radius, group in animal.outline
        if animal.joint(joint) in joints and "tail" not in group
    ]
    return np.array([centre for centre, _ in own]), np.array([radius for _, radius in own])


@pytest.mark.parametrize("animal", animal_names())
def test_a_tail_leaves_the_body_near_its_skin(animal):
    """One that starts deep in the rump shows its tuft alone; hair from the root on hides that."""
    made = load_animal(animal)
    centres, radii = _balls_m(made, {made.spine[0], made.limb("hind").top})
    root = standing_positions_m(made)[made.joint("tail_1")]
    beside = np.abs(centres[:, 2] - root[2]) < radii
    skin = centres[beside, 0] - np.sqrt(radii[beside] ** 2 - (centres[beside, 2] - root[2]) ** 2)
    assert beside.any()
    is_bare = "tail_skin" in {group for _, _, _, group in made.outline}
    assert root[0] - skin.min() < (0.07 if is_bare else 0.105) * made.withers_height_m


@pytest.mark.parametrize("animal", animal_names())
def test_a_trunk_is_narrower_than_deep(animal):
    made = load_animal(animal)
    centres, radii = _balls_m(made, set(made.spine))
    width = 2.0 * (np.abs(centres[:, 1]) + radii).max()
    depth = (centres[:, 2] + radii).max() - (centres[:, 2] - radii).min()
    assert width < (0.70 if animal == "greyhound" else 0.90) * depth
