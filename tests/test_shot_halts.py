"""What is counted of changes and halts: the report, the marks and the check say one thing of them."""

import re
from functools import cache

import numpy as np
import pytest

from gaitgen import Request
from gaitgen.check.check import check
from gaitgen.check.load import motion_of
from gaitgen.check.look import see
from gaitgen.check.shot.strides import STANDS
from gaitgen.commands import run
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.shot.asked import Mark, Passage, ShotRequest
from gaitgen.shot.join import make_join
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import shot_report
from gaitgen.shot.request import shot_of

LONG = 12  # frames of standing that is more than a shift of weight, at 24 a second


@cache
def halting(animal, gait):
    """A shot with a halt on a mark."""
    goes = Passage(cycle=Request(gait=gait, animal=animal), strides=2)
    far_m = {"dromedary": 6.0, "dog": 5.0, "riding_horse": 12.0}[animal]
    request = ShotRequest((goes, Passage(halt_frames=75), goes), marks=(Mark((far_m, 0.0), halts=True),))
    return make_shot(shot_of(request))


def stood(made):
    """First and last frame of each time it stands, as the report says."""
    return [(part.first_frame, part.last_frame) for part in shot_report(made).parts if part.what == "stands"]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("animal", "gait"), [("dromedary", "walk"), ("dog", "trot"), ("riding_horse", "trot")]
)
def test_it_stands_in_the_report_when_it_stands_in_the_check(animal, gait):
    made = halting(animal, gait)
    motion, limits = motion_of(read_bvh(encode(made.clip, FileSpace()), "a.bvh"), "a.bvh", "a.bvh", animal)
    seen = see(motion, limits)
    found = [(p.stretch.first + 1, p.stretch.last + 1) for p in seen.parts if p.stretch.what == STANDS]
    told, found = ([each for each in spans if each[1] - each[0] >= LONG] for spans in (stood(made), found))
    assert len(told) == len(found) == 2
    off = np.abs(np.array(found) - np.array(told))
    assert off.max() <= 3  # the check finds paws that roll off, and down, an eighth of a second late
    assert not [each for each in check(seen) if each.kind == "loop not closing"]


@pytest.mark.sample(1)
@pytest.mark.parametrize("animal", ["dromedary", "dog"])
def test_a_halt_on_a_mark_is_told_with_its_last_foot_and_when_it_is_at_rest(animal):
    made = halting(animal, "walk" if animal == "dromedary" else "trot")
    (mark,) = shot_report(made).marks
    laid = made.timeline.stances
    lands = laid.touchdown[laid.stands & (laid.touchdown > 20) & (laid.touchdown < mark.frame)].max() + 1
    assert mark.stands_from == pytest.approx(lands, abs=1)
    assert mark.stands_from == stood(made)[1][0] < mark.frame
    assert stood(made)[1][1] - mark.frame >= 75  # the frames that were asked for, at rest
    assert f"in frame {mark.frame}, at rest; its last foot is down from frame {mark.stands_from}" in mark.text


def test_a_join_says_what_is_beside_the_strides_that_are_asked():
    made = make_join("walk", "halt", Request(), strides=1.0)
    (said,) = [each.text for each in made.clip.notices if each.topic == "change"]
    (first, last), (begins, ends) = re.findall(r"frames (\d+) to (\d+)", said)
    assert (int(begins), int(ends)) == (1, made.clip.frames)
    assert int(last) - int(first) == made.timeline.cycles[0].frames
    assert "asked for 1" in said
    assert not any(each.topic == "change" for each in make_join("walk", "halt", Request()).clip.notices)


def test_the_help_says_what_strides_of_a_join_are(capsys):
    assert run(["join", "--help"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "Strides in which the speed changes" in said
