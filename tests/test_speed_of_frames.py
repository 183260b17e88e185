"""Where nobody asks for another, an animal goes at its usual speed, in whole frames at every rate."""

import numpy as np
import pytest
from marked import marked

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.animal.proportions import Proportions
from gaitgen.errors import ReachError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.gait import load_gait
from gaitgen.gait.own_speeds import own_speeds
from gaitgen.gait.style import Style
from gaitgen.pipeline import Request, make_cycle, settle

RATES_HZ = (24.0, 25.0, 30.0, 48.0, 60.0)
NEAR = 0.01  # of the speed
OWN = [
    (animal, gait)
    for animal in animal_names()
    for gait in load_animal(animal).gaits
    if load_gait(gait).usual_frames is None
]
DEER = {"animal": "red_deer", "gait": "trot"}
# Legs do not reach as far as these stances of whole frames take them, and the stride is shortened.
SHORTENED = {
    ("hare", "half_bound", 30.0): "0.89 of the speed: of 11 frames feet are down for 3",
}


def _usual_m_s(animal, gait):
    return next(each.speed_m_s for each in own_speeds(load_animal(animal)) if each.name == gait)


def _speed_m_s(**asked):
    return make_cycle(Request(**asked)).steps.travel_m_s[0]


@pytest.mark.sample(12)
@pytest.mark.parametrize(
    ("animal", "gait", "rate_hz"),
    [marked(*own, rate, why=SHORTENED.get((*own, rate))) for own in OWN for rate in RATES_HZ],
)
def test_it_goes_at_its_usual_speed_at_every_frame_rate(animal, gait, rate_hz):
    speed = _speed_m_s(animal=animal, gait=gait, frame_rate_hz=rate_hz)
    assert speed == pytest.approx(_usual_m_s(animal, gait), rel=NEAR)


@pytest.mark.sample(4)
@pytest.mark.parametrize(("animal", "gait"), OWN)
def test_it_is_what_that_speed_makes_and_what_as_many_frames_make(animal, gait):
    asked = {"animal": animal, "gait": gait}
    plain = make_cycle(Request(**asked))
    by_speed = make_cycle(Request(**asked, speed_m_s=_usual_m_s(animal, gait)))
    by_frames = make_cycle(Request(**asked, frames=plain.facts.frames))
    assert bvh.encode(by_speed, FileSpace()) == bvh.encode(plain, FileSpace())
    assert bvh.encode(by_frames, FileSpace()) == bvh.encode(plain, FileSpace())
    assert by_frames.asked == plain.asked  # they name their files alike


@pytest.mark.sample(4)
@pytest.mark.parametrize(("animal", "gait"), OWN)
def test_fewer_frames_are_faster_and_more_are_slower(animal, gait):
    asked = {"animal": animal, "gait": gait, "frame_rate_hz": 60.0}
    usual = settle(Request(**asked)).frames
    fewer, same, more = (_speed_m_s(**asked, frames=usual + by) for by in (-3, 0, 3))
    assert fewer > same > more


def test_a_style_that_reaches_farther_goes_faster():
    assert _speed_m_s(**DEER, style=Style(reach=0.9)) == pytest.approx(0.9 * _usual_m_s("red_deer", "trot"))


def test_another_duty_factor_changes_the_speed_as_feet_cover_their_own_ground():
    long, short = (_speed_m_s(**DEER, duty_factor=duty, frame_rate_hz=60.0) for duty in (0.45, 0.40))
    assert 0.45 * long == pytest.approx(0.40 * short)


@pytest.mark.parametrize("rate_hz", [24.0, 48.0])
def test_a_gait_of_a_length_keeps_that(rate_hz):
    settled = settle(Request(gait="piaffe", frame_rate_hz=rate_hz))
    assert (settled.frames, settled.usual_m_s) == (rate_hz, None)


def test_a_stride_held_back_for_want_of_frames_is_slower_than_usual():
    made = make_cycle(Request(animal="cat", gait="rotary_gallop", frame_rate_hz=12.0))
    assert "slower than it goes" in " ".join(notice.text for notice in made.notices)
    assert made.steps.travel_m_s[0] < 0.8 * _usual_m_s("cat", "rotary_gallop")


def test_where_frames_are_too_few_for_legs_more_of_them_are_advised():
    tiny = load_animal("hare", Proportions(withers_height_m=0.06, leg_factor=0.7))
    with pytest.raises(ReachError, match=r"takes 4\.0 frames for it; give more frames a second"):
        make_cycle(Request(animal=tiny, gait="half_bound"))
    assert make_cycle(Request(animal=tiny, gait="half_bound", frame_rate_hz=96.0)).frames > 8


def test_a_stride_length_that_is_asked_for_says_the_speed_instead():
    assert settle(Request(**DEER, stride_length_m=2.0)).usual_m_s is None


def test_contacts_as_it_takes_them_make_the_clip_that_it_makes():
    """Of as many frames as usual; of others the stride's time says the speed."""
    plain = make_cycle(Request(animal="riding_horse", gait="walk"))
    filmed = "RH 1-22, RF 9-30, LH 17-38, LF 25-46"
    made = make_cycle(Request(animal="riding_horse", gait="walk", contacts=filmed))
    np.testing.assert_allclose(made.rotations, plain.rotations, atol=1e-9)
    assert settle(Request(animal="riding_horse", gait="walk", contacts=filmed, frames=40)).usual_m_s is None
