"""Ready-made styles: what they scale, and what is no style. Common practice, no source."""

import numpy as np
import pytest

from gaitgen import Request, Style, make_cycle
from gaitgen.batch.plan import parse_style
from gaitgen.errors import RequestError
from gaitgen.gait.presets import mixed, presets

NAMES = [f"{preset.name} LF" if preset.of_leg else preset.name for preset in presets()]


@pytest.mark.parametrize("name", NAMES)
def test_each_is_another_motion_and_breaks_nothing(name):
    plain, styled = make_cycle(Request(frames=24)), make_cycle(Request(frames=24, named_style=name))
    assert np.isfinite(styled.rotations).all()
    assert np.abs(styled.rotations - plain.rotations).max() > 0.01
    assert not [notice for notice in styled.notices if notice.topic == "range"]


def test_a_tired_animal_lifts_less_covers_less_and_rises_less():
    plain, tired = make_cycle(Request(frames=32)), make_cycle(Request(frames=32, named_style="tired"))
    assert tired.facts.stride_length_m < 0.9 * plain.facts.stride_length_m
    assert np.ptp(tired.plan.hips_heave_m) < 0.8 * np.ptp(plain.plan.hips_heave_m)


def test_they_mix_and_stay_inside_the_limits_of_their_factors():
    both = mixed(["proud", "heavy"], Style(nod=2.0))
    one, other = (preset.style for preset in presets() if preset.name in {"proud", "heavy"})
    assert both.lift == pytest.approx(one.lift * other.lift)
    assert both.nod == pytest.approx(2.0 * one.nod * other.nod)
    assert mixed(["light"] * 20, Style()).bounce == 3.0


def test_variants_take_them_by_name():
    assert parse_style("tired") == ("tired", mixed(["tired"], Style()))
    assert parse_style("proud, light 0.5") == ("proud_light_0_5", mixed(["proud", "light 0.5"], Style()))
    with pytest.raises(RequestError, match="unknown style 'lihgt'; did you mean 'light'"):
        parse_style("proud, lihgt")


def test_what_is_no_style_is_refused_with_the_nearest():
    with pytest.raises(RequestError, match="unknown style 'tierd'; did you mean 'tired'; use some of heavy"):
        make_cycle(Request(named_style="tierd"))


def test_an_old_walk_takes_longer_where_nobody_says_how_long():
    plain, old = (make_cycle(Request(named_style=style)) for style in (None, "old"))
    assert old.facts.frames == pytest.approx(1.1 * plain.facts.frames, abs=2.0)  # even frames
    told = f"in this style a walk takes {old.facts.frames} frames, not {plain.facts.frames}; --frames says"
    assert [told in notice.text for notice in old.notices if notice.topic == "frames"] == [True]
    assert old.facts.stride_length_m < plain.facts.stride_length_m
    for asked in ({"frames": 32}, {"speed_m_s": 1.6}, {"gait": "trot"}):
        assert make_cycle(Request(named_style="old", **asked)).frames == make_cycle(Request(**asked)).frames
