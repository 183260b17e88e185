"""A change of style between passages of one gait goes straight from the one style to the other."""

from functools import cache

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.check.check import check
from gaitgen.check.load import motion_of
from gaitgen.check.look import see
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.gait.style import Style
from gaitgen.motion.kinematics import world_frames
from gaitgen.motion.measure import slip_m
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.request import shot_of
from gaitgen.shot.speeding import Within

HORSE, DOG, CAT = ("riding_horse", 24.0), ("dog", 25.0), ("cat", 24.0)


@cache
def made(animal, gait, styles, within=None, strides=2):
    """Make a shot that goes from a style to the next, in words or as a bounce, between steady strides."""
    name, rate = animal
    passages = []
    for each in styles:
        style = {"named_style": each} if isinstance(each, str) else {"style": Style(bounce=each)}
        asked = Request(gait=gait, animal=name, frame_rate_hz=rate, **style)
        into = Within(within) if within is not None and passages else None
        passages.append(Passage(cycle=asked, strides=strides, within=into))
    return make_shot(shot_of(ShotRequest(tuple(passages), starts=False, ends=False)))


def head_m(clip):
    """Height of the head, (frames,)."""
    places, _ = world_frames(clip.animal, clip.root_path_m, clip.rotations)
    return places[:, list(clip.animal.joint_names).index("head"), 2]


def once_a_stride_m(made_):
    """How far the head goes up and down once in each stride, (strides,)."""
    stride = made_.timeline.cycles[0].frames
    height = head_m(made_.clip)[:-1]
    waves = height[: height.size // stride * stride].reshape(-1, stride)
    return 2.0 * np.abs(waves @ np.exp(-2j * np.pi * np.arange(stride) / stride)) / stride


CHANGES = [
    (HORSE, "trot", ("lame LF", "lame LF 0.99")),
    (DOG, "trot", ("lame RF", "lame RF 0.75")),
    (HORSE, "trot", (1.8, 1.7)),
    (HORSE, "trot", ("lame LF", "")),
    (HORSE, "trot", ("lame LF", "lame RF")),
    (HORSE, "walk", ("lame LH", "lame LH 0.5")),
    (CAT, "walk", ("proud", "lame RF")),
]


@pytest.mark.sample(3)
@pytest.mark.parametrize(("animal", "gait", "styles"), CHANGES)
def test_what_changes_its_style_is_between_the_two_in_each_frame(animal, gait, styles):
    """Head, hips and forces are nowhere but between those of either cycle at that moment of the stride."""
    shot = made(animal, gait, styles)
    stride, clip = shot.timeline.cycles[0].frames, shot.clip
    weight = clip.plan.force_n.sum(axis=1).mean()
    curves = (
        (head_m(clip), 0.003),
        (clip.plan.hips_heave_m, 0.001),
        (clip.plan.chest_heave_m, 0.001),
        *((clip.plan.force_n[:, foot] / weight, 0.01) for foot in range(4)),
    )
    for curve, near in curves:
        rows = np.arange(curve.size)
        one, other = curve[rows % stride], curve[curve.size - 1 - stride + (rows % stride)]
        assert (curve >= np.minimum(one, other) - near).all()
        assert (curve <= np.maximum(one, other) + near).all()
    assert slip_m(clip) < 1e-3
    assert lowest_sole_m(shot) > -1e-3


def test_a_limp_that_is_as_good_as_the_same_stays_whole():
    far = once_a_stride_m(made(*CHANGES[0]))
    assert far.min() > 0.97 * max(far[0], far[-1])  # a tenth of it was left half-way


def test_a_limping_dog_gets_better_steadily_over_five_strides():
    far = once_a_stride_m(made(DOG, "trot", ("lame RF 2", ""), within=5.0))
    assert far[0] > 10.0 * far[-1]
    gone = -np.diff(far) / (far[0] - far[-1])
    assert gone.min() > -0.03
    assert gone.max() < 0.4
    assert (gone[2:6] > 0.08).all()


def test_one_that_gets_better_by_steps_gets_better_in_each():
    styles = ("lame RF 2", "lame RF 1.5", "lame RF 1", "lame RF 0.5", "")
    far = once_a_stride_m(made(DOG, "trot", styles, within=1.0, strides=1))
    assert far.size == 9
    assert (np.diff(far) < 0.03 * far[0]).all()
    assert (np.diff(far[::2]) < -0.1 * far[0]).all()


@pytest.mark.parametrize(("asked", "strides"), [(None, 2), (1.0, 1), (1.5, 2), (5.0, 5)])
def test_a_change_of_style_takes_no_more_strides_than_are_asked(asked, strides):
    shot = made(HORSE, "trot", ("lame LF", ""), within=asked)
    assert shot.clip.frames == (2 + strides + 2) * shot.timeline.cycles[0].frames + 1


def seen_of(clip):
    motion, limits = motion_of(read_bvh(encode(clip, FileSpace()), "a.bvh"), "a.bvh", "a.bvh", None)
    return see(motion, limits)


@pytest.mark.sample(2)
@pytest.mark.parametrize(
    ("animal", "styles", "within"),
    [
        (HORSE, ("lame LF", ""), None),
        (DOG, ("lame RF", "lame RF 0.75"), None),
        (DOG, ("lame RF 2", ""), 5.0),
        (HORSE, ("", "tired"), None),
    ],
)
def test_a_shot_whose_style_changes_is_no_loop_that_fails_to_close(animal, styles, within):
    seen = seen_of(made(animal, "trot", styles, within).clip)
    assert seen.shot is not None
    assert check(seen) == []


def test_strides_that_only_differ_by_chance_are_a_loop_still():
    for seed in (1, 2, 3):
        clip = make_cycle(Request(gait="trot", strides=4, seed=seed, in_place=False))
        assert seen_of(clip).loop.closes


@pytest.mark.parametrize("way", ["bend", "halt"])
def test_a_lame_horse_nods_round_a_bend_and_as_it_halts_as_it_does_straight_ahead(way):
    """The head nodded for the lame leg only where a passage was its cycle: by a fifth of that on a bend."""
    asked = Request(gait="trot", animal="riding_horse", frame_rate_hz=24.0, named_style="lame LF")
    bends = {"pieces": ((2.0, 0.0), (40.0, 1.0 / 12.0))} if way == "bend" else {}
    passage = Passage(cycle=asked, strides=4)
    shot = make_shot(shot_of(ShotRequest((passage,), starts=False, ends=way == "halt", **bends)))
    straight = once_a_stride_m(made(HORSE, "trot", ("lame LF", "lame LF 0.99")))[0]
    far = once_a_stride_m(shot)[1:5]
    assert far.min() > 0.75 * straight
    assert far.max() < 1.25 * straight
