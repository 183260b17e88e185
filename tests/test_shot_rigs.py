"""Shots and joins on a rig: feet that stand, a master that carries the way, files looked up beside."""

import csv
import io
import json
import re
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from make_rigs import UNITS
from make_strange_rigs import FOLDER, strange_plans
from rig_measures import slip_m, tracks_m

from gaitgen.commands import run
from gaitgen.course.stance import stance_state
from gaitgen.edits.rig_shot_edit import relaid_on_rig
from gaitgen.errors import RequestError
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import Request
from gaitgen.motion.measure import time_s
from gaitgen.reading.shot_clip import shot_from_bvh
from gaitgen.reading.shot_way import way_beside
from gaitgen.rigs.command import fit
from gaitgen.rigs.shot import shot_on_rig
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.join import make_join
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import shot_report
from gaitgen.shot.request import shot_of
from gaitgen.shot.seen import plan_of
from gaitgen.shot.shot_file import read_shot

pytestmark = pytest.mark.usefixtures("fits_once")

PLAN = strange_plans()["hound"]
SHOT = """animal = "maps/hound.toml"

[[passage]]
gait = "walk"
strides = 1

[path]
legs = [{ straight = 0.4 }, { turn = 60, radius = 1.5 }]
"""


@pytest.fixture(scope="module")
def hound_map(tmp_path_factory):
    folder = tmp_path_factory.mktemp("hound")
    shutil.copy(FOLDER / "hound.bvh", folder / "hound.bvh")
    fit(folder / "hound.bvh", folder / "hound.toml")
    return folder / "hound.toml"


@cache
def turned(map_path):
    asked = Request(gait="walk", animal=str(map_path))
    request = ShotRequest((Passage(cycle=asked, strides=1),), pieces=((0.4, 0.0), (1.5, 1.0 / 1.5)))
    return shot_on_rig(str(map_path), asked, lambda animal: make_shot(shot_of(request.of(animal))))


def test_planted_toes_of_a_rig_stay_where_they_are(hound_map):
    assert slip_m(PLAN, turned(hound_map).on_rig) < 1e-3
    assert abs(turned(hound_map).made.root_motion()[1][-1]) > np.radians(30.0)


def test_a_master_carries_the_way_and_the_rest_is_below_it(hound_map):
    made = turned(hound_map)
    joints, _ = tracks_m(PLAN, made.on_rig)
    place, _ = made.made.root_motion()
    master = joints[made.on_rig.rig.file.joint_names[0]]
    moved = master - master[0] - (place - place[0])
    assert np.abs(moved).max() < 0.05 * np.ptp(place[:, 0])  # it turns about its own place
    rows = list(csv.DictReader(io.StringIO(made.files(HandOff())[".path.csv"].decode())))
    assert float(rows[-1]["path.heading"]) == pytest.approx(
        np.degrees(made.made.root_motion()[1][-1]), abs=1e-3
    )
    body = joints[made.on_rig.rig.map.body]
    assert np.linalg.norm((body - master)[:, :2] - (body - master)[0, :2], axis=1).max() < 0.3


SCENE = """[[passage]]
gait = "walk"
strides = 2

[path]
points = [[0, 0], [6, 0]]

[ground]
steps = [[0.75, 0.05], [1.6, 0.04], [2.2, -0.06]]

[[mark]]
foot = "RH"
at = [1.25, -0.05]
frame = 55
"""


def test_soles_and_spots_of_a_rig_are_where_its_scene_has_them_as_its_report_measures(tmp_path):
    """The file of a rig need not stand over its origin: its shot was as far from steps and spots as that."""
    lines = (FOLDER / "hound.bvh").read_text(encoding="utf-8").splitlines(keepends=True)
    root = next(row for row, line in enumerate(lines) if line.strip().startswith("OFFSET"))
    indent, *offset = lines[root].partition("OFFSET")[0], *map(float, lines[root].split()[1:])
    offset = np.array(offset) + 14.0 * np.array(PLAN.axes[0])
    lines[root] = f"{indent}OFFSET {offset[0]:.6f} {offset[1]:.6f} {offset[2]:.6f}\n"
    (tmp_path / "hound.bvh").write_text("".join(lines), encoding="utf-8")
    hound_map, file = tmp_path / "hound.toml", tmp_path / "a.toml"
    fit(tmp_path / "hound.bvh", hound_map)
    file.write_text(f'animal = "{hound_map}"\n{SCENE}', encoding="utf-8")
    asked, shots = read_shot(file), []

    def make(animal):
        shots.extend([] if shots else [make_shot(shot_of(asked.of(animal)))])
        return shots[0]  # on the same rig both times

    there, home = (
        shot_on_rig(str(hound_map), asked.first, make, at_home=at_home) for at_home in (False, True)
    )
    assert np.linalg.norm(home.on_rig.rig.home) > 10.0  # centimetres
    lows = []
    for made in (there, home):
        _, toes = tracks_m(PLAN, made.on_rig)
        over = toes[..., 2] - made.made.ground.height_m(toes[..., :2])
        state = stance_state(made.made.clip.steps, time_s(made.made.clip))
        lows.append(float(over[state.planted].min()))
        assert made.lowest_sole_m == pytest.approx(lows[-1], abs=1.5e-3)
    assert lows[0] > -1e-3
    assert lows[1] < -0.03
    _, toes = tracks_m(PLAN, there.on_rig)
    (told,) = shot_report(there.made).marks
    assert told.is_down
    assert np.hypot(*(toes[54, 3, :2] - told.place_m)) < 1e-3
    place, _ = there.made.root_motion()
    rows = list(csv.DictReader(io.StringIO(there.files(HandOff())[".path.csv"].decode())))
    way = np.array([[float(row[f"path.{word}position"]) for word in "XYZ"] for row in rows])
    turn = np.array(PLAN.axes, dtype=float).T * UNITS[PLAN.unit]
    np.testing.assert_allclose(way @ turn, place, atol=1e-5)


def test_a_join_on_a_rig_is_a_join(hound_map):
    asked = Request(animal=str(hound_map))
    made = shot_on_rig(
        str(hound_map), asked, lambda animal: make_join("walk", "trot", Request(animal=animal))
    )
    assert slip_m(PLAN, made.on_rig) < 1e-3
    with pytest.raises(RequestError, match="has its own proportions"):
        shot_on_rig(
            str(hound_map), Request(animal=str(hound_map), proportions=_taller()), lambda _: made.made
        )


def _taller():
    from gaitgen.animal.proportions import Proportions

    return Proportions(withers_height_m=0.7)


def test_files_are_looked_up_beside_the_shot_file_and_then_here(hound_map, tmp_path, monkeypatch):
    there, here = tmp_path / "there", tmp_path / "here"
    (there / "maps").mkdir(parents=True)
    here.mkdir()
    (there / "a.toml").write_text(SHOT, encoding="utf-8")
    monkeypatch.chdir(here)
    with pytest.raises(
        RequestError, match=r"line 1: .*there is no file .*there.* or maps.hound\.toml; give one"
    ):
        read_shot(there / "a.toml")
    (here / "maps").mkdir()
    shutil.copy(hound_map, here / "maps" / "hound.toml")
    assert read_shot(there / "a.toml").first.animal == str(Path("maps") / "hound.toml")
    shutil.copy(hound_map, there / "maps" / "hound.toml")
    assert read_shot(there / "a.toml").first.animal == str(there / "maps" / "hound.toml")


def _edited(folder, made, changes, up=0.0):
    """Write a shot on a rig with its body and angles, {joint: (frame, degrees)}, changed by hand."""
    data, rig = made.on_rig.bvh(), made.on_rig.rig
    file = read_bvh(data, "a")
    rows = np.array(file.rows)
    for name, (frame, degrees) in changes.items():
        column = channel_columns(file, "rotation")[file.joint_names.index(name)][0]
        rows[:, column] += degrees * np.exp(-(((np.arange(len(rows)) - frame + 1) / 8.0) ** 2))
    words = [word for each in file.channels for word in each]
    rows[:, [k for k in channel_columns(file, "position")[rig.body] if words[k] == "Yposition"]] += up
    lines = [" ".join(f"{value:.6f}" for value in row) for row in rows]
    path = folder / "edited.bvh"
    head = data.split(b"Frame Time")[0] + b"Frame Time: 0.04166667\n"
    path.write_bytes(head + "\n".join(lines).encode() + b"\n")
    return path


@pytest.fixture(scope="module")
def bent(hound_map):
    """The shot of `turned` along a bend to the right that comes earlier."""
    asked = Request(gait="walk", animal=str(hound_map))
    request = ShotRequest((Passage(cycle=asked, strides=1),), pieces=((0.2, 0.0), (1.6, -1.0 / 2.0)))
    return shot_on_rig(str(hound_map), asked, lambda animal: make_shot(shot_of(request.of(animal))))


def test_a_clip_on_a_rig_that_no_hand_changed_is_the_shot_along_the_other_path(hound_map, bent, tmp_path):
    laid = relaid_on_rig(_edited(tmp_path, turned(hound_map), {}), turned(hound_map), bent)
    assert laid.told.joints == ()
    assert laid.told.prints == ()
    assert "nothing was changed by hand" in laid.told.text()
    motion, plain = laid.shot.on_rig.motion, bent.on_rig.motion
    assert np.abs(motion.root_m - plain.root_m).max() < 1e-5
    assert np.degrees(np.abs(motion.changes - plain.changes).max()) < 0.02


def test_what_a_hand_changed_in_a_shot_on_a_rig_goes_along_another_path(hound_map, bent, tmp_path):
    """A neck and a foreleg that turn, a body that is lowered, with feet that stand; told joint by joint."""
    rig = bent.on_rig.rig
    neck, fore = rig.map.neck[0], rig.map.limbs["LF"].joints[1]
    edited = _edited(tmp_path, turned(hound_map), {neck: (40, 12.0), fore: (40, 9.0)}, up=-0.3)
    laid = relaid_on_rig(edited, turned(hound_map), bent)
    assert slip_m(PLAN, laid.shot.on_rig) < 1e-3
    told = {each.joint: each for each in laid.told.joints}
    assert told[neck].changed_deg == pytest.approx(12.0, abs=0.05)
    assert told[neck].carried_deg == pytest.approx(12.0, abs=0.05)
    assert told[neck].carried_at == 40
    assert told[fore].changed_deg == pytest.approx(9.0, abs=0.05)
    lowered = 0.3 * rig.metres_per_unit
    assert laid.told.root_moved_m == pytest.approx(lowered, abs=1e-4)
    assert laid.told.root_carried_m == pytest.approx(lowered, abs=2e-3)
    turn = np.swapaxes(bent.on_rig.motion.changes[39, 0], -1, -2) @ laid.shot.on_rig.motion.changes[39, 0]
    assert np.degrees(np.abs(turn - np.eye(3)).max()) < 0.1


@pytest.mark.thorough
def test_the_command_lays_an_edited_clip_on_a_rig_along_another_path(hound_map, tmp_path, capsys):
    file = tmp_path / "a.toml"
    file.write_text(SHOT.replace("maps/hound.toml", str(hound_map)), encoding="utf-8")
    asked = read_shot(file)
    plain = shot_on_rig(str(hound_map), asked.first, lambda animal: make_shot(shot_of(asked.of(animal))))
    edited = _edited(tmp_path, plain, {plain.on_rig.rig.map.neck[0]: (40, 12.0)})
    other = tmp_path / "curve.csv"
    other.write_text("x,y\n0,0\n1,0\n2,-0.3\n3,-1\n", encoding="utf-8")
    words = ["shot", str(file), "--path", str(other), "--edited", str(edited), "--out", str(tmp_path / "b")]
    assert run([*words, "--no-keys", "--strip", str(tmp_path / "b" / "a.png")]) == 0
    said = capsys.readouterr().out
    assert "what was changed by hand, and what of it is in this shot" in said
    assert re.search(r"12\.0 +40 +12\.0 +40\n", said)
    assert run([*words, "--no-keys", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["edit"]["joints"]) == 1


@pytest.mark.thorough
def test_a_refined_shot_on_a_rig_is_drawn_as_it_is(hound_map, tmp_path, capsys, monkeypatch):
    """Its own root, way and prints; a head that a hand lowered is lower; one stride of it is refused."""
    made, clip = turned(hound_map), tmp_path / "a.bvh"
    for end, data in made.files(HandOff(keys=False)).items():
        clip.with_name(f"a{end}").write_bytes(data)
    found, plan = shot_from_bvh(clip, way_beside(clip), str(hound_map)), plan_of(made.made)
    for mine, asked in ((found.still, plan.still), (found.clip, plan.clip)):
        np.testing.assert_allclose(mine.root_path_m, asked.root_path_m, atol=5e-3)
    np.testing.assert_allclose(found.terrain.heading_rad, plan.terrain.heading_rad, atol=1e-6)
    near = np.linalg.norm(found.clip.steps.place_m[:, None] - plan.clip.steps.place_m, axis=-1).min(axis=1)
    assert np.sort(near)[-2] < 1e-3  # two prints 24 mm apart are found as one
    file = read_bvh(clip.read_bytes(), "a")
    column = channel_columns(file, "rotation")[file.joint_names.index(made.on_rig.rig.map.neck[0])][0]
    lines = clip.read_text().splitlines()
    words = lines[-60].split()
    lines[-60] = " ".join([*words[:column], f"{float(words[column]) + 20.0:.6f}", *words[column + 1 :]])
    clip.write_text("\n".join(lines) + "\n")
    turns = shot_from_bvh(clip, way_beside(clip), str(hound_map)).clip.rotations
    changed = np.abs(turns - found.clip.rotations).max(axis=(1, 2)) > 1e-3
    assert np.flatnonzero(changed).tolist() == [len(turns) - 60]
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)
    words = [str(clip), "--animal", str(hound_map), "--out"]
    assert run(["sheet", *words, str(tmp_path / "s.pdf")]) == 0
    capsys.readouterr()
    assert run(["plot", *words, str(tmp_path / "p.svg")]) == 2
    assert "is the clip of a shot, and this shows one stride" in capsys.readouterr().err


@pytest.mark.thorough
def test_commands_take_a_map(hound_map, tmp_path, capsys):
    file = tmp_path / "a.toml"
    file.write_text(SHOT.replace('animal = "maps/hound.toml"', 'animal = "dog"'), encoding="utf-8")
    words = ["shot", str(file), "--map", str(hound_map), "--out", str(tmp_path), "--no-keys"]
    assert run(words) == 0, capsys.readouterr().err
    assert (tmp_path / "a.bvh").read_bytes().startswith((FOLDER / "hound.bvh").read_bytes()[:200])
    assert (tmp_path / "a.path.csv").is_file()
    assert run([*words, "--unit", "m"]) == 2
    assert "own unit" in capsys.readouterr().err
