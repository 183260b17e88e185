"""Keys come back: baked, they are the clip within what its report says; what is wrong is one line."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from splines import hermite

from gaitgen.check.check import check
from gaitgen.check.load import load_motion
from gaitgen.check.look import see
from gaitgen.commands import run
from gaitgen.edits.bake import bake, channel_names
from gaitgen.formats.bvh_file import world_end_sites
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.read_keys import read_keys
from gaitgen.formats.record import KEYS, read_record

pytestmark = pytest.mark.usefixtures("fits_once")

HEAD = "channel,frame,value,tangent_in,tangent_out,pose\n"


def made(folder, *options):
    assert run(["cycle", "walk", "--frames", "24", "--out", str(folder), "--name", "w", *options]) == 0
    return folder / "w.keys.csv"


def rows_of(path):
    file = read_bvh(path.read_bytes(), path.name)
    return channel_names(file), file


@pytest.mark.sample(1, 1)
@pytest.mark.parametrize("options", [(), ("--sparse",), ("--unit", "m", "--up", "z", "--travel")])
def test_unedited_keys_give_the_clip_within_the_deviation(options, tmp_path):
    keys = made(tmp_path, *options)
    names, before = rows_of(tmp_path / "w.bvh")
    channels = (tmp_path / "w.channels.csv").read_text().splitlines()
    assert run(["bake", str(keys)]) == 0
    again, after = rows_of(tmp_path / "w.bvh")
    assert again == names
    length = 0.003 if "m" in options else 0.3
    allowed = np.array([length if name.endswith("position") else 0.5 for name in names])
    assert np.all(np.abs(after.rows - before.rows).max(axis=0) <= allowed + 1e-6)
    assert (after.joint_names, after.frame_time_s) == (before.joint_names, before.frame_time_s)
    np.testing.assert_array_equal(after.offsets, before.offsets)
    baked = (tmp_path / "w.channels.csv").read_text().splitlines()
    assert baked[0] == channels[0]
    assert [line.split(",")[:2] for line in baked] == [line.split(",")[:2] for line in channels]
    np.testing.assert_allclose(np.loadtxt(baked[1:], delimiter=",")[:, 2:], after.rows, atol=1e-9)
    feet = [before.end_joints.tolist().index(before.joint_names.index(f"fore_hoof_{s}")) for s in "LR"]
    moved = np.linalg.norm(world_end_sites(after)[:, feet] - world_end_sites(before)[:, feet], axis=2)
    assert moved.max() < 40.0 * length  # swinging feet; planted ones are held by the keys


def test_baked_curves_are_those_of_an_independent_library(tmp_path):
    keys = made(tmp_path)
    rows = {}
    for row in csv.DictReader(keys.read_text().splitlines()):
        numbers = [float(row[c]) for c in ("frame", "value", "tangent_in", "tangent_out")]
        rows.setdefault(row["channel"], []).append(numbers)
    table = bake(keys).files[".channels.csv"].decode().splitlines()
    head = table[0].split(",")[2:]
    values = np.loadtxt(table[1:], delimiter=",")[:, 2:]
    for k, name in enumerate(head):
        np.testing.assert_allclose(
            values[:, k], hermite(*np.array(rows[name]).T)(np.arange(1, 26)), atol=2e-6
        )


def test_control_keys_come_back_too(tmp_path):
    keys = made(tmp_path, "--controls")
    before = (tmp_path / "w.controls.csv").read_text().splitlines()
    assert run(["bake", str(tmp_path / "w.controls.keys.csv")]) == 0
    after = (tmp_path / "w.controls.csv").read_text().splitlines()
    assert after[0] == before[0]
    old, new = (np.loadtxt(lines[1:], delimiter=",") for lines in (before, after))
    planted = [k for k, name in enumerate(before[0].split(",")) if name.endswith("planted")]
    np.testing.assert_array_equal(new[:, planted], old[:, planted])
    assert np.abs(new - old).max() <= 0.5 + 1e-6
    assert keys.is_file()


def test_an_edited_key_is_in_the_clip_and_the_edit_is_never_lost(tmp_path, capsys):
    keys = made(tmp_path)
    lines = keys.read_text().splitlines()
    k = next(k for k, line in enumerate(lines) if line.startswith("head.Xrotation,13,"))
    parts = lines[k].split(",")
    value = float(parts[2]) + 8.0
    lines[k] = ",".join([*parts[:2], f"{value:.6f}", *parts[3:]])
    keys.write_text("\n".join(lines) + "\n")
    edited = keys.read_bytes()
    capsys.readouterr()
    assert run(["bake", str(keys)]) == 0
    said = capsys.readouterr().out
    assert "head.Xrotation" in said
    assert " at 13" in said
    names, file = rows_of(tmp_path / "w.bvh")
    assert file.rows[12, names.index("head.Xrotation")] == pytest.approx(value, abs=1e-6)
    assert read_record(tmp_path)["w.bvh"][1] == KEYS
    baked = (tmp_path / "w.bvh").read_bytes()
    made(tmp_path)  # the request again: the set with the edited keys is kept
    assert keys.read_bytes() == edited
    assert (tmp_path / "w.bvh").read_bytes() == baked
    assert (tmp_path / "w.2.bvh").is_file()
    (tmp_path / "w.bvh").write_bytes(baked + b"\n")
    assert run(["bake", str(keys)]) == 0
    assert (tmp_path / "w.bvh").read_bytes() == baked + b"\n"
    assert (tmp_path / "w.3.bvh").read_bytes() == baked


def test_keys_between_frames_a_longer_clip_and_channels_without_keys(tmp_path):
    made(tmp_path)
    table = HEAD + "head.Xrotation,1,0,0,0,\nhead.Xrotation,10.5,10,0,0,\nhead.Xrotation,40,0,0,0,\n"
    (tmp_path / "w.keys.csv").write_text("\ufeff" + table.replace("\n", "\r\n"), encoding="utf-8")
    out = bake(tmp_path / "w.keys.csv")
    file = read_bvh(out.files[".bvh"], "w.bvh")
    names, before = rows_of(tmp_path / "w.bvh")
    assert len(file.rows) == out.frames == 40
    head = names.index("head.Xrotation")
    want = hermite([1, 10.5, 40], [0, 10, 0], [0] * 3, [0] * 3)(np.arange(1, 41))
    np.testing.assert_allclose(file.rows[:, head], want, atol=1e-6)
    others = np.delete(np.arange(len(names)), head)
    np.testing.assert_allclose(file.rows[:, others], np.tile(before.rows[0, others], (40, 1)), atol=1e-6)
    assert "without a key" in out.notices[0].text


@pytest.mark.thorough
def test_a_rig_keeps_its_own_joints(tmp_path):
    rig = Path(__file__).parent / "rigs" / "mixed_orders.bvh"
    assert run(["fit", str(rig), "--map", str(tmp_path / "m.toml")]) == 0
    line = ["cycle", "walk", "--animal", str(tmp_path / "m.toml"), "--frames", "16", "--out", str(tmp_path)]
    assert run([*line, "--name", "w"]) == 0
    _, before = rows_of(tmp_path / "w.bvh")
    assert run(["bake", str(tmp_path / "w.keys.csv"), "--name", "again"]) == 0
    _, after = rows_of(tmp_path / "again.bvh")
    assert np.abs(replace(after, rows=after.rows - before.rows).rows).max() <= 0.5 + 1e-6
    head = (tmp_path / "w.bvh").read_bytes().split(b"MOTION")[0]
    assert (tmp_path / "again.bvh").read_bytes().startswith(head)


WRONG = {
    "": "line 2: there is no key",
    "head.Xrotation,1,x,0,0,\n": "line 2: value is 'x'; write a finite number",
    "head.Xrotation,1,nan,0,0,\n": "value is 'nan'; write a finite number",
    "head.Xrotation,1,1e12,0,0,\n": "value is '1e12'; write a finite number below 1e+09",
    "head.Xrotation,1,0,,0,\n": "tangent_in is ''; write a finite number",
    "head.Xrotation,0,0,0,0,\n": "frame is 0; frames count from 1",
    "head.Xrotation,9999999,0,0,0,\n": "frame is 1e+07; frames count from 1 to 1000000",
    "head.Xrotation,1,0,0,0,\nhead.Xrotation,1,0,0,0,\n": "line 3: 'head.Xrotation' has two keys in frame 1",
    "head.Xrotation,1\n": "line 2: the row has 2 columns",
    ",1,0,0,0,\n": "line 2: the row names no channel",
    "wing.Xrotation,1,0,0,0,\nwing.Yrotation,2,0,0,0,\n": "'wing.Xrotation' and 1 more channels, which",
    "head.Xrotation,1,0,0,0,\n": "the last key is in frame 1; give keys over two frames",
    'head.Xrotation,1,0,0,0,"a" b\n': "the row is no row of comma-separated values",
}


@pytest.mark.parametrize("rows", WRONG)
def test_foreign_keys_that_are_wrong_are_one_line(rows, tmp_path, capsys):
    keys = made(tmp_path)
    before = (tmp_path / "w.bvh").read_bytes()
    keys.write_text(HEAD + rows)
    capsys.readouterr()
    assert run(["bake", str(keys)]) == 2
    said = capsys.readouterr().err
    assert WRONG[rows] in said
    assert said.count("\n") == 1
    assert (tmp_path / "w.bvh").read_bytes() == before


def test_files_that_are_not_there_or_no_keys_are_one_line(tmp_path, capsys):
    (tmp_path / "w.keys.csv").write_text(HEAD.replace("tangent_in", "slope"))
    cases = {
        str(tmp_path / "w.csv"): "does not end in .keys.csv; give the keys of a clip",
        str(tmp_path / "w.keys.csv"): "there is no such file; it should be the BVH that says the joints",
        str(tmp_path / "v.keys.csv"): "v.keys.csv': there is no such file; it should be the keys",
    }
    for path, told in cases.items():
        assert run(["bake", path]) == 2
        said = capsys.readouterr().err
        assert told in said
        assert said.count("\n") == 1
    for data, told in {
        HEAD.replace("tangent_in", "slope").encode(): "line 1: the first line lacks tangent_in",
        HEAD.encode() + b"\xff": "line 2: byte 0xff is not text",
        b"frame," + HEAD.encode(): "has frame twice",
        HEAD.replace(
            ",", ";"
        ).encode(): "line 1: the columns are separated by semicolons; save the table with",
        HEAD.replace(",", "\t").encode(): "line 1: the columns are separated by tabs; save the table with",
        HEAD.replace(",", ";").replace("value", "x").encode(): "line 1: the first line lacks channel, frame",
    }.items():
        with pytest.raises(Exception, match=told):
            read_keys(data, "w.keys.csv")


def test_columns_in_another_order_and_others_beside_them():
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["note", "tangent_out", "tangent_in", "value", "frame", "channel"])
    writer.writerow(["two\nlines", "2", "1", "5", "3", "a"])
    writer.writerow(["", "0", "0", "1", "1", "a"])
    (curve,) = read_keys(text.getvalue().encode(), "x").values()
    np.testing.assert_array_equal(curve.frame, [1, 3])
    np.testing.assert_array_equal(curve.tangent_out, [0, 2])


@pytest.mark.sample(1, 0)
@pytest.mark.parametrize("pair", [("halt", "walk"), ("walk", "halt")])
def test_nothing_is_found_in_a_join_of_a_small_animal_that_is_baked_from_its_keys(pair, tmp_path):
    """Its first step is short, and low, and toes no longer keep exactly to their places."""
    assert run(["join", *pair, "--animal", "pig", "--out", str(tmp_path), "--name", "j"]) == 0
    before = (tmp_path / "j.bvh").read_bytes()
    assert run(["bake", str(tmp_path / "j.keys.csv")]) == 0
    assert (tmp_path / "j.bvh").read_bytes() != before
    motion, limits = load_motion(tmp_path / "j.bvh", None, "pig")
    assert check(see(motion, limits)) == []
