"""Random smooth refinements carried between lengths, in walks and runs of horses, a dog and a cat."""

from functools import cache

import numpy as np
import pytest
from hand_edits import smooth

from gaitgen import Request, make_cycle
from gaitgen.edits.carry import carry
from gaitgen.edits.difference import difference
from gaitgen.edits.phase import phases, timing_of
from gaitgen.motion.measure import found_feet, loop_gap, measure_feet, slip_m

LENGTHS = {
    ("riding_horse", "trot"): (14, 16, 18, 24),
    ("riding_horse", "canter"): (12, 14, 16),
    ("draft_horse", "trot"): (16, 18, 24),
    ("dog", "walk"): (16, 18, 24, 32, 48),
    ("dog", "trot"): (10, 12, 16),
    ("dog", "canter"): (10, 12),
    ("cat", "walk"): (16, 20, 24, 32, 48),
    ("cat", "trot"): (10, 12, 14),
}
WHO = tuple(LENGTHS)
RANDOM = np.random.default_rng(17)
DRAWS = []
for number in range(32):  # each of them four times
    who = WHO[number % len(WHO)]
    lengths = [int(k) for k in RANDOM.choice(LENGTHS[who], 2, replace=False)]
    DRAWS.append((*who, *lengths, int(RANDOM.integers(10**6))))


@cache
def cycle(**options):
    return make_cycle(Request(**options))


@pytest.mark.sample(3)
@pytest.mark.parametrize(("animal", "gait", "frames", "to", "seed"), DRAWS)
def test_random_refinements_keep_feet_planted_and_are_equal_in_phase(animal, gait, frames, to, seed):
    clip, plain = (cycle(animal=animal, gait=gait, frames=n) for n in (frames, to))
    edit = difference(clip, smooth(seed, 1.0, 2.0)(clip))
    carried = carry(edit, plain, plain)
    made, timing = carried.clip, timing_of(plain)
    assert loop_gap(made) < 1e-9
    assert slip_m(made) < 1e-4
    planted = timing.planted()
    np.testing.assert_array_equal(found_feet(made).planted[:-1], planted)
    toes = measure_feet(made).toe_m  # on the ground, where a foot that is down has one place
    for limb in range(4):
        rows = np.flatnonzero(planted[:, limb])
        rows = rows[rows >= timing.contact[limb]]
        assert np.ptp(toes[rows, limb], axis=0).max() < 1e-3
    at = phases(edit.timing, timing)
    is_of_limb = {
        made.animal.joint_names[joint]: k
        for k, limb in enumerate(made.animal.limbs)
        for joint in (*limb.joints, *(() if limb.sling is None else (limb.sling,)))
    }
    for k, name in enumerate(edit.joint_names):
        moments = at.limbs[:, is_of_limb[name]] if name in is_of_limb else at.trunk
        rows = np.flatnonzero(np.abs(moments - np.rint(moments)) < 1e-9)  # frames of both
        assert rows.size, "the contacts at least"
        there = edit.turn_rad[np.rint(moments[rows]).astype(int) % frames, k]
        curves = carried.asked_rad if name in is_of_limb else carried.made_rad
        share = 1.0 if name in is_of_limb else carried.trunk_share
        here = curves[rows, carried.joint_names.index(name)]
        np.testing.assert_allclose(here, share * there, atol=1e-6, err_msg=name)


@pytest.mark.thorough
def test_most_of_them_need_nothing_held_back():
    """So that the test above is about something."""
    held = 0
    for animal, gait, frames, to, seed in DRAWS[:16]:
        clip, plain = (cycle(animal=animal, gait=gait, frames=n) for n in (frames, to))
        carried = carry(difference(clip, smooth(seed, 1.0, 2.0)(clip)), plain, plain)
        held += carried.trunk_share < 1.0 or carried.limb_share < 1.0
    assert held <= 4
