"""Rigs that showed faults: odd poses and builds; what cannot be done is refused with what can."""

import re
from dataclasses import replace

import numpy as np
import pytest
from make_late_rigs import LATE
from make_odd_rigs import ODD as PLANS
from make_rigs import moved, text
from rig_measures import has_styles, slip_m
from test_carry_rigs import drawn_and_carried

from gaitgen import Request
from gaitgen.commands.check_file import check_file
from gaitgen.errors import RigError
from gaitgen.formats.units import UNIT_WORDS
from gaitgen.rigs.command import cycle_on_rig, fit

pytestmark = pytest.mark.filterwarnings("ignore:Gimbal lock")  # of the writer of rigs with aimed axes
SLIP_M = 1e-4
GOING = ("langhals", "okapi", "capivara")


@pytest.mark.thorough
@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("name", GOING)
def test_it_goes_without_slip_and_passes_the_check(name, gait, clip, chart, tmp_path):
    """A walk on columns whose tops do not ride gives no more than a column and does not turn back."""
    made = clip(name, gait)
    assert slip_m(PLANS[name], made) < SLIP_M
    (tmp_path / "a.bvh").write_bytes(made.bvh())
    assert [each.kind for each in check_file(tmp_path / "a.bvh", map_path=chart(name)[0]).findings] == []


@pytest.mark.thorough
@pytest.mark.parametrize("name", GOING)
def test_styles_have_their_effect(name, clip):
    assert has_styles(PLANS[name], clip, name)


@pytest.mark.thorough  # always drawn in test_rig_pictures, and carried in test_carry_rigs
@pytest.mark.parametrize("name", GOING)
def test_a_refined_clip_is_drawn_and_carried_to_another_length(name, clip, chart, tmp_path):
    assert drawn_and_carried(clip(name, frames=24), chart(name)[0], tmp_path).joints()


@pytest.mark.thorough
def test_a_rig_that_sits_is_told_and_refused_with_what_to_do(chart):
    """Its hind legs are no columns and no hind legs of anything that walks as they are."""
    path, found = chart("eseri")
    assert any("folded to 37 % of their length" in doubt.text for doubt in found.doubts)
    with pytest.raises(
        RigError, match=r"let it stand in frame 1, and fit it with `gaitgen fit --rest"
    ) as refused:
        cycle_on_rig(str(path), Request(gait="walk"))
    assert "\n" not in str(refused.value)


@pytest.mark.thorough
def test_what_a_refused_rig_can_do_is_what_it_can_do(clip, chart):
    """A gallop on columns: the gait that is named, at the length that is named, is made."""
    path = chart("langhals")[0]
    with pytest.raises(RigError, match="more than the legs of langhals can do") as refused:
        cycle_on_rig(str(path), Request(gait="gallop", frames=16))
    said = re.search(r"what it can do is an? ([a-z ]+) of (\d+) frames at 24 fps", str(refused.value))
    made = clip("langhals", said[1].replace(" ", "_"), int(said[2]))
    assert slip_m(PLANS["langhals"], made) < SLIP_M


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("unit", "factor", "guessed", "other"),
    [("in", 1.0, "in", "cm"), ("cm", 0.6, "cm", "in"), ("cm", 1.0, "cm", None)],
)
def test_unit_and_animal_are_guessed_together(unit, factor, guessed, other, tmp_path):
    """A dog of 18 inches is none of 18 cm, and where two units fit about as well both are told."""
    plan = replace(moved(LATE["liontari"], factor), unit=unit)
    (tmp_path / "dog.bvh").write_text(text(plan))
    found = fit(tmp_path / "dog.bvh", None)
    assert found.map.template == "dog"
    assert found.map.unit == guessed
    said = next(doubt.text for doubt in found.doubts if doubt.topic == "unit")
    assert ("would fit about as well" in said) == (other is not None)
    assert other is None or f"; {UNIT_WORDS[other]} would fit about as well" in said


def test_hips_in_the_doubt_are_those_of_the_rig(chart):
    """In the unit that is guessed: a hip of 0.44 m, written in hundreds of metres."""
    said = next(doubt.text for doubt in chart("capivara")[1].doubts if doubt.topic == "unit")
    hips = float(re.search(r"unit guessed: 100 m \(hips ([0-9.]+) m", said)[1])
    np.testing.assert_allclose(hips, 0.44, rtol=0.02)
