"""Faults of whole ends, axes and roots, as somebody made them who had read nothing but the README."""

import json

import numpy as np
import pytest
from damage import columns, seen_again, with_rows
from damage_by_strangers import end_late, on_its_side, root_along_z, start_of
from damage_shots import shot_base
from scipy.spatial.transform import Rotation

from gaitgen.check.check import check
from gaitgen.check.facts import facts

CLIPS = (("dog", "walk", 30, True), ("cow", "walk", 32, False), ("red_deer", "trot", None, True))


def made(clip):
    animal, gait, frames, in_place = clip
    return start_of(animal, gait, frames, in_place=in_place)


def after(start, file):
    return check(seen_again(start, file))


@pytest.mark.sample(1)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
@pytest.mark.parametrize("frames", [1, 3, 5])
def test_an_end_that_is_late_is_told_by_how_many_frames_and_nothing_else_is(clip, frames):
    start = made(clip)
    damaged = end_late(start, np.random.default_rng(frames), frames)
    found = after(start, damaged.file)
    assert [(f.kind, f.limb, f.amount) for f in found] == [("end out of time", damaged.limbs[0], frames)]
    assert f" {frames} frame{'s' if frames > 1 else ''} earlier: then all feet stand" in found[0].do


@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_clip_on_its_side_is_told_which_axis_is_up_and_how_to_turn_it(clip):
    start = made(clip)
    first = after(start, on_its_side(start, np.random.default_rng(1)).file)[0]
    assert first.kind == "clip lies on its side"
    assert first.do.startswith(
        "the motion has +Z up, its skeleton +Y: turn the root's places and rotations by -90 degrees about X"
    )


def test_turned_as_it_says_a_clip_on_its_side_is_as_it_was():
    start = made(CLIPS[1])
    rows = on_its_side(start, np.random.default_rng(1)).file.rows
    places = list(columns(start.file, start.file.joint_names[0], "position").values())
    back = Rotation.from_euler("X", -90.0, degrees=True).apply(rows[:, places])
    np.testing.assert_allclose(back, start.file.rows[:, places], atol=1e-6)


@pytest.mark.parametrize("clip", CLIPS[1:2], ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_root_along_other_axes_is_told_with_its_signs(clip):
    start = made(clip)
    first = after(start, root_along_z(start, np.random.default_rng(1)).file)[0]
    assert first.kind == "root axes swapped"
    assert "as Y = Z, Z = -Y" in first.do


def test_a_root_that_steps_down_and_stays_is_told_so_and_one_that_is_off_in_a_frame_is_not():
    start = shot_base("a cat that turns right")
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    part = next(part.stretch for part in start.seen.parts if part.stretch.what == "goes")
    row = (part.first + part.last) // 2
    words = []
    for rows_off in (slice(row, None), slice(row, row + 1)):
        rows = start.file.rows.copy()
        rows[rows_off, at] -= 3.0
        pops = [f for f in after(start, with_rows(start.file, rows)) if f.kind == "pop"]
        assert [(f.limb, f.first_frame) for f in pops] == [(start.file.joint_names[0], row + 1)]
        words.append(pops[0].do)
    assert words[0].startswith("a step that stays: from here on the root is 3")
    assert "mm lower than before" in words[0]
    assert words[1].startswith("take the key at this frame out")


def test_a_body_that_bobs_once_a_stride_is_no_clip_that_plays_too_slowly():
    start = made(CLIPS[0])
    rows = start.file.rows.copy()
    at = columns(start.file, start.file.joint_names[0], "position")["Y"]
    rows[:, at] += 3.0 * np.sin(2.0 * np.pi * np.arange(len(rows)) / 30.0)
    seen = seen_again(start, with_rows(start.file, rows))
    found = check(seen)
    assert [(f.kind, f.unit, round(f.amount)) for f in found] == [("body moves over planted feet", "mm", 60)]
    assert json.loads(json.dumps(facts(seen, found)["frame_rate_doubt"])) is None
