"""A plan of odd length: sheet, page and keys say the same frames, and so does the report."""

import csv

import pytest

from gaitgen.commands import run
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
