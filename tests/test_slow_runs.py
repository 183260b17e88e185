"""Runs that are too slow: made up to one length, and told beyond it, all with the same answer."""

import csv
import re

import numpy as np
import pytest

from gaitgen.animal.library import animal_names, load_animal
from gaitgen.commands import run
from gaitgen.gait.gait import load_gait
from gaitgen.gait.request import Request
from gaitgen.motion.measure import measure_feet
from gaitgen.pipeline import make_cycle, settle
from gaitgen.pipeline.own_stride import most_frames
from gaitgen.pipeline.settle import usual_frames

RATES_HZ = (24.0, 30.0, 60.0)
# Ones that are not made although they are no longer than the longest.
NOT_MADE = {
    "hare half_bound 24": "in 13 and 15 frames it sinks by 14 % of its withers height, 12 are let through"
}


def runs():
    """Every gait of every animal here that flies."""
    for animal in animal_names():
        for name in load_animal(animal).gaits:
            gait = load_gait(name).as_used_by(load_animal(animal))
            if not gait.walks and most_frames(Request(), gait, load_animal(animal)) < float("inf"):
                yield animal, name


def cases():
    """Those at the frame rates of film, television and games; one that fails is marked."""
    for animal, gait in runs():
        for rate in RATES_HZ:
            name = f"{animal} {gait} {rate:g}"
            why = NOT_MADE.get(name)
            yield pytest.param(name, marks=() if why is None else pytest.mark.xfail(strict=True, reason=why))


HANDED_OVER = [
    (animal, gait)
    for animal in animal_names()
    for gait in load_animal(animal).gaits
    if gait in {"trot", "pace"}
]


def asked(name):
    """The request of a case, with the frames that are usual for it and the most."""
    animal, gait, rate = name.split()
    request = Request(animal=animal, gait=gait, frame_rate_hz=float(rate))
    [said] = said_of(in_frames(request, 15 * round(float(rate))))
    [most] = re.findall(r"give at most (\d+) frames", said)
    return request, usual_frames(settle(request)), int(most)


def said_of(request):
    """What is told of a request that is too slow."""
    return [notice.text for notice in settle(request).notices if notice.topic == "slow"]


def in_frames(request, frames):
    """The same in so many frames."""
    return Request(
        animal=request.animal, gait=request.gait, frame_rate_hz=request.frame_rate_hz, frames=frames
    )


@pytest.mark.sample(3)
@pytest.mark.parametrize("name", list(cases()))
def test_all_that_are_no_longer_than_the_longest_are_made(name):
    request, usual, most = asked(name)
    step = max(1, (most - usual) // 12)
    for frames in (*range(usual, most, step), most):
        assert make_cycle(in_frames(request, frames)).facts.frames == frames


@pytest.mark.parametrize(("animal", "gait"), list(runs()))
def test_all_that_are_longer_are_told_with_the_same_answer(animal, gait):
    request, usual, most = asked(f"{animal} {gait} 30")
    assert usual < most < 2.5 * usual
    assert not said_of(in_frames(request, most))
    for frames in range(most + 1, 4 * usual + 1):
        [said] = said_of(in_frames(request, frames))
        assert f" of {frames} frames " in said
        assert f"give at most {most} frames" in said


def test_one_asked_for_by_a_creeping_speed_takes_short_steps_instead():
    """Its stride is no longer than the longest, so that it need not stay up for longer (derived)."""
    slow = settle(Request(animal="dog", gait="trot", frame_rate_hz=30.0, speed_m_s=0.1))
    assert slow.frames == 24
    assert make_cycle(slow.asked).facts.speed_m_s == pytest.approx(0.1)


@pytest.mark.sample(4)
@pytest.mark.parametrize(("animal", "gait"), HANDED_OVER)
def test_a_slow_trot_gives_up_its_flight_and_does_not_bob(animal, gait):
    """Its feet hand over from one to the other, in odd numbers of frames too (common practice, no source)."""
    usual = usual_frames(settle(Request(animal=animal, gait=gait)))
    for frames in range(round(1.4 * usual), round(1.6 * usual)):
        request = Request(animal=animal, gait=gait, frames=frames)
        assert not said_of(request)
        clip = make_cycle(request)
        planted = measure_feet(clip).planted
        assert planted.any(axis=1).all()
        heave_m = max(np.ptp(clip.plan.hips_heave_m), np.ptp(clip.plan.chest_heave_m))
        assert heave_m < 0.07 * clip.animal.withers_height_m


def test_feet_that_are_asked_to_stay_down_carry_a_longer_one():
    """It does not fly, so that nothing ends it here (Hildebrand 1965: feet down for more than half)."""
    assert settle(Request(animal="dog", gait="trot", frames=40, duty_factor=0.6)).frames == 40


def test_variants_make_what_legs_can_and_say_of_all_that_are_too_slow_how_long_they_may_be(tmp_path, capsys):
    words = [
        "variants",
        "canter",
        "--frames",
        "16-26:2",
        "--animal",
        "dog",
        "--fps",
        "30",
        "--no-keys",
        "--workers",
        "1",
        "--out",
    ]
    assert run([*words, str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert "slow      " in said.out
    assert "dog_canter_22_fps_30 to dog_canter_26_fps_30, 3 of these lengths, are not made" in said.err
    assert "give at most 17 frames, or a slower gait" in said.err
    rows = csv.DictReader((tmp_path / "variants.csv").read_text().splitlines())
    assert ["slow" in row["notices"].split() for row in rows] == [False, True, True, False, False, False]
    assert (tmp_path / "dog_canter_20_fps_30.bvh").exists()
    assert not (tmp_path / "dog_canter_22_fps_30.bvh").exists()
