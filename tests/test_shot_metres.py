"""Passages that are asked for in metres go as far, also where strides become shorter."""

import re

import numpy as np
import pytest

from gaitgen.course.ground import Ground
from gaitgen.course.surfaces import stairs
from gaitgen.gait.request import Request
from gaitgen.shot.asked import Mark, Passage, ShotRequest
from gaitgen.shot.laid_shot import LaidShot
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import shot_report
from gaitgen.shot.request import shot_of

FLIGHT = stairs([(0.93 + 0.3 * k, 0.09) for k in range(12)], 0.0, "the steps")
UP, DOWN = Ground(0.25), Ground(-0.25)


def to_go(gait, animal, distance_m):
    return Passage(cycle=Request(gait=gait, animal=animal), distance_m=distance_m)


def bend(straight_m, turn_rad, radius_m):
    return ((straight_m, 0.0), (turn_rad * radius_m, 1.0 / radius_m))


def passages_of(request):
    """What each passage of a shot goes, and its last stride; one row a part that is a passage. [m]"""
    timeline = LaidShot.of(shot_of(request)).timeline
    rows = []
    for piece in timeline.pieces:
        if piece.kind == "steady":
            frames = timeline.cycles[piece.cycles[0]].frames
            moments = np.array([piece.first, piece.after - frames, piece.after])
            at = timeline.pace.distance_m(moments / timeline.frame_rate_hz)
            rows.append((at[2] - at[0], at[2] - at[1]))
    return np.array(rows)


# Each went so far when its strides were counted as on level ground: 3.00, 2.00, 14.03, 4.12 and 5.15, 7.25,
# 6.82 m.
CASES = {
    "stairs up": ShotRequest((to_go("walk", "dog", 3.68),), ground=FLIGHT),
    "stairs down": ShotRequest(
        (to_go("walk", "cat", 3.0),),
        ground=stairs([(0.5 + 0.25 * k, -0.06) for k in range(10)], 0.0, "the steps"),
    ),
    "slope up": ShotRequest((to_go("walk", "riding_horse", 20.0),), ground=UP),
    "slope down, twice": ShotRequest((to_go("walk", "dog", 6.0), to_go("trot", "dog", 8.0)), ground=DOWN),
    "hard bend": ShotRequest((to_go("trot", "dog", 9.0),), pieces=bend(2.0, 4.71, 1.6)),
    "bend on a slope": ShotRequest(
        (to_go("trot", "dog", 9.0),), pieces=bend(2.0, 3.0, 1.6), ground=Ground(0.12)
    ),
}


@pytest.mark.sample(6)
@pytest.mark.parametrize("case", CASES)
def test_a_passage_goes_as_far_as_asked_to_half_a_stride(case):
    found = passages_of(CASES[case])
    for passage, (gone_m, stride_m) in zip(CASES[case].passages, found, strict=True):
        assert abs(gone_m - passage.distance_m) <= 0.5 * stride_m + 1e-6
    assert not [each.text for each in shot_of(CASES[case]).notices if "of its distance" in each.text]


def test_two_passages_that_are_one_part_go_as_far_as_both():
    one = to_go("trot", "dog", 4.0)
    found = passages_of(ShotRequest((one, to_go("trot", "dog", 5.0)), ground=UP))
    assert found.shape[0] == 1
    assert abs(found[0, 0] - 9.0) <= found[0, 1]  # each to half a stride


def test_the_body_goes_as_far_as_the_report_says():
    made = make_shot(shot_of(CASES["stairs up"]))
    part = next(each for each in shot_report(made).parts if each.what == "walk")
    ahead = made.clip.root_path_m[:, 0]
    assert part.distance_m == pytest.approx(3.68, abs=0.35)
    assert ahead[part.last_frame - 1] - ahead[part.first_frame - 1] == pytest.approx(part.distance_m, abs=0.1)


def said_of(request):
    """What a shot says of a passage that does not go as far as asked, and the metres to write."""
    texts = [each.text for each in shot_of(request).notices if "of its distance" in each.text]
    return texts, [float(each) for each in re.findall(r"write distance = ([\d.]+)[.,]", " ".join(texts))]


def test_what_no_number_of_strides_meets_is_told_with_what_to_write():
    """Where a flight ends, the next stride is a long one: a dog goes 2.82 m, or 3.79, and not 3.25."""
    ground = stairs([(0.9 + 0.28 * k, 0.08) for k in range(12)], 0.0, "the steps")
    texts, metres = said_of(ShotRequest((to_go("trot", "dog", 3.25),), ground=ground))
    assert len(texts) == 1
    assert "as no number of strides comes nearer there" in texts[0]
    assert 3.25 - metres[0] > 0.4
    written = ShotRequest((to_go("trot", "dog", metres[0]),), ground=ground)
    assert said_of(written) == ([], [])
    assert passages_of(written)[0, 0] == pytest.approx(metres[0], abs=0.01)


def test_marks_come_first_and_what_a_passage_then_goes_is_told():
    mark = Mark((4.0, 0.0), halts=True)
    texts, metres = said_of(ShotRequest((to_go("walk", "dog", 9.0),), marks=(mark,)))
    assert len(texts) == 1
    assert "passage 1 goes" in texts[0]
    assert "not the 9 m of its distance, as marks come first" in texts[0]
    written = ShotRequest((to_go("walk", "dog", metres[0]),), marks=(mark,))
    assert said_of(written) == ([], [])


def test_strides_for_the_path_of_the_file_are_kept_on_another_and_told():
    straight = ShotRequest((to_go("trot", "riding_horse", 18.0),), starts=False, ends=False)
    texts, _ = said_of(straight.along(list(bend(3.0, 9.0, 4.0)), (0.0, 0.0), 0.0))
    assert len(texts) == 1
    assert "as its strides are those of the path in the shot file" in texts[0]
