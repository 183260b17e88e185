"""A machine whose hips lead aside walks as it stands; a head is as wide as its ears are apart."""

import numpy as np
import pytest
from make_unseen_rigs import UNSEEN as PLANS
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen.animal.standing import standing_positions_m
from gaitgen.rigs.cycle import load_rig
from gaitgen.rigs.rig_map import FOLLOWS

SLIP_M = 1e-4


def test_a_bone_that_leads_a_leg_aside_turns_nothing_and_the_leg_stands_under_the_body(chart):
    found = chart("0x00")[1]
    assert found.map.legs == "as they stand"
    for limb in found.map.limbs.values():
        assert limb.bones[0] == FOLLOWS
        assert FOLLOWS not in limb.bones[1:]


def test_where_a_rig_cannot_walk_with_the_animal_most_like_it_the_next_is_taken(chart):
    said = [doubt.text for doubt in chart("0x00")[1].doubts if doubt.topic == "template"]
    assert len(said) == 1
    assert "this rig cannot walk" in said[0]
    assert f"{chart('0x00')[1].map.template} is taken" in said[0]


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip(name, gait, clip):
    assert slip_m(PLANS[name], clip(name, gait)) < SLIP_M


def test_ears_are_on_the_flesh_of_a_large_head(chart):
    """Not beside it: their flesh and that of the head overlap."""
    animal = load_rig(str(chart("atama")[0])).standing
    places = standing_positions_m(animal)

    def balls(row):
        name = animal.joint_names[row]
        return [(places[row] + at, radius) for joint, at, radius, _ in animal.outline if joint == name]

    own = balls(animal.part("ear_L").joints[0])  # the right one is its mirror image
    apart = [np.linalg.norm(a - b) - p - q for a, p in own for b, q in balls(animal.head)]
    assert min(apart) < 0.0


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["atama", "sacrum"])
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    assert drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path).joints()
