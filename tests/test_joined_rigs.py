"""Rigs whose legs lack blades or paws, or have joints of no length: they go as high as they stand."""

import numpy as np
import pytest
from make_joined_rigs import JOINED as PLANS
from rig_measures import has_styles, slip_m, tracks_m
from test_carry_rigs import drawn_and_carried

from gaitgen.commands.check_file import check_file

SLIP_M = 1e-4
GAITS = ("walk", "trot", "canter", "gallop")
PARTS = {  # the first and the last joint of the back, the head, the first of the tail
    "orkatz": ("aldaka", "sorbalda", "buru", "isats1"),
    "draig": ("clun", "bron", "pen", "cynffon1"),
    "renoster": ("bekken", "skof", "kop", "stert1"),
    "stol": ("bak", "bringa", "hovud", "svans1"),
}
LEGS = {
    ("orkatz", "LF"): ("humerus", "radius", "fore_cannon", "fore_pastern", "fore_claw"),
    ("renoster", "LF"): ("humerus", "radius", "metacarpus"),
    ("stol", "LH"): ("femur", "tibia", "metatarsus"),
}
REFUSED = {("renoster", "gallop")}  # more than its legs can do
# What `check` finds.
FOUND = {
    ("renoster", "canter"): {"head on rails"},  # as a dog's, on a neck that is steadier than its chest
    ("stol", "gallop"): {"legs swapped"},  # a false alarm: its hind legs pass each other
}


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    assert (found.spine[0], found.spine[-1], found.head, found.tail[0]) == PARTS[name]
    for limb, own in found.limbs.items():
        if (name, limb) in LEGS:
            assert own.bones == LEGS[name, limb]


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("name", "gait"), [(name, gait) for name in PLANS for gait in GAITS if (name, gait) not in REFUSED]
)
def test_it_goes_without_slip_and_what_check_finds_is_known(name, gait, clip, chart, tmp_path):
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    found = {each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings}
    assert found == FOUND.get((name, gait), set())


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["orkatz", "renoster", "stol"])
def test_nothing_is_lowered_for_bones_that_it_lacks(name, clip):
    """Common practice, no source: a trunk sinks by some hundredths of the height of its legs in a walk."""
    made = clip(name)
    assert not [notice for notice in made.clip.notices if "rig's legs reach" in notice.text]
    joints, _ = tracks_m(PLANS[name], made)
    tops = [made.rig.map.limbs[limb].joints[0] for limb in ("LH", "RH")]
    stands = np.mean([made.rig.places_m[made.rig.joint(top)][2] for top in tops])
    assert np.mean([joints[top][:, 2] for top in tops]) > 0.96 * stands


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["orkatz", "draig", "renoster"])  # the fourth has no neck
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    assert drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path).joints()
