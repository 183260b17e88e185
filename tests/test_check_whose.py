"""Whose clip it is that is checked: animals whose joints have the same names are told by their build."""

import json

import pytest

from gaitgen import Request, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.check.whose import whose
from gaitgen.commands.check_file import check_file
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


@pytest.mark.parametrize(
    ("animal", "gait"),
    [
        ("riding_horse", "walk"),
        ("riding_horse", "trot"),
        ("cat", "rotary_gallop"),
        ("dromedary", "pace"),
    ],
)
def test_a_clip_at_the_wrong_frame_rate_is_doubted(tmp_path, animal, gait):
    """In the air a body falls with 9.8 m/s2 (physics); a walk is held against the animal's own swing."""
    clip = tmp_path / "clip.bvh"
    text = bvh.encode(make_cycle(Request(animal=animal, gait=gait)), FileSpace()).decode()
    head, _, rest = text.partition("Frame Time:")
    _, _, rows = rest.partition("\n")
    for rate, said in ((24.0, ""), (48.0, "times too fast"), (12.0, "times too slow")):
        clip.write_text(f"{head}Frame Time: {1.0 / rate:.7f}\n{rows}")
        checked = check_file(clip, animal=animal)
        doubt = json.loads(checked.json())["frame_rate_doubt"] or ""
        assert said in doubt
        assert bool(doubt) == bool(said)
        if said:
            times = float(doubt.split("seems to play ")[1].split()[0])
            assert times == pytest.approx(2.0, rel=0.25)
            assert doubt in checked.text()
