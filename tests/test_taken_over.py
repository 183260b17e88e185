"""What is taken over from before is what would be found anew; a whole is the sum of its parts."""

from dataclasses import replace

import numpy as np
import pytest

from gaitgen import Request, load_animal, make_cycle
from gaitgen.course.steps import along
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.key_feet import feet_of
from gaitgen.formats.landing import legs_of
from gaitgen.gait.style import Style
from gaitgen.hanging.followers import hang
from gaitgen.limbs.animal_chains import chains_of
from gaitgen.motion.toes import slopes_by_trying
from gaitgen.numerics.grid import Grid
from gaitgen.pipeline import trial
from gaitgen.pipeline.carry import carry
from gaitgen.pipeline.placing import place_feet
from gaitgen.pipeline.settle import settle
from gaitgen.pipeline.solve import solve_motion
from gaitgen.pipeline.temper import tempered

ANIMALS = ("riding_horse", "cat", "elephant")
STYLE = Style(bounce=1.2, sway=1.3, lift=1.1, weight=0.9)


def course_of(animal, **asked):
    return place_feet(settle(Request(animal=animal, frames=24, **asked)), Style()).course


@pytest.mark.parametrize("animal", ANIMALS)
@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_feet_moved_ahead_are_carried_as_if_they_had_been_there_from_the_start(animal, gait):
    course, ahead = course_of(animal, gait=gait), np.array([0.03, 0.02, -0.04, 0.01])
    steps = course.steps
    moved = replace(course, steps=replace(steps, place_m=steps.place_m + along(ahead[steps.limb])))
    anew, taken_over = carry(moved, STYLE), carry(moved, STYLE, before=carry(course, STYLE), ahead_m=ahead)
    for name in ("force_n", "moved_m", "turned_rad"):
        wanted, found = (getattr(each.body.balance, name) for each in (anew, taken_over))
        np.testing.assert_allclose(found, wanted, rtol=0.0, atol=1e-7 if name == "force_n" else 1e-12)
    np.testing.assert_allclose(taken_over.plan.toe_m, anew.plan.toe_m, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(taken_over.given.top_m, anew.given.top_m, rtol=0.0, atol=1e-12)
    np.testing.assert_allclose(taken_over.body.back.turns_rad, anew.body.back.turns_rad, rtol=0.0, atol=1e-12)


@pytest.mark.parametrize("animal", ANIMALS)
def test_bones_that_open_alike_are_laid_out_as_one_after_another(animal):
    """Against the limb laid out bone by bone."""
    chains, rng = chains_of(load_animal(animal)), np.random.default_rng(5)
    given = rng.uniform(-0.3, 0.3, (7, *chains.bones.shape)) * ~chains.is_above
    unknown = rng.uniform(-0.4, 0.4, (7, 4))
    vector, slope = chains.laid(given).vector(unknown)
    for sample in range(7):
        for limb in range(4):

            def end(bend, sample=sample, limb=limb):
                turn, place = 0.0, 0.0
                for bone in range(chains.bones.shape[1]):
                    opens = chains.sign[limb, bone] * chains.opens[limb, bone]
                    turn += given[sample, limb, bone] + opens * bend
                    place += (
                        0.0 if chains.is_above[limb, bone] else chains.bones[limb, bone] * np.exp(1j * turn)
                    )
                return place

            at = unknown[sample, limb]
            assert abs(vector[sample, limb] - end(at)) < 1e-12
            assert abs(slope[sample, limb] - (end(at + 1e-6) - end(at - 1e-6)) / 2e-6) < 1e-8


@pytest.mark.parametrize("animal", ANIMALS)
def test_legs_are_the_same_wherever_the_search_for_them_begins(animal):
    chains, rng = chains_of(load_animal(animal)), np.random.default_rng(6)
    laid = chains.laid(np.zeros((40, *chains.bones.shape)))
    bend = chains.low + rng.uniform(0.3, 0.9, (40, 4)) * (chains.straight - chains.low)
    target = laid.vector(bend)[0] * np.exp(1j * rng.uniform(-0.4, 0.4, (40, 4)))
    for start in (None, bend, bend + 0.2, np.broadcast_to(chains.low, bend.shape)):
        np.testing.assert_allclose(laid.solve(target, start)[1], bend, rtol=0.0, atol=1e-9)
    turn, unknown = laid.solve(10.0 * target, as_far_as_can=True)
    np.testing.assert_allclose(unknown, np.broadcast_to(chains.high, unknown.shape), rtol=0.0, atol=1e-6)
    assert np.isfinite(turn).all()
    assert np.isnan(laid.solve(10.0 * target)[0]).all()


@pytest.mark.parametrize("animal", ANIMALS)
def test_legs_stop_short_of_their_longest_where_they_have_a_second_bend_of_the_same_length(animal):
    """Against a look at every bend there is: folded legs are longest before they are open."""
    chains, rng = chains_of(load_animal(animal)), np.random.default_rng(7)
    folded = rng.uniform(-1.2, 1.2, (60, *chains.bones.shape)) * ~chains.is_above
    laid = chains.laid(folded)
    bends = np.linspace(chains.low, chains.high, 2001)[:, None]  # (bends, 1, 4)
    length = np.abs(np.stack([laid.vector(np.repeat(bend, 60, axis=0))[0] for bend in bends]))
    up_to_longest = np.minimum.accumulate(np.diff(length, axis=0, prepend=-np.inf) > 0.0, axis=0)
    once = (np.diff(np.sign(np.diff(length, axis=0)), axis=0) != 0.0).sum(axis=0) <= 1  # (samples, 4)
    once &= up_to_longest[1]
    step = (chains.high - chains.low) / 2000.0
    longest = chains.low + step * (up_to_longest.sum(axis=0) - 1.0)
    assert (longest[once] < np.broadcast_to(chains.high, longest.shape)[once] - 0.05).sum() > 20
    assert np.abs((laid.longest_rad - longest) / step)[once].max() < 1.5
    share = rng.uniform(0.05, 1.0, longest.shape)
    wanted = chains.low + share * (laid.longest_rad - chains.low)
    target = laid.vector(wanted)[0]
    for start in (None, np.broadcast_to(chains.high, wanted.shape)):
        found = laid.solve(target, start)[1]
        np.testing.assert_allclose(np.abs(laid.vector(found)[0])[once], np.abs(target)[once], atol=1e-10)
        assert (found <= laid.longest_rad + 1e-9)[once].all()


@pytest.mark.parametrize("animal", ANIMALS)
def test_what_the_body_feels_hangs_the_same_without_the_rest(animal):
    course = course_of(animal)
    trunk = solve_motion(course, Style()).trunk
    breath = np.linspace(0.0, 1.0, course.grid.count, endpoint=False)
    whole = hang(course.animal, trunk, course.grid, breath)
    felt = hang(course.animal, trunk, course.grid, breath, weighed_only=True)
    assert felt.centres_m.shape == (course.grid.count, len(felt.weighed), 3)
    assert set(felt.weighed) <= set(felt.turns_rad) < set(whole.turns_rad)
    for joint, turns in felt.turns_rad.items():
        np.testing.assert_array_equal(turns, whole.turns_rad[joint])


def test_what_follows_its_base_does_so_with_and_without_a_period():
    """After some strides that repeat, a motion that began at rest is the one that repeats."""
    step, count, turns = 1.0 / 96.0, 96, 12
    phase = 2.0 * np.pi * np.arange(count * turns) / count
    base, pushed = (0.1 * np.stack([np.sin(phase + k), np.cos(2.0 * phase + k)], axis=1) for k in (0.0, 1.0))
    loop = Grid(0.0, step, count, is_periodic=True).followed(base[:count], pushed[:count], 1.4, 0.5)
    long = Grid(0.0, step, count * turns, is_periodic=False).followed(base, pushed, 1.4, 0.5)
    np.testing.assert_allclose(long[-2 * count : -count], loop, rtol=0.0, atol=2e-3)


def test_each_toe_through_rows_of_its_own():
    clip, space = make_cycle(Request(frames=16)), FileSpace()
    _, table = bvh.channel_table(clip, space)
    feet = feet_of(clip.animal, space)
    tables = np.stack([np.roll(table, k, axis=0) for k in range(4)])
    found = feet.each_toe(tables)
    for limb in range(4):
        np.testing.assert_array_equal(found[:, limb], feet.toes(tables[limb])[:, limb])


@pytest.mark.parametrize("order", ["ZXY", "YZX"])
def test_where_channels_take_toes_is_what_moving_one_after_the_other_shows(order):
    clip, space = make_cycle(Request(frames=16, animal="cat")), FileSpace(rotation_order=order)
    _, table = bvh.channel_table(clip, space)
    feet = feet_of(clip.animal, space)
    tables = np.stack([np.roll(table, k, axis=0) for k in range(4)])
    own = legs_of(table, feet)
    assert min(each.size for each in own) >= 3
    toes, slopes = feet.each_toe_and_slopes(tables, own)
    tried_toes, tried = slopes_by_trying(feet, tables, own)
    np.testing.assert_array_equal(toes, tried_toes)
    for found, wanted in zip(slopes, tried, strict=True):
        assert np.abs(wanted).max() > 0.1
        np.testing.assert_allclose(found, wanted, rtol=0.0, atol=1e-10)


@pytest.mark.parametrize("changed", [{"nod": 1.2}, {"overlap": 0.8}, {"sway": 1.2}, {"lift": 1.1}], ids=str)
def test_feet_are_placed_once_for_styles_that_do_not_move_them(changed):
    first = tempered(settle(Request(frames=25)))
    other = tempered(settle(Request(frames=25, style=Style(**changed))))
    assert other.style == Style(**changed)
    assert other.placed is first.placed


@pytest.mark.parametrize("gait", ["walk", "trot"])
@pytest.mark.parametrize("changed", [{"nod": 1.2}, {"overlap": 0.8}, {"sway": 1.2}], ids=str)
def test_a_motion_that_was_begun_for_another_style_ends_as_one_begun_anew(gait, changed):
    asked = settle(Request(gait=gait, frames=25, style=Style(lift=1.1, **changed)))
    trial._begun.cache_clear()  # noqa: SLF001
    anew = tempered(asked)
    trial._begun.cache_clear()  # noqa: SLF001
    tempered(settle(Request(gait=gait, frames=25, style=Style(lift=1.1))))
    taken_over = tempered(asked)
    looked_up = trial._begun.cache_info()  # noqa: SLF001
    assert looked_up.misses == 1  # begun once, and taken over as often as styles are tried
    assert looked_up.hits >= 1
    np.testing.assert_array_equal(taken_over.rotations, anew.rotations)
    np.testing.assert_array_equal(taken_over.solved.trunk.root_m, anew.solved.trunk.root_m)
