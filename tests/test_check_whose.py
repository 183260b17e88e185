"""Whose clip it is that is checked: animals whose joints have the same names are told by their build."""

import pytest

from gaitgen import Request, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.check.whose import whose
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.read_bvh import read_bvh


@pytest.mark.sample(6, 5)
@pytest.mark.parametrize("name", animal_names())
def test_a_clip_of_our_own_is_known_for_its_animal_and_its_unit(name):
    clip = make_cycle(Request(gait="walk", animal=name))
    found = whose(read_bvh(bvh.encode(clip, FileSpace()), "w.bvh"), "w.bvh")
    assert found.map.template == name
    assert found.map.unit == "cm"
    assert not [notice for notice in found.notices if notice.topic == "animal"]
