"""Whole frames and the speed that an animal usually has in a gait: where they part far, it is said."""

import pytest

from gaitgen.pipeline import Request, make_cycle


def _words(**asked):
    return [notice.text for notice in make_cycle(Request(**asked)).notices if notice.topic == "usual"]


@pytest.mark.parametrize(("rate_hz", "frames", "speed"), [(24.0, 12, "4.26"), (25.0, 14, "2.44")])
def test_rounding_that_changes_the_speed_is_said(rate_hz, frames, speed):
    (words,) = _words(animal="red_deer", gait="trot", frame_rate_hz=rate_hz)
    assert f"{frames} a stride, it goes at {speed} m/s, where 3.60 are usual" in words
    made = make_cycle(Request(animal="red_deer", gait="trot", frame_rate_hz=rate_hz))
    assert f"{made.steps.travel_m_s[0]:.2f}" == speed


@pytest.mark.parametrize("rate_hz", [24.0, 25.0])
def test_asked_for_its_usual_speed_it_has_it(rate_hz):
    asked = {"animal": "red_deer", "gait": "trot", "frame_rate_hz": rate_hz, "speed_m_s": 3.6}
    assert not _words(**asked)
    assert make_cycle(Request(**asked)).steps.travel_m_s[0] == pytest.approx(3.6, abs=0.005)


@pytest.mark.parametrize("more", [{"frame_rate_hz": 60.0}, {"frames": 12}, {"stride_length_m": 2.0}])
def test_nothing_is_said_where_it_is_near_or_asked_for(more):
    assert not _words(animal="red_deer", gait="trot", **more)
