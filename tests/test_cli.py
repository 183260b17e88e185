"""The command as a user runs it: files, report, exit codes, words."""

import io
import json
import os
import re
import signal
import subprocess
import sys
import time

import numpy as np
import pytest

from gaitgen.commands import run
from gaitgen.formats.bvh_file import world_end_sites, world_positions
from gaitgen.formats.read_bvh import read_bvh

COMMAND = [sys.executable, "-m", "gaitgen"]


def gaitgen(*arguments, **options):
    return subprocess.run(
        [*COMMAND, *arguments], capture_output=True, text=True, timeout=60, check=False, **options
    )


def test_a_walk_writes_two_files_and_says_what_it_made(tmp_path, capsys):
    assert run(["cycle", "walk", "--out", str(tmp_path / "new")]) == 0
    text = capsys.readouterr().out
    for words in (
        "Riding horse",
        "frames 1 to 33",
        "RH           1",
        "hips   4, 20",
        "largest slip",
        "wrote",
    ):
        assert words in text
    names = {path.name for path in (tmp_path / "new").iterdir()}
    assert {"riding_horse_walk_32.bvh", "riding_horse_walk_32.channels.csv"} <= names


def test_columns_of_the_report_do_not_run_together(tmp_path, capsys):
    line = ["cycle", "walk", "--frames", "24", "--reach", "0.3", "--lift", "0.3", "--bounce", "0"]
    assert run([*line, "--out", str(tmp_path), "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert len(facts["hips"]["low_frames"]) > 3, "so that the test is about something"
    assert run([*line, "--out", str(tmp_path)]) == 0
    rows = capsys.readouterr().out.splitlines()
    for end in ("hips", "chest"):
        columns = re.split(r"\s{2,}", next(row for row in rows if f" {end} " in row).split(end)[1].strip())
        assert columns[:2] == [", ".join(map(str, facts[end][key])) for key in ("low_frames", "high_frames")]


def test_the_report_for_programs_has_the_plan(tmp_path, capsys):
    assert (
        run(["cycle", "walk", "--out", str(tmp_path), "--name", "w", "--json", "--animal", "draft_horse"])
        == 0
    )
    facts = json.loads(capsys.readouterr().out)
    assert facts["animal"] == "draft_horse"
    assert [foot["foot"] for foot in facts["feet"]] == ["RH", "RF", "LH", "LF"]
    file = read_bvh((tmp_path / "w.bvh").read_bytes(), "w.bvh")
    joints = world_positions(file)
    hips = joints[:, [file.joint_names.index(f"femur_{side}") for side in "LR"], 1].mean(axis=1)
    low = [frame for frame in range(1, len(hips) - 1) if hips[frame] < min(hips[frame - 1], hips[frame + 1])]
    assert facts["hips"]["low_frames"] == [frame + 1 for frame in low]
    assert low[1] - low[0] == facts["frames"] / 2  # both hind legs carry alike
    assert facts["largest_slip_m"] < 5e-4
    assert facts["speed_m_s"] == pytest.approx(facts["stride_length_m"] / facts["period_s"])
    assert str(tmp_path / "w.bvh") in facts["files"]


@pytest.mark.parametrize("order", ["XYZ", "XZY", "YXZ", "YZX", "ZXY", "ZYX"])
def test_measured_back_from_the_file_the_toes_stay_with_the_belt(tmp_path, capsys, order):
    arguments = ["cycle", "walk", "--out", str(tmp_path), "--name", "w", "--rotation-order", order, "--json"]
    assert run(arguments) == 0
    facts = json.loads(capsys.readouterr().out)
    file = read_bvh((tmp_path / "w.bvh").read_bytes(), "w.bvh")
    ends = world_end_sites(file)
    leaves = [file.joint_names[joint] for joint in file.end_joints]
    toe = ends[:, leaves.index("hind_hoof_R")]
    speed = facts["speed_m_s"] * 100.0 / facts["frame_rate_hz"]  # cm a frame
    down = slice(0, int(facts["feet"][0]["frames_down"]) + 1)
    assert np.abs(toe[down, 1]).max() < 0.05
    belt = toe[0, 2] - speed * np.arange(toe.shape[0])[down]
    assert np.abs(toe[down, 2] - belt).max() < 0.05
    assert np.abs(toe[down, 0] - toe[0, 0]).max() < 0.05


def test_units_axes_and_travel(tmp_path, capsys):
    base = ["cycle", "walk", "--out", str(tmp_path), "--travel", "--strides", "2"]
    assert run([*base, "--name", "cm"]) == 0
    assert run([*base, "--name", "m", "--unit", "m", "--up", "z"]) == 0
    capsys.readouterr()
    cm = read_bvh((tmp_path / "cm.bvh").read_bytes(), "cm").rows
    metres = read_bvh((tmp_path / "m.bvh").read_bytes(), "m").rows
    assert cm.shape[0] == metres.shape[0] == 65
    np.testing.assert_allclose(cm[:, [2, 0, 1]] / 100.0, metres[:, :3], atol=1e-6)
    assert metres[-1, 0] - metres[0, 0] > 3.0


def test_dash_writes_the_motion_to_standard_output():
    done = gaitgen("cycle", "walk", "--out", "-")
    assert done.returncode == 0
    assert read_bvh(done.stdout.encode(), "stdout").rows.shape[0] == 33
    assert "largest slip" in done.stderr


def test_the_same_request_gives_the_same_bytes_in_another_process(tmp_path):
    assert run(["cycle", "walk", "--out", str(tmp_path), "--name", "here"]) == 0
    there = gaitgen(
        "cycle", "walk", "--out", str(tmp_path), "--name", "there", env=dict(os.environ, OMP_NUM_THREADS="1")
    )
    assert there.returncode == 0
    for suffix in (".bvh", ".channels.csv"):
        assert (tmp_path / f"here{suffix}").read_bytes() == (tmp_path / f"there{suffix}").read_bytes()


def test_files_of_a_gait_file_are_named_after_it(tmp_path):
    gait = tmp_path / "easy.toml"
    gait.write_text(
        'name = "easy"\ntitle = "Easy walk"\nlag = 0.22\nduty_factor_range = [0.6, 0.8]\n'
        "froude_limit = 0.35\nleast_frames = 8\n",
        encoding="utf-8",
    )
    assert run(["cycle", str(gait), "--out", str(tmp_path)]) == 0
    assert (tmp_path / "riding_horse_easy_32.bvh").is_file()


def test_animals_lists_what_there_is(capsys):
    assert run(["animals"]) == 0
    assert "draft_horse" in capsys.readouterr().out
    assert run(["animals", "--json"]) == 0
    listed = {each["name"]: each for each in json.loads(capsys.readouterr().out)}
    assert listed["draft_horse"]["withers_height_m"] == 1.75


REFUSED = {
    ("cycle", "wlk"): "unknown gait 'wlk'; did you mean 'walk'",
    ("cycle", "walk", "--animal", "riding_hors"): "did you mean 'riding_horse'",
    ("cycle", "walk", "--animal", "horse"): "did you mean 'draft_horse' or 'riding_horse';",
    ("cycle", "walk", "--animal", "elephant", "--cannon-ratio", "0.2"): "elephant names no cannon bone",
    ("cycle", "walk", "--frames", "7"): "frames is 7; a walk needs at least 8 frames",
    ("cycle", "walk", "--frames", "0"): "frames is 0; give a number from 8 to 2000",
    ("cycle", "walk", "--frames", "-32"): "frames is -32",
    ("cycle", "walk", "--frames", "1000000"): "frames is 1e+06",
    ("cycle", "walk", "--frames", "many"): "--frames",
    ("cycle", "walk", "--fps", "nan"): "frame rate is nan",
    ("cycle", "walk", "--fps", "0"): "frame rate is 0",
    ("cycle", "walk", "--speed", "-1"): "speed is -1",
    ("cycle", "walk", "--speed", "inf"): "speed is inf",
    ("cycle", "walk", "--stride-length", "0"): "stride length is 0",
    ("cycle", "walk", "--frames", "32", "--speed", "2", "--stride-length", "1"): "contradict each other",
    ("cycle", "walk", "--duty-factor", "1.2"): "duty factor is 1.2",
    ("cycle", "walk", "--lag", "1.7"): "lag is 1.7",
    ("cycle", "walk", "--bounce", "nan"): "style factor bounce is nan",
    ("cycle", "walk", "--lift", "0"): "style factor lift is 0",
    ("cycle", "walk", "--strides", "0"): "strides is 0",
    (
        "cycle",
        "walk",
        "--strides",
        "500",
    ): "500 strides of 32 frames make 16000 frames; ask for",
    ("cycle", "walk", "--frames", "58", "--fps", "1"): "one stride would take 58 s; give fewer frames or a",
    (
        "cycle",
        "walk",
        "--frames",
        "9" * 400,
    ): "frames is a number of 400 digits; give a number",
    ("variants", "walk", "--frames", "8", "--workers", "9" * 400): "workers is a number of 400 digits",
    ("preview", "walk", "--port", "9" * 400): "port is a number of 400 digits; give a number from 0 to 65535",
    ("check", "w.bvh", "--ground", "9" * 400): "--ground is inf; give a height below 1e+09, in the file's",
    ("check", "w.bvh", "--ground", "nan"): "--ground is nan",
    ("cycle", "walk", "--withers-height", "0"): "withers_height_m is 0",
    ("cycle", "walk", "--cannon-ratio", "nan"): "cannon_ratio is nan",
    ("cycle", "walk", "--start", "XX"): "--start",
    ("cycle", "walk", "--name", "a/b"): "name is 'a/b'",
    ("cycle", "walk", "--animal", "missing.toml"): "missing.toml is not there",
    ("cycle", "walk", "--nosuch"): "--nosuch",
    ("cycle", "walk", "--animal", "dog", "--animal", "cat"): "--animal is given 2 times; give it once",
    ("sheet", "walk", "--frames", "8", "--out", "a", "--out", "a"): "--out is given 2 times; give it once",
    ("cycle", "run"): "'run' may be any of several gaits; name one of bound, canter, gallop, half_bound,",
    ("stroll",): "stroll",
}


@pytest.mark.parametrize("arguments", REFUSED, ids=" ".join)
def test_bad_requests_are_one_line_exit_2_and_touch_nothing(arguments, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run(list(arguments)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert REFUSED[arguments] in said.err
    assert said.err.startswith("gaitgen: ")
    assert said.err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", [[], ["cycle"], ["carry"]])
def test_h_is_short_for_help(command, capsys):
    said = []
    for word in ("-h", "--help"):
        assert run([*command, word]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
    assert "-h" in said[0]


def test_a_folder_that_is_a_file_leaves_it_as_it_was(tmp_path, capsys):
    file = tmp_path / "out"
    file.write_text("mine")
    assert run(["cycle", "walk", "--out", str(file)]) == 2
    assert "out" in capsys.readouterr().err
    assert file.read_text() == "mine"


def test_an_interrupt_while_writing_leaves_everything_as_it_was(tmp_path, monkeypatch, capsys):
    old = tmp_path / "w.bvh"
    old.write_text("old")

    def stop(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", stop)
    assert run(["cycle", "walk", "--out", str(tmp_path), "--name", "w"]) == 130
    assert "interrupted" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["w.bvh"]
    assert old.read_text() == "old"


def test_a_signal_at_any_moment_leaves_no_half_file(tmp_path):
    old = tmp_path / "w.bvh"
    old.write_text("old")
    long = ["cycle", "walk", "--frames", "2000", "--fps", "120", "--strides", "6", "--out", str(tmp_path)]
    long += ["--name", "w"]
    running = subprocess.Popen([*COMMAND, *long], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(1.5)
    running.send_signal(signal.SIGINT)
    running.wait(timeout=60)
    names = sorted(path.name for path in tmp_path.iterdir() if path.name != ".gaitgen-written")
    assert old.read_text() == "old"
    if len(names) > 1:  # it had finished
        assert names == ["w.2.bvh", "w.2.channels.csv", "w.2.keys.csv", "w.bvh"]


def test_help_is_quick_and_loads_nothing_heavy():
    code = (
        "import sys; from gaitgen.commands import run; run(['cycle', '--help']); "
        "heavy = {'scipy', 'matplotlib', 'trimesh', 'bvhio'} & set(sys.modules); "
        "print('heavy:', sorted(heavy))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert "heavy: []" in done.stdout
    assert "Length of one stride in frames" in done.stdout


@pytest.mark.sample(1)
@pytest.mark.parametrize("gait", ["walk", "gallop"])
def test_a_cycle_loads_no_drawing_and_no_scipy(gait):
    code = (
        f"import sys; from gaitgen import Request, make_cycle; make_cycle(Request(gait='{gait}')); "
        "heavy = {'scipy', 'matplotlib', 'trimesh', 'bvhio', 'typer'} & set(sys.modules); "
        "print(sorted(heavy))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "[]"


def test_five_lines_of_python():
    from gaitgen import Request, Style, make_cycle

    clip = make_cycle(Request(animal="draft_horse", frames=24, style=Style(nod=0.5)))
    assert clip.rotations.shape == (25, len(clip.animal.joint_names), 4)


def test_public_names_exist():
    scope = {}
    exec("from gaitgen import *", scope)  # noqa: S102
    assert {"Request", "make_cycle", "Motion"} <= set(scope)


@pytest.mark.sample(3)
@pytest.mark.parametrize(
    "line", [["join", "walk", "trot"], ["sheet", "walk"], ["variants", "walk", "--frames", "16"]]
)
def test_files_that_go_together_do_not_go_to_standard_output(line, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert run([*line, "--out", "-"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert (
        told.err.splitlines()[-1]
        == "gaitgen: '-' is standard output, where these files cannot go; give a folder"
    )
    assert not list(tmp_path.iterdir())


def test_a_clip_is_read_from_the_standard_input(capsys, monkeypatch):
    assert run(["cycle", "walk", "--animal", "dog", "--out", "-"]) == 0
    found = gaitgen("check", "-", input=capsys.readouterr().out)
    assert found.returncode == 0
    assert found.stdout.startswith("-: frames 1 to ")
    assert "nothing found" in found.stdout
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(b"")))
    assert run(["check", "-"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
