"""An edit of keys that was baked is told by the joints whose keys were edited."""

import csv
import json

import pytest

from gaitgen.commands import run


def edited(folder, edits):
    """Make a walk, add degrees to keys of some channels, and play them."""
    assert run(["cycle", "walk", "--frames", "24", "--out", str(folder), "--name", "walk"]) == 0
    keys = folder / "walk.keys.csv"
    rows = list(csv.DictReader(keys.read_text().splitlines()))
    for row in rows:
        row["value"] = str(float(row["value"]) + edits.get(row["channel"], 0.0))
    with keys.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    assert run(["bake", str(keys)]) == 0
    return folder / "walk.bvh"


def carried(clip, folder, capsys):
    capsys.readouterr()
    asked = ["carry", str(clip), "--frames", "32", "--out", str(folder), "--name", "carried"]
    assert run([*asked, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert run(asked) == 0
    return [joint["joint"] for joint in told["joints"]], capsys.readouterr().out


def test_only_joints_whose_keys_were_edited_are_told(tmp_path, capsys):
    clip = edited(tmp_path, {"neck_2.Xrotation": 6.0, "tail_2.Zrotation": 4.0})
    joints, said = carried(clip, tmp_path, capsys)
    assert joints == ["tail_2", "neck_2"]
    assert "joints by up to 0.4, as a clip is off that is played from its keys" in said


@pytest.mark.parametrize("degrees", [0.3, 6.0])
def test_a_small_change_of_a_clip_that_no_keys_were_played_on_is_told(degrees, tmp_path, capsys):
    assert run(["cycle", "walk", "--frames", "24", "--out", str(tmp_path), "--name", "walk"]) == 0
    clip = tmp_path / "walk.bvh"
    head, _, motion = clip.read_text().partition("Frame Time")
    names = [line.split()[1] for line in head.splitlines() if line.strip().startswith(("ROOT", "JOINT"))]
    column = 3 + 3 * names.index("neck_2") + 1
    first, *rows = motion.splitlines()
    table = [row.split() for row in rows]
    for row in table:
        row[column] = str(float(row[column]) + degrees)
    clip.write_text(head + "Frame Time" + "\n".join([first, *map(" ".join, table)]) + "\n")
    joints, said = carried(clip, tmp_path, capsys)
    assert joints == ["neck_2"]
    assert "played from its keys" not in said
