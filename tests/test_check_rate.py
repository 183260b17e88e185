"""That a clip plays too fast or too slow is said only where nothing that was found makes it seem so."""

from dataclasses import replace

import numpy as np
import pytest
from damage import seen_again, with_rows
from damage_by_strangers import start_of

from gaitgen.check.check import check
from gaitgen.check.facts import facts
from gaitgen.formats.bvh_file import channel_columns

CLIPS = (("red_deer", "trot", 16), ("pig", "trot", 18), ("cat", "trot", 22))


def slower_part(rows):
    """A third of the clip takes half as long again."""
    first, last = len(rows) // 4, 6 * len(rows) // 10
    at = np.linspace(first, last, round(1.5 * (last - first)) + 1)
    part = [np.interp(at, np.arange(len(rows)), column) for column in rows.T]
    return np.vstack([rows[:first], np.array(part).T, rows[last + 1 :]])


def swapped_frames(rows):
    """Two frames have changed places."""
    row = 2 * len(rows) // 5
    out = rows.copy()
    out[[row, row + 1]] = rows[[row + 1, row]]
    return out


def repeated_frame(rows):
    """A frame repeats the one before it."""
    out = rows.copy()
    out[4] = rows[3]
    return out


def rate_note(seen):
    """What is said of the rate beside what is found, and what is found."""
    found = check(seen)
    return facts(seen, found)["frame_rate_doubt"], [finding.kind for finding in found]


@pytest.mark.sample(2)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
@pytest.mark.parametrize("damage", [slower_part, swapped_frames, repeated_frame])
def test_frames_that_are_not_what_they_should_be_make_no_other_rate(clip, damage):
    start = start_of(*clip)
    note, found = rate_note(seen_again(start, with_rows(start.file, damage(start.file.rows))))
    assert found
    assert note is None


@pytest.mark.parametrize("is_damaged", [False, True])
def test_a_rate_that_is_wrong_is_still_told_beside_a_fault_that_does_not_explain_it(is_damaged):
    """A tail that stands still moves no contact."""
    start = start_of("pig", "trot", 18)
    rows = start.file.rows.copy()
    if is_damaged:
        columns = channel_columns(start.file, "rotation")
        for name in start.map.tail:
            rows[:, columns[start.file.joint_names.index(name)]] = 5.0
    file = replace(with_rows(start.file, rows), frame_time_s=start.file.frame_time_s / 4.0)
    note, found = rate_note(seen_again(start, file))
    assert "seems to play" in note
    assert ("frozen" in found) == is_damaged
