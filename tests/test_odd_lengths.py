"""A plan of odd length: sheet, page and keys say the same frames, and so does the report."""

import csv

import pytest

from gaitgen.commands import run
from gaitgen.course.cycle import cycle_timing
from gaitgen.gait.gait import LIMBS
from gaitgen.page.clip_data import clip_data
from gaitgen.pictures.key_figures import key_figures
from gaitgen.pipeline import Request, make_cycle


@pytest.mark.parametrize("frames", [17, 25, 31])
def test_sheet_page_and_keys_say_the_same_frames(frames, tmp_path, capsys):
    clip = make_cycle(Request(frames=frames))
    sheet = {(float(key.frame), key.name) for key in key_figures(clip)}
    page = {(float(key["frame"]), key["name"]) for key in clip_data(clip, "walk")["key_poses"]}
    assert run(["cycle", "walk", "--frames", str(frames), "--out", str(tmp_path), "--name", "odd"]) == 0
    with (tmp_path / "odd.keys.csv").open(encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["pose"]]
    keys = {(float(row["frame"]), row["pose"]) for row in rows}
    assert sheet == page == keys
    said = capsys.readouterr().out
    for frame, name in sheet:
        if name.endswith("contact") and frame <= frames:
            foot = name.split()[0]
            line = next(each for each in said.splitlines() if each.strip().startswith(foot))
            assert int(line.split()[1]) == frame


def _both_down_frames(clip, foot, mate):
    """How long both feet of a pair are down after the mate has landed. [frames]"""
    steps, rows = clip.steps, list(clip.steps.limb)
    leaves = steps.liftoff_s[rows.index(LIMBS.index(foot))]
    lands = steps.touchdown_s[rows.index(LIMBS.index(mate))]
    return round(float(leaves - lands) * clip.frame_rate_hz, 6) % clip.facts.frames


@pytest.mark.sample(4)
@pytest.mark.parametrize("frames", [23, 25, 29, 31, 33, 47])
@pytest.mark.parametrize("animal", ["riding_horse", "draft_horse", "dog", "cat"])
def test_a_walk_of_odd_length_is_as_long_on_both_feet_either_way(animal, frames):
    """One step is a frame longer than the other; the stance that goes with it is too (symmetry, derived)."""
    clip = make_cycle(Request(animal=animal, frames=frames))
    for foot, mate in (("LF", "RF"), ("LH", "RH")):
        one, other = _both_down_frames(clip, foot, mate), _both_down_frames(clip, mate, foot)
        assert one == other
        assert one >= 1.0


def test_feet_that_are_asked_to_stand_unlike_stand_as_asked():
    """To the nearest frame, as a lame one has to: only what is asked for alike is evened out."""
    beats = (0.25, 0.75, 0.0, 0.5)
    timing = cycle_timing(25, 0.65, beats, down_factor=(0.9, 1.1, 1.0, 1.0))
    assert timing.down[:2] == (15.0, 18.0)  # of 14.6 and 17.9
    assert sorted(timing.down[2:]) == [
        16.0,
        17.0,
    ]  # of 16.25, and a step of 12 frames beside one of 13
