"""Shots and joins on a rig: feet that stand, a master that carries the way, files looked up beside."""

import csv
import io
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from make_strange_rigs import FOLDER, strange_plans
from rig_measures import slip_m, tracks_m

from gaitgen.commands import run
from gaitgen.errors import RequestError
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.formats.wanted import HandOff
from gaitgen.gait.request import Request
from gaitgen.reading.shot_clip import shot_from_bvh, way_beside
from gaitgen.rigs.command import fit
from gaitgen.rigs.shot import shot_on_rig
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.join import make_join
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of
from gaitgen.shot.seen import plan_of
from gaitgen.shot.shot_file import read_shot

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
