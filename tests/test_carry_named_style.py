"""A clip whose name tells its ready-made style is carried in it; a name that is not true is passed over."""

from dataclasses import replace

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.edits.carried_file import Wanted
from gaitgen.edits.carry_file import carry_file
from gaitgen.edits.named_style import factors_in_name, style_in_name
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.style import Style


@pytest.mark.parametrize(
    ("name", "style"),
    [
        ("dog_walk_24_proud_0p6_heavy.bvh", "proud 0.6, heavy"),
        ("dog_walk_24_lame_LF_0p5.2.bvh", "lame LF 0.5"),
        ("dog_walk_24_speed_1p3_tired.bvh", "tired"),
        ("dog_walk_24_tired_withers_0p6.bvh", "tired"),
        ("dog_walk_24.bvh", None),
    ],
)
def test_names_are_read_as_they_are_written(name, style):
    assert style_in_name(name) == style


def test_a_clip_in_a_style_that_its_name_tells_has_no_edit_but_the_hands(tmp_path):
    asked = Request(animal="dog", frames=24, named_style="proud 0.6, heavy")
    path = tmp_path / f"{asked.stem('dog')}.bvh"
    path.write_bytes(bvh.encode(make_cycle(asked), FileSpace()))
    made = carry_file(path, Wanted(frames=32))
    assert made.joints() == ()
    assert made.request.named_style == "proud 0.6, heavy"
    assert "in the style proud 0.6, heavy, which its name tells" in made.text()
    there = make_cycle(Request(animal="dog", frames=32, named_style="proud 0.6, heavy"))
    np.testing.assert_allclose(made.carried.clip.root_path_m, there.root_path_m, atol=1e-5)


@pytest.mark.parametrize(
    ("name", "style"),
    [
        ("dog_walk_24_nod_1p4_lift_1p25.2.bvh", Style(nod=1.4, lift=1.25)),
        ("dog_walk_24_speed_1p3_overlap_2.bvh", Style(overlap=2.0)),
        ("dog_walk_24_nod_99.bvh", Style()),
        ("nod.bvh", Style()),
        ("dog_walk_24_tired_0p6.bvh", Style()),
    ],
)
def test_factors_are_read_as_they_are_written(name, style):
    assert factors_in_name(name) == style


def test_a_clip_with_factors_that_its_name_tells_has_no_edit_but_the_hands(tmp_path):
    asked = Request(animal="dog", frames=24, style=Style(nod=1.4, lift=1.2), named_style="proud 0.5")
    path = tmp_path / f"{asked.stem('dog')}.bvh"
    path.write_bytes(bvh.encode(make_cycle(asked), FileSpace()))
    made = carry_file(path, Wanted(frames=32))
    assert made.joints() == ()
    assert made.request.style == Style(nod=1.4, lift=1.2)
    assert "in the style nod 1.4, lift 1.2, proud 0.5, which its name tells" in made.text()
    there = make_cycle(replace(asked, frames=32))
    np.testing.assert_allclose(made.carried.clip.root_path_m, there.root_path_m, atol=1e-5)


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", ["old_dog", "lame", "dog_walk_24_nod_1p8"])
def test_a_plain_clip_of_any_name_is_plain(name, tmp_path):
    path = tmp_path / f"{name}.bvh"
    path.write_bytes(bvh.encode(make_cycle(Request(animal="dog", frames=24)), FileSpace()))
    made = carry_file(path, Wanted(frames=32))
    assert (made.request.named_style, made.joints()) == (None, ())
