"""A root that shakes is told to shake, in a stride of few frames too, and is no step that stays."""

import numpy as np
import pytest
from damage import columns, seen_again, with_rows
from damage_by_strangers import start_of

from gaitgen.check.check import check

CLIPS = (("cow", "trot", 20), ("pig", "trot", 18), ("riding_horse", "trot", 19))


def up(start):
    """Column of the root's height."""
    return columns(start.file, start.file.joint_names[0], "position")["Y"]


@pytest.mark.sample(2)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_root_whose_height_is_noisy_is_told_to_shake(clip, seed):
    start = start_of(*clip)
    rows, root = start.file.rows.copy(), start.file.joint_names[0]
    noise = np.random.default_rng(seed).normal(0.0, 0.012 * start.motion.hip_height_m * 100.0, len(rows))
    rows[:, up(start)] += noise
    rows[-1, up(start)] = rows[0, up(start)]
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(f.kind, f.limb) for f in found] == [("jitter", root)]


@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
def test_a_root_that_steps_once_is_still_told_so_in_a_few_frames(clip):
    start = start_of(*clip)
    rows, row = start.file.rows.copy(), start.frames // 2 - 1
    rows[row:, up(start)] += 0.04 * start.motion.hip_height_m * 100.0
    found = check(seen_again(start, with_rows(start.file, rows)))
    every = [f for each in found for f in (each, *each.follows)]
    told = [f for f in every if f.do.startswith("a step that stays")]
    assert [f.first_frame for f in told] == [row + 1]
    assert told[0].amount == pytest.approx(40.0 * start.motion.hip_height_m, rel=0.2)
    assert all(f.kind != "jitter" for f in found)


def test_a_root_that_is_unsteady_all_along_has_made_no_step():
    """One jump that is the largest of many, in too few frames to tell noise by."""
    start = start_of("goat", "trot", 14)
    rows = start.file.rows.copy()
    off = (
        0.02
        * start.motion.hip_height_m
        * 100.0
        * np.array([0, 1, -1, 1.4, -1, 1, 2.4, 2, 2.6, 2, 1, 2, 1.5, 0.4])
    )
    rows[:-1, up(start)] += off
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert not [f for each in found for f in (each, *each.follows) if "a step that stays" in f.do]
