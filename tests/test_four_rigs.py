"""Four rigs as strangers make them: found, walked, trotted, styled, judged, drawn and carried on."""

import numpy as np
import pytest
from make_four_rigs import FOUR as PLANS
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen.commands.check_file import check_file

SLIP_M = 1e-5
PARTS = {  # joints of the back, the neck; head, jaw, left ear, the first of the tail; how it stands
    "hir": (11, 1, "pen", "gen", "clust_a", "cynffon1", "zero"),
    "tay": (5, 4, "kafa", None, "kulak_a", "kuyruk1", "zero"),
    "gem": (6, 3, "fej", "allkapocs", "ful_a", "farok1", "zero"),
    "koer": (7, 3, "kolp", "loug", "korv_a", "saba1", "first frame"),
}
FEET = {"hir": "pawen_a", "tay": "toynak_a", "gem": "pata_a", "koer": "kapp_a"}


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_its_parts_are_found(name, chart):
    found = chart(name)[1].map
    lone = found.head, found.jaw, found.ear_left, found.tail[0], found.rest
    assert (len(found.spine), len(found.neck), *lone) == PARTS[name]
    assert found.limbs["LF"].joints[-1] == FEET[name]
    np.testing.assert_allclose(found.forward, PLANS[name].axes[0], atol=1e-4)


@pytest.mark.sample(2)
@pytest.mark.parametrize(("gait", "frames"), [("walk", None), ("trot", None), ("walk", 24), ("walk", 32)])
@pytest.mark.parametrize("name", PLANS)
def test_it_goes_without_slip_and_passes_the_check(name, gait, frames, clip, chart, tmp_path):
    made = clip(name, gait, frames)
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings == ()


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", PLANS)
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough  # always drawn in test_rig_pictures, and carried in test_carry_rigs
@pytest.mark.parametrize("name", PLANS)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    assert drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path).joints()
