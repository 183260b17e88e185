"""Strides that differ by a seed: as little as an animal's do, each its own, with feet planted, and a loop."""

import numpy as np
import pytest
from gait_laws import (
    assert_bones_and_joints_hold,
    assert_feet_stand_still_on_the_ground,
    assert_forces_obey_newton,
    assert_nothing_is_infinite,
)

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.course.named_gait import summarise
from gaitgen.errors import RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh import encode
from gaitgen.motion.measure import found_feet, loop_gap, measure_feet
from gaitgen.pipeline import settle
from gaitgen.pipeline.temper import tempered
from gaitgen.pipeline.to_clip import to_clip

CASES = [
    ("walk", "riding_horse", 4, 3),
    ("trot", "riding_horse", 3, 1),
    ("canter", "riding_horse", 3, 2),
    ("walk", "dog", 3, 5),
    ("half_bound", "hare", 3, 3),
]


@pytest.mark.parametrize(("gait", "animal", "strides", "seed"), CASES)
def test_laws_hold(gait, animal, strides, seed):
    settled = settle(Request(gait=gait, animal=animal, strides=strides, seed=seed))
    made = tempered(settled)
    clip = to_clip(settled, made, made.notices)
    assert_nothing_is_infinite(clip)
    assert_bones_and_joints_hold(clip)
    assert_feet_stand_still_on_the_ground(clip)
    assert_forces_obey_newton(clip.animal, made.solved.body)
    assert loop_gap(clip) < 1e-9
    assert clip.frames == strides * settled.frames + 1
    even = summarise(make_cycle(Request(gait=gait, animal=animal)).steps)
    assert summarise(clip.steps).lag == pytest.approx(even.lag, abs=0.01)
    assert summarise(clip.steps).duty_factor == pytest.approx(even.duty_factor, abs=0.01)
    assert_strides_differ_by_a_per_cent_or_two(clip)
    assert_nothing_pops_at_the_seam(clip)


def assert_strides_differ_by_a_per_cent_or_two(clip):
    frames = clip.facts.frames
    steps, rate = clip.steps, clip.frame_rate_hz
    period = []
    for limb in range(4):
        contact = np.sort(steps.touchdown_s[steps.limb == limb]) * rate
        period.append(np.diff(np.append(contact, contact[0] + clip.frames - 1)))
    spread = np.std(period, axis=1) / frames
    assert np.all(spread > 0.001)
    assert np.all(spread < 0.03)
    down = (steps.liftoff_s - steps.touchdown_s) * rate
    assert all(np.std(down[steps.limb == limb]) < 0.03 * frames for limb in range(4))
    lift = measure_feet(clip).toe_m[:-1, :, 2].reshape(-1, frames, 4).max(axis=1)  # (strides, 4)
    assert np.all(np.ptp(lift, axis=0) > 0.01 * lift.mean(axis=0))


def assert_nothing_pops_at_the_seam(clip):
    """No joint turns away from its line at the seam farther than it does elsewhere."""
    turns = clip.rotations[:-1]
    wrapped = np.concatenate([turns[-2:], turns, turns[:2]])
    sign = np.cumprod(
        np.where((wrapped[1:] * wrapped[:-1]).sum(axis=-1, keepdims=True) < 0, -1.0, 1.0), axis=0
    )
    wrapped[1:] *= sign
    off = np.linalg.norm(np.diff(wrapped, n=2, axis=0), axis=-1)  # about rows -1 to frames
    at_seam, elsewhere = np.maximum(off[1], off[-2]), off[2:-2].max(axis=0)
    assert np.all(at_seam <= 1.5 * elsewhere + 1e-6)


def test_no_stride_is_like_another():
    clip = make_cycle(Request(strides=4, seed=3))
    frames = clip.facts.frames
    strides = clip.rotations[:-1].reshape(4, frames, *clip.rotations.shape[1:])
    for k in range(4):
        for other in range(k):
            dots = np.abs((strides[k] * strides[other]).sum(axis=-1)).clip(0.0, 1.0)
            assert np.degrees(2.0 * np.arccos(dots)).max() > 2.0


def test_the_same_seed_makes_the_same_bytes_and_another_does_not():
    one, again, other = (encode(make_cycle(Request(strides=2, seed=s)), FileSpace()) for s in (3, 3, 4))
    assert one == again
    assert one != other


def test_without_a_seed_strides_are_alike():
    clip = make_cycle(Request(strides=3))
    strides = clip.rotations[:-1].reshape(3, clip.facts.frames, *clip.rotations.shape[1:])
    np.testing.assert_allclose(strides[1], strides[0], atol=1e-12)


def test_every_stride_is_found_again_in_the_motion():
    """Contacts are between frames: what is measured back is at most a frame away."""
    clip = make_cycle(Request(strides=4, seed=3))
    found = found_feet(clip)
    for limb in range(4):
        asked = (
            np.sort(clip.steps.touchdown_s[clip.steps.limb == limb]) * clip.frame_rate_hz % (clip.frames - 1)
        )
        back = np.array([stance.first for stance in found.of(limb)]) % (clip.frames - 1)
        away = (back[:, None] - asked + (clip.frames - 1) / 2.0) % (clip.frames - 1) - (clip.frames - 1) / 2.0
        assert back.size == 4
        assert np.abs(away).min(axis=1).max() <= 1.0


def test_key_poses_name_the_contacts_of_every_stride():
    clip = make_cycle(Request(strides=3, seed=3))
    names = [pose.name for pose in clip.key_poses]
    assert [names.count(f"{foot} contact") for foot in ("LF", "RF", "LH", "RH")] == [3, 3, 3, 4]
    assert clip.key_poses[-1].frame == clip.frames


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("gait", "animal", "strides", "seed"),
    CASES[:2],
)
def test_check_finds_nothing(gait, animal, strides, seed, tmp_path):
    path = tmp_path / "clip.bvh"
    clip = make_cycle(Request(gait=gait, animal=animal, strides=strides, seed=seed))
    path.write_bytes(encode(clip, FileSpace()))
    assert [(each.kind, each.limb) for each in check_file(path, animal=animal).findings] == []


def test_it_travels_as_far_as_the_even_strides_do():
    clip, even = (make_cycle(Request(strides=3, seed=seed, in_place=False)) for seed in (3, None))
    gone = [each.root_path_m[-1, 0] - each.root_path_m[0, 0] for each in (clip, even)]
    assert gone[0] == pytest.approx(gone[1], rel=1e-9)


@pytest.mark.parametrize(("strides", "seed"), [(1, 3), (25, 3)])
def test_a_seed_wants_strides_that_can_differ(strides, seed, capsys):
    with pytest.raises(
        RequestError, match=f"strides is {strides}; with a seed strides differ, so give 2 to 24"
    ):
        make_cycle(Request(strides=strides, seed=seed))
    assert run(["cycle", "walk", "--strides", str(strides), "--seed", str(seed), "--out", "nowhere"]) == 2
    assert "Traceback" not in capsys.readouterr().err
