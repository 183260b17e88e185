"""Runs show their flight: a pose in the air among whole frames, wherever the animal leaves the ground."""

from dataclasses import replace

import numpy as np
import pytest
from gait_measures import contacts_s, going

from gaitgen import load_animal, make_cycle
from gaitgen.animal.library import animal_names
from gaitgen.animal.own_gait import OwnGait
from gaitgen.course.cycle import cycle_timing
from gaitgen.course.flight import flights, in_air
from gaitgen.errors import GaitError
from gaitgen.gait.gait import load_gait, symmetrical
from gaitgen.gait.request import Request
from gaitgen.motion.measure import measure_feet
from gaitgen.pipeline.placing import place_feet
from gaitgen.pipeline.settle import settle

# Never all in the air: an elephant (Hutchinson et al. 2006, J Exp Biol 209:3812, abstract: hind feet alone
# have a flight) and a giraffe, whose gallop is grounded (Basu et al. 2019, PeerJ 7:e6312, abstract).
GROUNDED = {"elephant", "giraffe"}
# A foot is down for less than half of the stride at a run (Hildebrand 1965, Science 150:701).
RUNS = [
    (name, gait)
    for name in animal_names()
    for gait in load_animal(name).gaits
    if not load_gait(gait).as_used_by(load_animal(name)).walks and gait != "running_walk"
]
# A shepherd dog's trot has one of 0.03 s: duty factors of 0.46 and 0.42, 2.0 strides a second (Catavitello
# et al. 2015, from tables); at 24 fps that is less than a frame.
SHORT = {("dog", "trot")}
FLYING = [run for run in RUNS if run[0] not in GROUNDED and run not in SHORT]


def timing_of(request):
    settled = settle(request)
    return place_feet(settled, settled.request.style).timing


def frames_in_air(timing):
    return int(in_air(np.array(timing.contact), np.array(timing.down), timing.frames).sum())


@pytest.mark.sample(len(FLYING))
@pytest.mark.parametrize(("animal", "gait"), FLYING)
def test_a_run_at_24_fps_has_a_frame_with_no_foot_down(animal, gait):
    assert frames_in_air(timing_of(Request(animal=animal, gait=gait))) >= 1


@pytest.mark.parametrize(("animal", "gait"), [run for run in RUNS if run[0] in GROUNDED])
def test_who_never_leaves_the_ground_has_no_such_frame(animal, gait):
    assert frames_in_air(timing_of(Request(animal=animal, gait=gait))) == 0


def test_a_dog_that_trots_fast_shows_its_flight_too():
    """Trots go up to a Froude number of 3 (Andrada et al. 2023, Front Bioeng 11:1193177, abstract)."""
    assert frames_in_air(timing_of(Request(animal="dog", gait="trot", froude=1.8))) >= 1


@pytest.mark.parametrize(("animal", "gait"), FLYING)
def test_the_flight_is_in_the_finished_motion(animal, gait):
    """Every toe is off the ground, by more than it sinks or slips, in a frame of the clip."""
    clip = make_cycle(Request(animal=animal, gait=gait))
    height_m = measure_feet(clip).toe_m[:-1, :, 2].min(axis=1)
    assert height_m.max() > 0.004 * clip.animal.withers_height_m


@pytest.mark.parametrize("frames", range(8, 25))
@pytest.mark.parametrize("name", ["trot", "canter", "gallop", "rotary_gallop", "half_bound"])
def test_a_flight_of_a_frame_or_more_is_seen(name, frames):
    """On film, a flight of a frame has a frame in it; no foot is down for a frame less or more than it is."""
    gait = load_gait(name)
    for duty in np.linspace(gait.duty_factor_range[0], gait.duty_factor_range[1], 7):
        lands = np.array(gait.touchdowns())
        exact = flights(lands * frames, np.full(4, duty * frames), frames)
        plain = cycle_timing(frames, duty, lands)
        kept = cycle_timing(frames, duty, lands, least_duty=0.12)
        off = np.abs(np.array(kept.down) - duty * frames)
        assert off.max() <= max(1.0, np.abs(np.array(plain.down) - duty * frames).max()) + 1e-9
        longest = max((end - start for start, end in exact), default=0.0)
        if longest >= 1.0 and min(plain.down) > 1.0:
            assert frames_in_air(kept) >= 1, (duty, longest)
        assert frames_in_air(kept) >= frames_in_air(plain) - 1


@pytest.mark.parametrize("frames", [8, 9, 10, 11, 13])
@pytest.mark.parametrize("name", ["canter", "gallop", "rotary_gallop", "half_bound"])
def test_the_other_lead_is_the_mirror_image(name, frames):
    gait = load_gait(name)
    for duty in (0.2, 0.26, 0.33):
        left, right = (
            cycle_timing(frames, duty, gait.touchdowns(lead), start=start, least_duty=0.12)
            for lead, start in (("left", "RH"), ("right", "LH"))
        )
        assert left.down == tuple(right.down[foot] for foot in (1, 0, 3, 2))
        assert left.contact == tuple(right.contact[foot] for foot in (1, 0, 3, 2))


def test_walks_and_asked_duty_factors_are_rounded_to_the_nearest_frame():
    plain = cycle_timing(32, 0.6775, symmetrical(0.25))
    assert cycle_timing(32, 0.6775, symmetrical(0.25), least_duty=0.1) == plain
    asked = timing_of(Request(animal="goat", gait="trot", frames=10, duty_factor=0.4))
    assert asked.down == (4.0,) * 4


def test_who_is_down_for_less_goes_faster():
    """The ground that a foot covers stays the animal's own."""
    settled = settle(Request(animal="red_deer", gait="trot", frames=14))  # 12 are usual
    placed = place_feet(settled, settled.request.style)
    reach_m = settled.animal.tempo.stance_m(14 / 24.0)
    covered_m = float(placed.course.steps.travel_m_s[0]) * placed.timing.down[0] / 24.0
    assert covered_m == pytest.approx(reach_m, rel=0.08)


def test_an_animal_may_have_beats_of_its_own_but_not_in_a_gait_without():
    hound = load_gait("rotary_gallop").as_used_by(load_animal("greyhound"))
    assert hound.beats == (0.0, 0.11, 0.5, 0.62)
    odd = replace(load_animal("dog"), own_gaits={"trot": OwnGait(beats=(0.0, 0.1, 0.5, 0.6))})
    with pytest.raises(GaitError, match=r"dog has beats in \[gait.trot\]; a trot has a lag"):
        load_gait("trot").as_used_by(odd)


# Feet of these are down for all but 0.02 to 0.03 s of half a stride: nothing is lifted far in that.
BRIEF = {("cat", "trot"), ("big_cat", "trot"), ("pony", "trot")}
PAIRED = [run for run in FLYING if run[1] in {"trot", "pace"}]


@pytest.mark.sample(4)
@pytest.mark.parametrize(("animal", "gait"), PAIRED)
def test_in_the_flight_of_a_trot_feet_are_clear_of_the_ground(animal, gait):
    """Common practice, no source: the flight itself lifts the body by 3 to 8 mm (g t^2 / 8), feet come up.

    At its best moment the lowest toe is so high, in shares of hip height.
    """
    clip = going(gait, animal=animal)
    contact, down = contacts_s(clip)
    since_s = (np.arange(clip.frames - 1)[:, None] / clip.frame_rate_hz - contact) % clip.facts.period_s
    lowest_m = measure_feet(clip).toe_m[:-1, :, 2].min(axis=1)
    flies = (since_s >= down).all(axis=1)
    least = 0.006 if (animal, gait) in BRIEF else 0.012
    assert lowest_m[flies].max() > least * clip.animal.hip_height_m
