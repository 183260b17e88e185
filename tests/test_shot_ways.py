"""Ways of shots that are exchanged, and cycles of passages beside the shot."""

import json
from dataclasses import replace

import numpy as np
import pytest

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.edits.shot_edit import relaid
from gaitgen.errors import FileFormatError, RequestError
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.bvh_file import world_positions
from gaitgen.formats.read_bvh import read_bvh
from gaitgen.motion.measure import slip_m, time_s
from gaitgen.numerics.rotations import axis_angle_matrix, matrix_from_quaternion, quaternion_from_matrix
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.curve_file import read_curve
from gaitgen.shot.make import make_shot
from gaitgen.shot.report import lowest_sole_m
from gaitgen.shot.request import shot_of
from gaitgen.shot.way import along_curve
from gaitgen.shot.way_file import curve_way

PASSAGES = tuple(Passage(cycle=Request(gait=gait, animal="dog"), strides=3) for gait in ("walk", "trot"))
FILE = 'animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 2\n[[passage]]\ngait = "trot"\nstrides = 3\n'


def arc_m(radius_m=4.0, turn_rad=1.5, count=40):
    angle = np.linspace(0.0, turn_rad, count)
    return np.stack([radius_m * np.sin(angle), radius_m * (1.0 - np.cos(angle))], axis=1)


def curve(tmp_path, points, name="curve.csv"):
    path = tmp_path / name
    path.write_text("x,y\n" + "".join(f"{x:.6f},{y:.6f}\n" for x, y in points), encoding="utf-8")
    return path


def test_a_way_along_a_curve_is_the_curve(tmp_path):
    pieces, start, heading = curve_way(curve(tmp_path, arc_m() + np.array([2.0, 1.0])))
    assert start == (2.0, 1.0)
    assert heading == pytest.approx(0.0, abs=0.03)
    assert sum(length for length, _ in pieces) == pytest.approx(6.0, abs=0.01)
    assert sum(length * bend for length, bend in pieces) == pytest.approx(1.5, abs=0.05)
    assert np.median([bend for _, bend in pieces]) == pytest.approx(0.25, abs=0.005)


def test_a_straight_line_of_many_points_is_one_that_does_not_bend():
    pieces, _ = along_curve(np.stack([np.linspace(0.0, 5.0, 200), np.zeros(200)], axis=1))
    assert max(abs(bend) for _, bend in pieces) < 1e-9


@pytest.fixture(scope="module")
def straight_and_bent(tmp_path_factory):
    folder = tmp_path_factory.mktemp("edited")
    straight = ShotRequest(PASSAGES)
    bent = straight.along(*curve_way(curve(folder, arc_m(8.0, 1.0))))
    return folder, *(make_shot(shot_of(each)) for each in (straight, bent))


def test_the_same_shot_along_another_path_keeps_its_feet_planted_and_its_strides(straight_and_bent):
    _, first, second = straight_and_bent
    assert slip_m(second.clip) < 1e-3
    assert np.degrees(second.root_motion()[1][-1]) == pytest.approx(np.degrees(1.0), abs=3.0)
    for each in ("limb", "touchdown_s", "liftoff_s"):
        np.testing.assert_allclose(getattr(first.clip.steps, each), getattr(second.clip.steps, each))


@pytest.mark.thorough
def test_the_command_takes_another_path_and_writes_cycles_beside(tmp_path, capsys):
    file = tmp_path / "a.toml"
    file.write_text(FILE, encoding="utf-8")
    words = ["shot", str(file), "--out", str(tmp_path), "--no-keys"]
    assert run([*words, "--path", str(curve(tmp_path, arc_m(8.0, 0.9))), "--name", "bent", "--cycles"]) == 0
    assert "turning" in capsys.readouterr().out
    names = {path.name for path in tmp_path.glob("*.bvh")}
    assert names == {"bent.bvh", "bent_1_walk.bvh", "bent_2_trot.bvh"}
    assert run([*words, "--path", str(tmp_path / "bent.path.csv"), "--name", "again"]) == 0
    first, again = (
        world_positions(read_bvh((tmp_path / f"{name}.bvh").read_bytes(), name)) for name in ("bent", "again")
    )
    assert np.abs(first[:, 0] - again[:, 0]).max() < 10.0  # centimetres: bends are softened once more


def written(folder, clip):
    file = folder / "edited.bvh"
    file.write_bytes(bvh.encode(clip, FileSpace()))
    return file


def test_a_clip_that_no_hand_changed_is_the_shot_along_the_other_path(straight_and_bent):
    folder, straight, bent = straight_and_bent
    again = relaid(written(folder, straight.clip), straight, bent).made.clip
    assert np.abs(again.root_path_m - bent.clip.root_path_m).max() < 1e-5
    local, plain = (matrix_from_quaternion(each.rotations) for each in (again, bent.clip))
    assert np.degrees(np.abs(local - plain).max()) < 0.02
    assert not set(again.notices) - set(bent.clip.notices)


def test_what_a_hand_changed_goes_along_another_path_with_feet_planted(straight_and_bent):
    """A head that looks aside, a body that dips and sways, a foreleg that turns as it stands and swings."""
    folder, straight, bent = straight_and_bent
    clip, animal = straight.clip, straight.clip.animal
    local, root = matrix_from_quaternion(clip.rotations), clip.root_path_m.copy()
    row = np.arange(len(root))
    bump = np.exp(-(((row - 60.0) / 12.0) ** 2))
    head = animal.head
    local[:, head] = local[:, head] @ axis_angle_matrix("Z", 0.4 * bump)
    root[:, 2] -= 0.02 * bump
    root[:, 1] += 0.015 * bump
    steps = clip.steps
    limb = animal.limb("fore", "L").joints[1]
    local[:, limb] = local[:, limb] @ axis_angle_matrix("Y", 0.15 * bump)
    edited = replace(clip, root_path_m=root, rotations=quaternion_from_matrix(local))
    laid = relaid(written(folder, edited), straight, bent)
    again = laid.made
    assert slip_m(again.clip) < 1e-3
    assert lowest_sole_m(again) > -1e-3
    np.testing.assert_allclose(again.clip.steps.touchdown_s, steps.touchdown_s)
    turn = np.swapaxes(matrix_from_quaternion(bent.clip.rotations)[:, head], -1, -2)
    turn = turn @ matrix_from_quaternion(again.clip.rotations)[:, head]
    assert np.arctan2(turn[:, 1, 0], turn[:, 0, 0]) == pytest.approx(0.4 * bump, abs=1e-3)
    moved = again.clip.root_path_m - bent.clip.root_path_m
    heading = bent.root_motion()[1]
    left = np.sum(moved[:, :2] * np.stack([-np.sin(heading), np.cos(heading)], axis=1), axis=1)
    assert left == pytest.approx(0.015 * bump, abs=1e-4)
    assert moved[:, 2] == pytest.approx(-0.02 * bump, abs=1e-4)
    told = {each.joint: each for each in laid.told.joints}
    assert set(told) >= {animal.joint_names[head], animal.joint_names[limb]}
    assert told[animal.joint_names[head]].changed_deg == pytest.approx(np.degrees(0.4), abs=0.05)
    assert told[animal.joint_names[head]].carried_deg == pytest.approx(np.degrees(0.4), abs=0.05)
    assert told[animal.joint_names[head]].carried_at == 61
    assert laid.told.root_carried_m == pytest.approx(0.025, abs=1e-4)
    assert (laid.told.trunk_share, laid.told.limb_share) == (1.0, 1.0)


def test_prints_that_a_hand_moved_are_moved_along_another_path_too(straight_and_bent):
    folder, straight, bent = straight_and_bent
    aside = replace(straight.clip, root_path_m=straight.clip.root_path_m + np.array([0.0, 0.05, 0.0]))
    laid = relaid(written(folder, aside), straight, bent)
    again = laid.made
    assert slip_m(again.clip) < 1e-3
    whole = bent.clip.steps.touchdown_s > 0.0
    moved = np.linalg.norm((again.clip.steps.place_m - bent.clip.steps.place_m)[whole, :2], axis=1)
    within = bent.clip.steps.liftoff_s[whole] < time_s(bent.clip)[-1]
    assert moved[within] == pytest.approx(0.05, abs=1e-3)
    assert len(laid.told.prints) >= within.sum()
    assert "LF 50 mm at frame" in laid.told.text()


def test_an_edited_clip_is_refused_along_a_path_or_of_a_shot_that_it_is_not_of(straight_and_bent):
    folder, straight, bent = straight_and_bent
    other = make_shot(shot_of(ShotRequest(PASSAGES[:1])))
    with pytest.raises(RequestError, match="frames, and the shot of this file"):
        relaid(written(folder, other.clip), straight, bent)
    with pytest.raises(RequestError, match="feet land at other moments"):
        relaid(written(folder, straight.clip), straight, other)


@pytest.mark.parametrize("mistake", ["backward", "swapped", "other"])
def test_an_edited_clip_that_no_hand_made_so_is_refused_with_what_to_do(mistake, straight_and_bent):
    """Played backward, with hind legs swapped, or another clip of as many frames."""
    folder, straight, bent = straight_and_bent
    clip, limbs = straight.clip, straight.clip.animal.limbs
    turns, words = clip.rotations.copy(), "which no hand changes: its hind legs are swapped, left for right"
    if mistake == "swapped":
        left, right = (list(limb.joints) for limb in limbs[2:])
        turns[:, left], turns[:, right] = clip.rotations[:, right], clip.rotations[:, left]
    else:
        turns = turns[::-1] if mistake == "backward" else np.roll(turns, 9, axis=0)
        words = "changes: it plays backward; turn" if mistake == "backward" else "give the clip that was made"
    with pytest.raises(RequestError, match=words):
        relaid(written(folder, replace(clip, rotations=turns)), straight, bent)


@pytest.mark.thorough
def test_the_command_lays_an_edited_clip_along_another_path(tmp_path, capsys):
    file = tmp_path / "two.toml"
    file.write_text(FILE)
    words = ["shot", str(file), "--out", str(tmp_path)]
    assert run(words) == 0
    other = str(curve(tmp_path, arc_m(8.0, 0.9)))
    assert run([*words, "--path", other, "--edited", str(tmp_path / "two.bvh"), "--name", "laid"]) == 0
    assert run([*words, "--path", other, "--name", "plain"]) == 0
    laid, plain = (
        world_positions(read_bvh((tmp_path / f"{n}.bvh").read_bytes(), n)) for n in ("laid", "plain")
    )
    assert np.abs(laid - plain).max() < 1e-2
    capsys.readouterr()


@pytest.mark.thorough
def test_an_edited_clip_of_a_shot_with_marks_goes_along_another_path_stride_by_stride(tmp_path, capsys):
    """Its marks lie on its own path; for them strides would be others there, and the edit would not fit."""
    file = tmp_path / "two.toml"
    file.write_text(FILE + "[[mark]]\nat = [2, 0]\nframe = 60\n", encoding="utf-8")
    words = ["shot", str(file), "--out", str(tmp_path), "--no-keys"]
    assert run(words) == 0
    other = str(curve(tmp_path, arc_m(5.0, 0.9)))
    words += ["--path", other, "--edited", str(tmp_path / "two.bvh"), "--name", "laid", "--json"]
    capsys.readouterr()
    assert run(words) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["edit"]["joints"] == []
    assert found["marks"] == []
    assert found["largest_slip_m"] < 1e-3
    assert any("marks are not met along another path" in each["text"] for each in found["notices"])


def test_a_passage_is_its_cycle_stride_after_stride():
    """So that the cycle, the shot from where it leaves it, and the next cycle are one motion."""
    made = make_shot(shot_of(ShotRequest(PASSAGES, starts=False, ends=False)))
    seen = made.over_its_way()
    for piece in made.timeline.pieces:
        if piece.kind != "steady":
            continue
        asked = made.timeline.cycles[piece.cycles[0]].settled.asked
        own = make_cycle(asked)
        stride = own.frames - 1
        for first in range(piece.first, piece.after, stride):
            rows = slice(first, first + stride + 1)
            turned = np.swapaxes(matrix_from_quaternion(own.rotations), -1, -2)
            away = turned @ matrix_from_quaternion(seen.rotations[rows])
            assert np.abs(away - np.eye(3)).max() < 2e-3  # radians
            assert np.abs(seen.root_path_m[rows] - own.root_path_m)[:, 2].max() < 1e-3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "line 1, has no columns x and y; write x,y in its first line"),
        ("x,y\n1,2\n", "ends in line 2; write two points or more"),
        ("x,y\n1,2\n3,nan\n", "line 3, has no two numbers; write a point such as 1.5,0.2"),
        ("x,y\n1,2\n3\n", "line 3, has no two numbers"),
        ("x,y\n1,2\n\n3,1e9\n", "line 4, is farther than 10000 m"),
        ('x,y\n1,2\n3,4\n"' + 200_000 * "1" + '",5\n', "line 4, is no row of a table"),
        ("a,b\n1,2\n", "has no columns x and y"),
    ],
)
def test_a_table_that_is_no_path_is_refused_with_its_line(tmp_path, text, words):
    path = tmp_path / "curve.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FileFormatError, match=words):
        read_curve(path)
    with pytest.raises(FileFormatError, match=r"none\.csv is not there"):
        read_curve(tmp_path / "none.csv")


def test_a_table_whose_points_lead_nowhere_is_refused_with_its_lines(tmp_path):
    path = tmp_path / "curve.csv"
    path.write_text("x,y\n1,2\n1,2\n1,2\n", encoding="utf-8")
    with pytest.raises(
        FileFormatError, match=r"curve\.csv, line 2 and all after it: the points .* all in one"
    ):
        curve_way(path)


WAYS = {
    "points = [[0, 0], [1, 0], [1, 1], [0, 1]]": "give radius = 0.74 m or more, and points that leave room",
    "legs = [{ turn = 90, radius = 0.5 }]": "give a radius of 0.74 m or more",
    'file = "tight.csv"': "give points that bend with 0.74 m or more",
}


@pytest.mark.parametrize("way", WAYS)
def test_a_path_that_is_too_tight_is_told_with_file_line_and_key(way, tmp_path, capsys):
    turn = np.linspace(0.0, 6.0, 40)
    rows = "".join(f"{0.4 * np.sin(at):.4f},{0.4 - 0.4 * np.cos(at):.4f}\n" for at in turn)
    (tmp_path / "tight.csv").write_text(f"x,y\n{rows}")
    file = tmp_path / "tight.toml"
    file.write_text(f'animal = "dog"\n\n[[passage]]\ngait = "walk"\nstrides = 6\n\n[path]\n{way}\n')
    assert run(["shot", str(file), "--out", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert f"tight.toml: line 8: [path] {way.partition(' ')[0]}: the path bends with" in said
    assert WAYS[way] in said


@pytest.mark.thorough
@pytest.mark.usefixtures("shots_once")
def test_how_far_a_shot_goes_beyond_its_path_is_said(tmp_path, capsys):
    curve(tmp_path, arc_m(turn_rad=1.0))
    line = ["shot", str(tmp_path / "one.toml"), "--no-keys", "--out", str(tmp_path / "made")]
    said = []
    for path in ("", '[path]\nfile = "curve.csv"\n'):
        (tmp_path / "one.toml").write_text(FILE + path, encoding="utf-8")
        assert run([*line, "--json"]) == 0
        said.append(json.loads(capsys.readouterr().out))
    alone, bent = said
    assert alone["beyond_path_m"] == 0.0  # no path was given
    assert bent["distance_m"] > 5.0
    gone = bent["distance_m"]  # bends begin and end softly, which takes a little more way than the curve
    assert bent["beyond_path_m"] == pytest.approx(gone - 4.0, abs=0.3)
    assert run(line) == 0
    assert "ends " in capsys.readouterr().out.split("path", 1)[1]


@pytest.mark.parametrize(
    ("gait", "told"),
    [
        ("trott", "gait is 'trott'; did you mean 'trot'; write one of amble, bound, canter"),
        ("back", "gait is 'back', which goes backwards, and shots go ahead; make it alone"),
    ],
)
def test_a_gait_that_shots_do_not_have_is_told_with_its_line_and_those_they_have(
    gait, told, tmp_path, capsys
):
    file = tmp_path / "s.toml"
    file.write_text(FILE.replace('"trot"', f'"{gait}"'), encoding="utf-8")
    assert run(["shot", str(file), "--out", str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert f"line 6: [passage, number 2] {told}" in said
    assert " back," not in said
    assert said.count("\n") == 1
