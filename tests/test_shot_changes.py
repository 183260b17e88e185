"""How long changes of gait, starts and halts take, and how many strides can be asked for."""

import re
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from gaitgen.animal.mass import whole_body
from gaitgen.animal.standing import standing_positions_m
from gaitgen.body.mechanics import motion_maps
from gaitgen.commands import run
from gaitgen.course.ground import FLAT
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request
from gaitgen.gait.tempo import GRAVITY_M_S2
from gaitgen.motion.kinematics import end_middle_m, world_frames
from gaitgen.motion.measure import slip_m
from gaitgen.pipeline import make_cycle
from gaitgen.shot.cycle import cycle_of, laid_out
from gaitgen.shot.held import Held
from gaitgen.shot.join import make_join
from gaitgen.shot.laid_shot import LaidShot, Shot
from gaitgen.shot.layers import layers
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.rhythm import change
from gaitgen.shot.section import Section
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.speeding import Within, evenly
from gaitgen.shot.windows import Windows

WILLIAMS = "Williams et al. 2009, Biol Lett 5:610 (abstract): at low speed the pitch is the limit; by statics"
NAUWELAERTS = "Nauwelaerts, Aerts & Clayton 2013, Zoology 116:197, as reported: two and a half strides"
BLASZCZYK = "Blaszczyk & Dobrzecka 1989, Acta Neurobiol Exp 49 (abstract): two strides"


@cache
def cycle(animal, gait):
    return laid_out(Request(animal=animal, gait=gait))


@cache
def strides(animal, before, after, asked=None):
    """How many strides tempo and speed change for, of the mean length."""
    a, b = cycle(animal, before), cycle(animal, after)
    made = change(a, b, 24.0, None if asked is None else Within(asked))
    return (made.tempo[1] - made.tempo[0]) * 2.0 / (a.frames + b.frames)


@pytest.mark.sample(4)
@pytest.mark.parametrize(
    ("animal", "before", "after", "most", "source"),
    [
        ("dog", "walk", "trot", 2.3, BLASZCZYK),
        ("riding_horse", "walk", "trot", 2.3, "one stride or two: common practice, no source"),
        ("riding_horse", "trot", "canter", 3.0, NAUWELAERTS),
        ("riding_horse", "walk", "canter", 3.0, "one stride to three: common practice, no source"),
        ("dog", "walk", "canter", 3.0, "one stride to three: common practice, no source"),
        ("riding_horse", "walk", "gallop", 4.0, "a few strides: common practice, no source"),
    ],
)
def test_a_change_of_gait_takes_as_few_strides_as_animals_take(animal, before, after, most, source):
    assert strides(animal, before, after) <= most, source


@pytest.mark.parametrize(("gait", "seconds"), [("canter", 4.1), ("gallop", 5.3)])
def test_a_horse_comes_to_a_halt_from_a_run_in_several_strides(gait, seconds):
    section = Section(((cycle("riding_horse", gait), 0),), starts=False, halts=True, frame_rate_hz=24.0)
    assert section.frames / 24.0 <= seconds  # it took 6.3 and 8.5


def _pushes(section):
    """Greatest acceleration and braking along the path, of gravity."""
    frame = np.arange(-24.0, section.frames + 24.0, 0.25)
    gained = np.gradient(section.course(frame).speed_m_s, frame / 24.0) / GRAVITY_M_S2
    return gained.max(), -gained.min()


@pytest.mark.sample(4)
@pytest.mark.parametrize("animal", ["riding_horse", "dog", "cat", "giraffe", "dachshund"])
@pytest.mark.parametrize("ends", ["starts", "halts", "change"])
def test_no_animal_speeds_up_or_brakes_so_hard_that_it_would_tip_over(animal, ends):
    walk, run_ = (cycle(animal, gait) for gait in ("walk", list(cycle(animal, "walk").animal.gaits)[-1]))
    cycles = ((walk, 0), (run_, 0), (walk, 0)) if ends == "change" else ((run_, 0),)
    faster, slower = _pushes(Section(cycles, ends == "starts", ends == "halts", 24.0))
    standing, centre = standing_positions_m(walk.animal), whole_body(walk.animal).centre_m
    hind, fore = (standing[walk.animal.limb(end).foot_joint, 0] for end in ("hind", "fore"))
    assert faster < (centre[0] - hind) / centre[2], WILLIAMS
    assert slower < (fore - centre[0]) / centre[2], WILLIAMS


def test_speed_changes_evenly_over_a_change_whose_rhythms_are_far_apart():
    """The greatest push is little more than the mean one, and its easing in and out."""
    walk, gallop = cycle("riding_horse", "walk"), cycle("riding_horse", "gallop")
    even = evenly(walk, gallop)
    assert even.steepest_m_s[0] < 1.7 * (gallop.speed_m_s - walk.speed_m_s)  # 3.2 with tempo alone
    at = np.linspace(0.0, 1.0, 2001)
    share = even.share(at)
    assert share[0] == 0.0
    assert share[-1] == 1.0
    assert np.diff(share).min() > -1e-7
    area = np.cumsum((share[1:] + share[:-1]) / 2.0) * 0.0005
    assert np.abs(area - even.area(at)[1:]).max() < 1e-6


@pytest.mark.parametrize("asked", [1.6, 3.0, 5.0])
def test_a_change_takes_as_many_strides_as_are_asked_for(asked):
    assert strides("riding_horse", "walk", "canter", asked) == pytest.approx(asked, abs=0.3)


def test_so_few_strides_as_no_feet_hold_are_refused_with_those_that_they_do():
    with pytest.raises(
        RequestError, match=r"walk to canter in 1 stride takes 0\.\d+ of .* give --strides 1\.\d"
    ):
        make_join("walk", "canter", Request(), strides=1.0)
    with pytest.raises(RequestError, match=r"give --strides \d") as caught:
        make_join("gallop", "halt", Request(), strides=2.0)
    fewest = float(str(caught.value).split("--strides ", 1)[1].split(maxsplit=1)[0])
    section = ((cycle("riding_horse", "gallop"), 0),)
    assert Section(section, False, True, 24.0, within=(None, Within(fewest))).frames > 24


@pytest.mark.thorough
def test_an_abrupt_join_stands_on_its_feet():
    made = make_join("walk", "canter", Request(), strides=1.6)
    assert made.clip.frames < 65
    assert slip_m(made.clip) < 1e-3
    assert lowest_sole_m(made) > -1e-3


SHOT = """animal = "dog"
[[passage]]
gait = "walk"
strides = 2
{walk}
[[passage]]
gait = "canter"
strides = 3
{canter}
[[passage]]
halt = 10
{halt}
"""


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("given", "words"),
    [
        (
            {"halt": "change_strides = 1"},
            r"line 12: canter to halt in 1 stride takes .*give change_strides = \d",
        ),
        (
            {"canter": "change_strides = 0.5"},
            r"line 9: .*change_strides is 0\.5; write a number from 1 to 40",
        ),
        ({"walk": 'change_strides = 2\n[[mark]]\nat = "x"'}, "mark"),
    ],
)
def test_a_fault_in_the_strides_of_a_change_is_told_with_its_line(tmp_path, capsys, given, words):
    path = tmp_path / "a.toml"
    path.write_text(SHOT.format(**{"walk": "", "canter": "", "halt": "", **given}), encoding="utf-8")
    assert run(["shot", str(path), "--out", str(tmp_path / "made")]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert re.search(words, said)


def test_a_shot_that_is_going_from_the_start_has_nothing_to_change_from(tmp_path):
    path = tmp_path / "a.toml"
    text = 'start = "going"\n' + SHOT.format(walk="change_strides = 2", canter="", halt="")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(RequestError, match=r"line 3: .*has change_strides, and nothing is before it"):
        read_shot(path)


def test_strides_of_a_change_are_read_from_a_shot_file(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(SHOT.format(walk="", canter="change_strides = 2.5", halt="change_strides = 4"), "utf-8")
    found = [each.within and each.within.strides for each in read_shot(path).passages]
    assert found == [None, 2.5, 4.0]


@pytest.mark.parametrize("order", [1, -1], ids=["into it", "out of it"])
def test_no_balance_holds_many_strides_where_one_rhythm_is_much_quicker(order):
    """Its work grows with the cube of them: a change into steps of a sixth of a second took over a minute."""
    quick = Request(gait="trot", frame_rate_hz=120.0, frames=20)
    cycles = tuple((laid_out(each), 1) for each in (Request(frame_rate_hz=120.0), quick)[::order])
    laid = LaidShot.of(Shot((Section(cycles, starts=False, halts=False, frame_rate_hz=120.0),), 120.0))
    found = [each for each in layers(laid.timeline, laid.path, FLAT) if each.piece.kind == "change"]
    assert len(found) > 2
    for each in found:
        count = np.interp(each.span, laid.timeline.frame, laid.timeline.going.count.mean(axis=1))
        assert np.diff(count)[0] < 16.0  # some fifty once
    for one, other in pairwise(found):  # each is solved where it takes over from the one before
        assert other.span[0] < other.rises[0] < other.rises[1] < one.span[1]


def test_a_body_that_is_held_elsewhere_is_found_from_what_its_feet_make_already(monkeypatch):
    """To the last digit what it is from scratch, without its maps and its footing worked out once more."""
    cycles = tuple((cycle_of(Request(animal="dog", gait=gait)), 0) for gait in ("walk", "trot"))
    laid = LaidShot.of(Shot((Section(cycles, starts=False, halts=False, frame_rate_hz=24.0),), 24.0))
    timeline, grid = laid.balanced, laid.balanced.grid
    given = timeline, timeline.steps(laid.path, FLAT), laid.path, FLAT
    layer = next(each for each in layers(timeline, laid.path, FLAT) if each.piece.kind == "change")
    height = np.full((grid.count, 2), 0.004)
    held = Held(height, np.full((grid.count, 2), 0.5), np.zeros(grid.count))
    rows = grid.count // 2 - 20, grid.count // 2 + 20
    needs = np.zeros((grid.count, 6))
    fresh, _ = Windows(*given).body(layer, rows, held, needs, rough=False)
    maps = []

    def counted(*names):
        maps.append(names)
        return motion_maps(*names)

    monkeypatch.setattr("gaitgen.body.balance.motion_maps", counted)
    windows = Windows(*given)
    free, _ = windows.body(layer, rows, None, needs, rough=False)
    again, _ = windows.body(layer, rows, held, needs, rough=False)
    back, _ = Windows(*given).body(layer, rows, None, needs, rough=False)
    assert len(maps) == 2
    assert np.abs(again.hips_height_m - free.hips_height_m).max() > 1e-4
    for one, other in ((again, fresh), (free, back)):
        assert np.array_equal(one.balance.force_n, other.balance.force_n)
        assert np.array_equal(one.ends.hips_m, other.ends.hips_m)


def _trunk_deg(clip):
    """Pitch of the line from hips to chest, nose up, (frames,). [degrees]"""
    joints = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    line = end_middle_m(clip.animal, *joints, "fore") - end_middle_m(clip.animal, *joints, "hind")
    return np.degrees(np.arctan2(line[:, 2], np.hypot(line[:, 0], line[:, 1])))


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "gait"),
    [("hare", "half_bound"), ("cat", "gallop"), ("dog", "gallop"), ("greyhound", "rotary_gallop")],
)
def test_no_animal_dives_as_it_sets_off_into_a_run(animal, gait):
    """Its trunk goes little farther down and up than in the run times the share of its speed (estimate)."""
    made, run_deg = (
        make_join("halt", gait, Request(animal=animal)),
        _trunk_deg(make_cycle(Request(animal=animal, gait=gait))),
    )
    pitch_deg = _trunk_deg(made.clip)
    speed = np.gradient(made.root_motion()[0][:, 0])
    share, stands_deg = np.clip(speed / speed.max(), 0.0, 1.0), pitch_deg[0]
    lowest = stands_deg + share * (run_deg.min() - stands_deg)
    highest = stands_deg + share * (run_deg.max() - stands_deg)
    assert max((lowest - pitch_deg).max(), (pitch_deg - highest).max()) < 8.0
