"""Marks: bodies, feet and halts that are where they were asked to be, when; what cannot be is said.

What an actor does with marks on a floor is common practice, no source.
"""

import re
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from gaitgen.animal.limb import LIMBS
from gaitgen.commands import run
from gaitgen.course.stance import stance_state
from gaitgen.errors import RequestError
from gaitgen.gait.request import Request
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import slip_m, sole_points_m
from gaitgen.shot.asked import Mark, Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import as_json, as_text, shot_report
from gaitgen.shot.request import shot_of
from gaitgen.shot.shot_file import read_shot

WALK, TROT = (Request(gait=gait, animal="dog") for gait in ("walk", "trot"))
TURN = ((2.0, 0.0), (3.0, 1.0 / 3.0))
ON_THE_TURN = (3.4187, 0.3469)  # 1.45 m along it


def shot(marks, passages=((WALK, 5),), **more):
    return ShotRequest(tuple(Passage(cycle=c, strides=n) for c, n in passages), marks=tuple(marks), **more)


@cache
def made(name):
    return make_shot(shot_of(SHOTS[name]))


SHOTS = {
    "a place on a straight": shot([Mark((2.0, 0.0), frame=70)]),
    "a place in a turn": shot([Mark(ON_THE_TURN, frame=100)], pieces=TURN),
    "a halt": shot([Mark((5.3, 0.0), halts=True)]),
    "a halt at a frame": shot([Mark((4.5, 0.0), frame=190, halts=True)]),
    "a foot": shot([Mark((2.3, 0.08), frame=75, foot=0)]),
    "two, in two passages": shot(
        [Mark((1.6, 0.0), frame=60), Mark((5.2, 0.0), frame=140)], ((WALK, 3), (TROT, 5)), ends=False
    ),
}


def body_m(found, frame):
    return found.root_motion()[0][frame - 1, :2]


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", [name for name in SHOTS if "foot" not in name])
def test_the_body_is_on_its_mark_at_its_frame(name):
    found = made(name)
    for mark in SHOTS[name].marks:
        frame = found.clip.frames if mark.frame is None else mark.frame
        assert np.hypot(*(body_m(found, frame) - np.array(mark.place_m))) < 0.012
    assert not any("not met" in notice.text for notice in found.clip.notices)
    assert slip_m(found.clip) < 1e-3


def test_a_halt_on_a_mark_stands_there():
    found = made("a halt at a frame")
    place, _ = found.root_motion()
    assert np.ptp(place[189:, 0]) < 1e-3
    assert place[189, 0] - place[150, 0] > 0.05  # it has only just come


@pytest.mark.sample(1)
@pytest.mark.parametrize("place_m", [24.2, 27.0])
def test_a_shot_that_is_shortened_for_a_halt_keeps_a_stride_of_each_gait_and_meets_it(place_m):
    """The walk at its end had none left once, and where a start took a stride more the mark was missed."""
    gaits = [Request(gait=gait, animal="riding_horse", frame_rate_hz=30.0) for gait in ("trot", "walk")]
    mark = Mark((place_m, 0.0), halts=True)
    found = make_shot(shot_of(shot([mark], tuple(zip(gaits, (5, 3), strict=True)))))
    assert body_m(found, found.clip.frames) == pytest.approx((place_m, 0.0), abs=0.01)
    steady = [piece for piece in found.timeline.pieces if piece.kind == "steady"]
    assert all(piece.after > piece.first for piece in steady)
    assert [found.timeline.cycles[piece.cycles[0]].gait.name for piece in steady] == ["trot", "walk"]


def test_a_foot_is_on_its_spot_at_its_frame():
    found = made("a foot")
    clip, mark = found.clip, SHOTS["a foot"].marks[0]
    toes, _ = sole_points_m(clip.animal, *world_frames(clip.animal, clip.root_path_m, clip.rotations))
    assert stance_state(clip.steps, np.array([(mark.frame - 1) / 24.0])).planted[0, mark.foot]
    assert np.hypot(*(toes[mark.frame - 1, mark.foot, :2] - np.array(mark.place_m))) < 1e-3
    assert abs(toes[mark.frame - 1, mark.foot, 2]) < 1e-3
    assert slip_m(clip) < 1e-3


@pytest.mark.parametrize(("later", "stands"), [(1, True), (3, False)])
def test_a_foot_stays_down_a_frame_longer_for_its_spot_and_no_more(later, stands):
    plain = replace(shot([]), starts=False)  # one that sets off waits for the mark
    laid = make_shot(shot_of(plain)).timeline.stances
    inside = np.flatnonzero((laid.limb == 0) & (laid.touchdown > 60.0))[0]
    spot = tuple(float(value) for value in (laid.along_m[inside], laid.aside_m[inside]))
    row = int(laid.liftoff[inside]) + later
    found = make_shot(shot_of(replace(plain, marks=(Mark(spot, frame=row + 1, foot=0),))))
    (mark,) = shot_report(found).marks
    assert mark.is_down == stands
    assert (mark.off_mm < 1.0) == stands
    told = [notice.text for notice in found.clip.notices if notice.topic == "mark"]
    assert any("stays down until" in text for text in told) == stands
    assert slip_m(found.clip) < 1e-3


def _said_of(found):
    said = [notice.text for notice in found.clip.notices if "not met" in notice.text]
    assert len(said) == 1
    return said[0]


def _metres_before(words, text):
    return float(text.split(f" m {words}")[0].rsplit(" ", 1)[1])


@pytest.mark.thorough
def test_what_cannot_be_leaves_the_passages_alone_and_the_nearest_that_could_be_is_true():
    plain = make_shot(shot_of(shot([])))
    for place_m, frame, words in ((6.0, 60, "short of it"), (0.5, 90, "beyond it")):
        far = make_shot(shot_of(shot([Mark((place_m, 0.0), frame=frame, where="a.toml: line 7")])))
        said = _said_of(far)
        assert said.startswith("a.toml: line 7: the mark is not met: the body is ")
        assert body_m(far, frame)[0] == pytest.approx(body_m(plain, frame)[0], abs=1e-9)
        off = abs(place_m - body_m(far, frame)[0])
        assert _metres_before(f"{words} at frame", said) == pytest.approx(off, abs=0.01)
        nearest_m = float(said.split("at = [")[1].split(",")[0])
        near = make_shot(shot_of(shot([Mark((nearest_m, 0.0), frame=frame)])))
        assert body_m(near, frame)[0] == pytest.approx(nearest_m, abs=0.02)
    earlier = int(said.split("frame = ")[1].split()[0])
    met = make_shot(shot_of(shot([Mark((0.5, 0.0), frame=earlier)])))
    assert body_m(met, earlier)[0] == pytest.approx(0.5, abs=0.012)


@pytest.mark.sample(1)
@pytest.mark.parametrize("gaits", [(WALK,), (TROT, WALK)], ids=["walk", "trot walk"])
@pytest.mark.parametrize("starts", [True, False])
def test_a_halt_too_near_leaves_the_passages_alone_and_the_place_that_it_could_have_is_met(gaits, starts):
    """They had no strides left once, and missed it all the same."""
    passages = tuple((gait, 5) for gait in gaits)
    plain = shot_of(shot([], passages, starts=starts))
    mark = Mark((0.1, 0.0), halts=True, where="a.toml: line 7")
    far = shot_of(shot([mark], passages, starts=starts))
    strides = [[n for _, n in each.cycles] for each in far.items if hasattr(each, "cycles")]
    assert strides == [[n for _, n in each.cycles] for each in plain.items if hasattr(each, "cycles")]
    said = [notice.text for notice in far.notices if "not met" in notice.text]
    assert len(said) == len([notice for notice in far.notices if notice.topic == "mark"]) == 1
    assert said[0].startswith("a.toml: line 7: the mark is not met: the body halts ")
    assert ("leave out a passage" in said[0]) == (len(gaits) > 1)
    nearest_m = float(said[0].split("at = [")[1].split(",")[0])
    met = make_shot(shot_of(shot([Mark((nearest_m, 0.0), halts=True)], passages, starts=starts)))
    assert body_m(met, met.clip.frames) == pytest.approx((nearest_m, 0.0), abs=0.01)
    assert nearest_m - 0.1 == pytest.approx(_metres_before("beyond it, in frame", said[0]), abs=0.01)
    assert not any("not met" in notice.text for notice in met.clip.notices)


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("how", "at_m"), [({"halts": True}, 2.5), ({"frame": 70}, 4.4)], ids=["halt", "body"]
)
def test_a_mark_far_beside_the_path_leaves_the_passages_alone_and_one_near_it_does_not(how, at_m):
    """For a halt so all strides of a trot were left out once."""
    passages = ((TROT, 5),)
    beside = ([Mark((at_m, left_m), **how)] for left_m in (3.0, 0.31, 0.0))
    ways = [shot_of(shot(marks, passages)) for marks in ([], *beside)]
    timings = [
        [(cycle.speed_m_s, n) for each in way.items if hasattr(each, "cycles") for cycle, n in each.cycles]
        for way in ways
    ]
    assert timings[1] == timings[0]
    assert timings[2] == timings[3] != timings[0]
    (said,) = (notice.text for notice in ways[1].notices if notice.topic == "mark")
    assert "is 3.00 m beside the path" in said
    assert said.endswith(f"give at = [{at_m:.2f}, 0.00].")


FAR = "a.toml: line 9"


@pytest.mark.sample(1)
@pytest.mark.parametrize("spot_m", [(1.1, 0.9), (1.3, -0.8), (9.0, 0.05)], ids=["left", "right", "ahead"])
def test_a_spot_far_from_a_foot_leaves_the_passages_alone_and_the_one_it_could_have_is_met(spot_m):
    plain, far = (
        make_shot(shot_of(shot(marks, ((WALK, 4),))))
        for marks in ((), [Mark(spot_m, frame=65, foot=2, where=FAR)])
    )
    assert np.array_equal(far.clip.root_path_m, plain.clip.root_path_m)
    assert np.array_equal(far.clip.rotations, plain.clip.rotations)
    (said,) = [notice.text for notice in far.clip.notices if FAR in notice.text]
    assert "so they go as they were asked to" in said
    assert shot_report(far).marks[0].off_mm > 1000.0 * _metres_before("from it", said) / 2.0
    spot = re.search(r"put the spot at \[(.*?), (.*?)\]", said)
    again = make_shot(shot_of(shot([Mark((float(spot[1]), float(spot[2])), frame=65, foot=2)], ((WALK, 4),))))
    (told,) = shot_report(again).marks
    assert told.is_down
    assert told.off_mm < 15.0  # the spot is said in centimetres


@pytest.mark.thorough
def test_what_is_nearly_met_comes_as_near_as_it_can_and_is_said():
    near = make_shot(shot_of(shot([Mark((2.5, 0.0), frame=60, where="a.toml: line 7")])))
    short = _metres_before("short of it at frame 60", _said_of(near))
    assert 2.5 - body_m(near, 60)[0] == pytest.approx(short, abs=0.01)
    plain = make_shot(shot_of(shot([])))
    assert body_m(near, 60)[0] > body_m(plain, 60)[0] * 1.1  # it hurries
    aside = make_shot(shot_of(shot([Mark((2.3, 0.4), frame=75, foot=0)])))
    assert any("LF lands 0." in notice.text for notice in aside.clip.notices)


@pytest.mark.thorough
def test_the_spot_that_a_missed_foot_could_have_is_said_and_is_met():
    said = make_shot(shot_of(shot([Mark((2.3, 1.0), frame=75, foot=0)]))).clip.notices
    spot = re.search(r"put the spot at \[(.*?), (.*?)\]", " ".join(each.text for each in said))
    assert spot is not None
    again = shot([Mark((float(spot[1]), float(spot[2])), frame=75, foot=0)])
    far = [re.search(r"LF lands (\S+) m from", each.text) for each in make_shot(shot_of(again)).clip.notices]
    assert all(found is None or float(found[1]) <= 0.02 for found in far)


def test_how_far_a_foot_is_from_its_spot_is_said_once_and_is_true():
    mark = Mark((2.5, 0.3), frame=72, foot=0, where="a.toml: line 7")
    clip = make_shot(shot_of(shot([mark]))).clip
    toes, _ = sole_points_m(clip.animal, *world_frames(clip.animal, clip.root_path_m, clip.rotations))
    far = np.hypot(*(toes[mark.frame - 1, mark.foot, :2] - np.array(mark.place_m)))
    said = [notice.text for notice in clip.notices if "for the mark" not in notice.text]
    said = [text for text in said if "a.toml: line 7" in text]
    assert far > 0.01
    assert len(said) == 1
    assert float(said[0].split(" m from its spot")[0].rsplit(" ", 1)[1]) == pytest.approx(far, abs=0.006)


@pytest.mark.thorough
@pytest.mark.parametrize("second_m", [4.6, 5.3])
def test_two_marks_in_one_passage_are_both_met_at_two_speeds(second_m):
    marks = [Mark((1.6, 0.0), frame=60), Mark((second_m, 0.0), frame=150)]
    one = make_shot(shot_of(shot(marks, ((WALK, 6),), ends=False)))
    said = [notice.text for notice in one.clip.notices]
    assert not any("not met" in text for text in said)
    assert any("the rest of passage 1 goes at" in text for text in said)
    for mark in marks:
        assert np.hypot(*(body_m(one, mark.frame) - np.array(mark.place_m))) < 0.012
    assert slip_m(one.clip) < 1e-3


@pytest.mark.thorough
def test_of_two_marks_in_a_short_passage_the_second_says_what_to_do_and_that_meets_both():
    marks = [Mark((1.6, 0.0), frame=60), Mark((3.3, 0.0), frame=100)]
    one = make_shot(shot_of(shot(marks, ((WALK, 3),), ends=False)))
    said = [notice.text for notice in one.clip.notices if "not met" in notice.text]
    assert len(said) == 1
    assert "end the passage soon after that mark and begin another, with another speed" in said[0]
    two = make_shot(shot_of(shot(marks, ((WALK, 1), (replace(WALK, speed_m_s=1.1), 3)), ends=False)))
    assert not any("not met" in notice.text for notice in two.clip.notices)
    for mark in marks:
        assert np.hypot(*(body_m(two, mark.frame) - np.array(mark.place_m))) < 0.012


TABLES = {
    "mark": "[[mark]]\nat = [2, 0]\nframe = 40\n",
    "jump": "[[jump]]\nat = 6.0\nheight = 0.3\n",
    "turn": "[[passage]]\nturn = 90\n",
}


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        (
            ("jump", "mark"),
            r"a\.toml: line 10: a shot with a jump has no marks.*take out each \[\[mark\]\], or make two",
        ),
        (
            ("turn", "jump"),
            r"a\.toml: line 8: .*no turn on the spot \(passage 2\).*one that ends before passage 2 and",
        ),
    ],
    ids=lambda each: " ".join(each) if isinstance(each, tuple) else "",
)
def test_marks_jumps_and_turns_that_are_not_for_one_shot_are_refused_with_a_line(tmp_path, tables, words):
    path = tmp_path / "a.toml"
    text = 'animal = "riding_horse"\n[[passage]]\ngait = "canter"\nstrides = 6\n'
    path.write_text(text + "".join(TABLES[each] for each in tables), encoding="utf-8")
    with pytest.raises(RequestError, match=words):
        shot_of(read_shot(path))


ROUND = tuple(
    Passage(cycle=WALK, strides=n, turn_rad=turn) for n, turn in ((3, 0.0), (None, np.pi / 2.0), (4, 0.0))
)


def test_marks_before_and_after_a_turn_on_the_spot_are_met_and_told():
    """After it the path lies as the animal has turned, from where it came to a halt."""
    there, on, end = (2.2, 0.0), (2.137, 1.5), (2.137, 4.6)
    marks = (Mark(there, halts=True), Mark(on, frame=258), Mark(end, halts=True))
    found = make_shot(shot_of(ShotRequest(ROUND, marks=marks)))
    told = shot_report(found).marks
    assert [each.what for each in told] == ["halt", "body", "halt"]
    assert all(each.off_mm < 12.0 for each in told)
    assert not any("not met" in notice.text for notice in found.clip.notices)
    turned = [piece for piece in found.timeline.pieces if piece.kind == "haunches"]
    assert told[0].frame == turned[0].first + 1
    for mark, each in zip(marks, told, strict=True):
        off = np.hypot(*(body_m(found, each.frame) - np.array(mark.place_m)))
        assert each.off_mm == pytest.approx(1000.0 * off, abs=0.1)
    assert slip_m(found.clip) < 1e-3


def test_a_foot_is_on_no_spot_while_the_animal_turns_on_its_own():
    mark = Mark((2.0, 0.1), frame=160, foot=0, where="a.toml: line 7")
    with pytest.raises(RequestError, match=r"line 7: at frame 160 the animal turns on the spot \(p"):
        shot_of(ShotRequest(ROUND, marks=(mark,)))


def test_what_came_of_each_mark_is_told_with_frame_foot_and_millimetres():
    told = shot_report(made("a foot"))
    (mark,) = told.marks
    assert (mark.what, mark.frame, mark.is_down) == ("LF", 75, True)
    assert mark.off_mm < 1.0
    assert re.search(r"\n  mark +LF stands 0 mm from \[2\.3, 0\.08\] in frame 75\n", as_text(told))
    assert '"off_mm"' in as_json(told)
    far = shot_report(make_shot(shot_of(shot([Mark((6.0, 0.0), frame=60)])))).marks[0]
    assert far.off_mm > 1000.0


def test_no_wait_for_a_halt_moves_a_mark_that_is_met():
    """The animal stood for longer at the start, so that it halted in time and was late before."""
    marks = [Mark((1.6, 0.0), frame=60), Mark((6.4, 0.0), frame=220, halts=True)]
    found = make_shot(shot_of(shot(marks, ((WALK, 3), (TROT, 3)))))
    first, second = shot_report(found).marks
    assert first.off_mm < 12.0
    assert second.frame != 220
    assert any("is met at frame" in notice.text for notice in found.clip.notices)


@pytest.mark.sample(1)
@pytest.mark.parametrize("second_m", [5.0, 5.3])
def test_a_halt_in_the_passage_of_a_mark_before_it_is_met_too(second_m):
    """It was refused, as if no halt came after that mark."""
    marks = [Mark((1.6, 0.0), frame=60), Mark((second_m, 0.0), halts=True)]
    told = shot_report(make_shot(shot_of(shot(marks)))).marks
    assert [each.off_mm < 12.0 for each in told] == [True, True]


def test_a_halt_too_far_off_in_the_passage_of_a_mark_before_it_leaves_that_as_it_was():
    """What was left of it went as slowly as it could, which no foot could follow, and missed it still."""
    first, second = Mark((1.6, 0.0), frame=60), Mark((3.0, 0.0), halts=True)
    alone, both = (make_shot(shot_of(shot(marks))) for marks in ([first], [first, second]))
    assert both.timeline.frames == alone.timeline.frames
    told = shot_report(both).marks
    assert told[0].off_mm < 12.0
    assert told[1].off_mm > 1000.0
    assert sum("the mark is not met" in notice.text for notice in both.clip.notices) == 1


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize(
    ("strides", "frame", "first_m", "second_m"), [(6, 70, 2.6, 10.1), (8, 96, 4.0, 11.0)]
)
def test_a_halt_that_takes_all_strides_of_the_rest_of_a_walk_is_made(strides, frame, first_m, second_m):
    """A foot that swings all through a passage without a stride lands and lifts as in its cycle."""
    horse = Request(gait="walk", animal="riding_horse")
    marks = [Mark((first_m, 0.0), frame=frame), Mark((second_m, 0.0), halts=True)]
    found = make_shot(shot_of(shot(marks, ((horse, strides),))))
    assert any("has 0 strides instead of" in notice.text for notice in found.clip.notices)
    assert slip_m(found.clip) < 1e-3


def test_a_halt_that_is_not_met_at_its_frame_is_not_said_to_be_met_at_another():
    horse = Request(gait="walk", animal="riding_horse")
    marks = [Mark((3.0, 0.0), frame=70), Mark((10.0, 0.0), frame=300, halts=True)]
    notices = shot_of(shot(marks, ((horse, 6),))).notices
    said = [notice.text for notice in notices if "is not met" in notice.text or "is met" in notice.text]
    assert len(said) == 1
    assert "beyond it at frame 290" in said[0]


def test_a_mark_that_is_left_holds_nothing_and_the_next_is_met():
    """The next was looked for from there on, in what the first was said to hold."""
    far, halts = Mark((5.5, 0.0), frame=60), Mark((5.3, 0.0), halts=True)
    told = shot_report(make_shot(shot_of(shot([far, halts])))).marks
    assert told[0].off_mm > 1000.0
    assert told[1].off_mm < 12.0


@pytest.mark.thorough
def test_a_place_that_could_be_met_is_said_on_the_way_as_it_lies_behind_a_turn_on_the_spot():
    def there(place_m):
        mark = Mark(place_m, frame=258)
        return make_shot(shot_of(ShotRequest(ROUND, marks=(Mark((2.2, 0.0), halts=True), mark))))

    texts = [notice.text for notice in there((2.137, 5.0)).clip.notices]
    found = next(re.search(r"at = \[(\S+), (\S+)\]", text) for text in texts if "is not met" in text)
    assert shot_report(there((float(found[1]), float(found[2])))).marks[1].off_mm < 30.0


def test_a_mark_after_the_end_is_refused_with_its_line(tmp_path):
    path = tmp_path / "a.toml"
    text = 'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 2\n\n[[mark]]\nat = [2, 0]\n'
    for more, words in (
        (
            "frame = 4000\n",
            r"a\.toml: line 8: frame is 4000, and the shot ends at frame \d+; give an earlier",
        ),
        ("", r"a\.toml: line 6: \[mark, number 1\] does not say when; add frame = 48, or halt"),
        ("frame = 40\nfoot = 'LX'\n", r"line 9: .*foot is 'LX'; write one of LF, RF, LH, RH"),
        ("halt = true\nfoot = 'LF'\n", r"has a foot and a halt; write two marks"),
        ("halt = 3\n", r"line 8: .*halt is 3; write true or false"),
    ):
        path.write_text(text + more, encoding="utf-8")
        with pytest.raises(RequestError, match=words):
            shot_of(read_shot(path))
    path.write_text(text.replace('"dog"\n', '"dog"\nend = "going"\n') + "halt = true\n", encoding="utf-8")
    with pytest.raises(RequestError, match=r"line 9: halt is true, and no halt comes after"):
        shot_of(read_shot(path))


def test_without_a_path_the_way_leads_through_the_marks(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(
        'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 7\n'
        "[[mark]]\nat = [4, 0]\nframe = 90\n[[mark]]\nat = [7, 3]\nhalt = true\n",
        encoding="utf-8",
    )
    request = read_shot(path)
    assert sum(length * bend for length, bend in request.pieces) == pytest.approx(np.radians(45.0))
    assert [LIMBS[0], request.marks[1].halts] == ["LF", True]


def test_frames_a_second_of_a_shot_are_an_option(tmp_path, capsys):
    """What is counted in frames stays as many."""
    path = tmp_path / "walk.toml"
    path.write_text('fps = 24\n[[passage]]\ngait = "walk"\nstrides = 1\n[[passage]]\nhalt = 30\n', "utf-8")
    slow, fast = (read_shot(path).at_rate(rate) for rate in (24.0, 30.0))
    assert fast.first.frame_rate_hz == 30.0
    assert fast.passages[1] == slow.passages[1]
    assert run(["shot", str(path), "--fps", "30", "--no-keys", "--out", str(tmp_path)]) == 0
    assert "at 30 fps" in capsys.readouterr().out
    assert run(["shot", str(path), "--fps", "0", "--out", str(tmp_path)]) == 2
    assert "frame rate is 0; give a number from 1 to 1000" in capsys.readouterr().err
