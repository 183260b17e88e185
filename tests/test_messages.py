"""What is told when a request is not quite right: the word that was meant, and what to write instead."""

from dataclasses import replace

import numpy as np
import pytest
from make_rigs import base, text
from pypdf import PdfReader

from gaitgen.animal.library import skeleton_folder
from gaitgen.check.finding import Finding
from gaitgen.check.finding_words import frames_words
from gaitgen.commands import run
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.pipeline import Request, make_cycle

REFUSED = {
    "check clip.bvh --limits none.toml": "none.toml is not there; give the path of a file of limits (.toml)",
    "shot s.toml --map greyhound": "greyhound is not there; give the path of a map (.toml)",
    "shot none.toml": "none.toml is not there; give the path of a shot file (.toml)",
    "cycle none.toml": "none.toml is not there; give the path of a gait file (.toml)",
    "join stand walk": "write halt for stand",
    "join wlak trot": "did you mean 'walk'; use halt or one of amble, bound",
    "join walk trot --lead left": "neither foot leads in a walk or in a trot",
    "join walk halt --lead-after left": "neither foot leads in a walk; leave out",
    "cycle satnd": "did you mean 'stand'",
    "variants satnd": "did you mean 'stand'",
    "cycle walk --frames 24.5": "invalid value for '--frames': give a whole number",
    "cycle walk --speed 1,3": "give a number with a point for its decimals, 1.3; see",
    "cycle Walk": "unknown gait 'Walk'; did you mean 'walk'; use one of",
    "animals comma.toml": "is not TOML (a comma in a number, in line 2: the decimal sign is a point)",
    "animals same.toml": "changes nothing of the dog: it has neither [proportions] nor without; add",
    "animals baseless.toml": 'has [proportions] and no base; add base = "<animal>"',
    "shot styled.toml": "line 1: top level has an unknown key 'stylee'; did you mean 'style'",
    "check empty.bvh": "empty.bvh, line 1: the file is empty; give a BVH",
    "cycle walk --speed fast": "invalid value for '--speed': give a number",
    "cycle walk --name=": "name is ''; give a plain file name without folders",
    "shot s.toml --name=": "name is ''; give a plain file name without folders",
    "cycle --animal based.toml": "base 'hrose' is no animal; did you mean 'draft_horse' or 'riding_horse'; ",
    "animals based.toml": "base 'hrose' is no animal; did you mean 'draft_horse' or 'riding_horse'; ",
    "animals tall.toml": "withers_height_m is '0.5'; write a number from 0.05 to 5",
    "shot gate.toml": "line 3: [passage, number 1] has an unknown key 'gate'; did you mean 'gait'",
    "cycle --animal asked.toml": "gaits_if_asked has 'bakc', which is no gait; did you mean 'back'; use ",
    "cycle --animal used.toml": "gaits has 'gambol', which is no gait; did you mean 'amble'; use amble, back",
    "cycle walk --contacts RH,1-30": 'contacts; write them like "RH 1-23, RF 9-31, LH 17-39, LF 25-47"\n',
}


@pytest.mark.parametrize("line", REFUSED)
def test_a_request_that_cannot_be_met_is_told_in_its_own_words(line, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "s.toml").write_text('animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 2\n')
    (tmp_path / "clip.bvh").write_bytes(bvh.encode(make_cycle(Request()), FileSpace()))
    (tmp_path / "based.toml").write_text('format = 2\nbase = "hrose"\nname = "own"\n')
    tall = 'format = 2\nbase = "dog"\nname = "own"\n[proportions]\nwithers_height_m = "0.5"\n'
    (tmp_path / "tall.toml").write_text(tall)
    (tmp_path / "gate.toml").write_text('animal = "dog"\n[[passage]]\ngate = "walk"\nstrides = 2\n')
    (tmp_path / "comma.toml").write_text("format = 2\nwithers_height_m = 0,9\n")
    (tmp_path / "same.toml").write_text('base = "dog"\nname = "own"\n')
    (tmp_path / "baseless.toml").write_text('name = "own"\n[proportions]\nleg_factor = 1.1\n')
    styled = 'stylee = "tired"\n[[passage]]\ngait = "walk"\nstrides = 2\n'
    (tmp_path / "styled.toml").write_text(styled)
    (tmp_path / "empty.bvh").write_text("")
    cat = (
        (skeleton_folder() / "cat.toml")
        .read_text(encoding="utf-8")
        .replace('name = "cat"', 'name = "own"', 1)
    )
    (tmp_path / "asked.toml").write_text(cat.replace('["back"]', '["bakc", "mine"]'), encoding="utf-8")
    (tmp_path / "used.toml").write_text(cat.replace('"trot", "ro', '"gambol", "ro'), encoding="utf-8")
    assert run(line.split()) == 2
    said = capsys.readouterr().err
    assert REFUSED[line] in said
    assert said.count("\n") == 1


def test_a_name_with_the_ending_of_a_clip_is_that_name(tmp_path, capsys):
    words = ["cycle", "walk", "--no-keys", "--out", str(tmp_path)]
    assert run([*words, "--name", "own.bvh"]) == 0
    assert {path.name for path in tmp_path.iterdir()} >= {"own.bvh", "own.channels.csv"}
    assert not (tmp_path / "own.bvh.bvh").exists()
    assert run([*words, "--name", ".bvh"]) == 2
    assert "give a plain file name" in capsys.readouterr().err


def test_contacts_that_nothing_can_be_made_of_are_told_in_frames(capsys):
    stances = "LH 1-29, LF 8-35, RH 16-43, RF 23-50"
    assert run(["cycle", "walk", "--frames", "30", "--contacts", stances, "--out", "-"]) == 2
    said = capsys.readouterr().err
    assert "LH is down for 28 frames of a stride of 30, and no foot for longer; at a walk give" in said
    assert "from 16 to 27 frames" in said
    assert "duty" not in said


def test_a_clip_on_a_rig_where_pictures_are_asked_for_is_told_what_takes_it(tmp_path, capsys):
    (tmp_path / "rig.bvh").write_text(text(base()))
    for command in ("sheet", "carry"):
        more = ["--frames", "20"] if command == "carry" else []
        assert run([command, str(tmp_path / "rig.bvh"), *more, "--out", str(tmp_path / "o")]) == 2
        said = capsys.readouterr().err
        assert "joints that gaitgen writes (pelvis, " in said
        assert "pictures take it as `gaitgen sheet --animal`, an edit as `gaitgen carry --map`" in said
        assert said.count("\n") == 1


def test_words_to_choose_from_are_taken_in_capitals_too(tmp_path, capsys, monkeypatch):
    """On a sheet without the animals in it, which is sooner drawn."""
    monkeypatch.setattr("gaitgen.pictures.pose_cell.paint", lambda *_, **__: None)
    assert run(["sheet", "walk", "--paper", "LETTER", "--out", str(tmp_path / "a.pdf")]) == 0
    size_inches = np.array(PdfReader(tmp_path / "a.pdf").pages[0].mediabox[2:], dtype=float) / 72.0
    np.testing.assert_allclose(sorted(size_inches), [8.5, 11.0], atol=0.01)  # and not A4, as without it
    assert run(["sheet", "walk", "--paper", "A5", "--out", str(tmp_path / "c.pdf")]) == 2
    assert "'A5' is not one of 'a4', 'letter'" in capsys.readouterr().err


def test_a_folder_that_is_made_for_a_picture_is_said(tmp_path, capsys, monkeypatch):
    """A path that was mistyped makes a folder that nobody meant. The animal is left out of the strip."""
    monkeypatch.setattr("gaitgen.pictures.strip.paint", lambda *_, **__: None)
    path, said = tmp_path / "pcitures" / "p.svg", "was not there; the folder is made"
    assert run(["plot", "walk", "--out", str(path)]) == 0
    assert f"{path.parent} {said}" in capsys.readouterr().out
    assert run(["plot", "walk", "--out", str(path)]) == 0
    assert said not in capsys.readouterr().out
    out = tmp_path / "made"
    assert run(["animals", "dog", "--picture", str(tmp_path / "odd" / "dog.png")]) == 0
    assert said in capsys.readouterr().err
    line = ["cycle", "walk", "--no-keys", "--out", str(out), "--strip", str(out / "strip.png")]
    assert run(line) == 0  # a folder of clips is asked for, and what stands in it too
    assert said not in capsys.readouterr().out


def test_contacts_without_frames_are_told_how_long_a_stride_was_taken(tmp_path, capsys):
    line = ["cycle", "walk", "--no-keys", "--out", str(tmp_path), "--contacts"]
    assert run([*line, "RH 1-30, RF 12-40, LH 23-9, LF 34-20"]) == 2
    assert "so 32 frames are taken: give --frames" in capsys.readouterr().err
    assert run([*line, "RH 1-22, RF 8-30, LH 17-7, LF 25-15"]) == 0
    assert "so 32 frames are taken; --frames says it" in capsys.readouterr().out


@pytest.mark.thorough
def test_what_an_animal_never_does_is_said_in_joins_too(tmp_path, capsys):
    assert run(["join", "walk", "trot", "--animal", "elephant", "--no-keys", "--out", str(tmp_path)]) == 0
    assert "a trot is none of this animal's gaits (walk, amble)" in capsys.readouterr().out


def test_a_stand_does_not_travel_and_says_so():
    notices = [notice.text for notice in make_cycle(Request(gait="stand", in_place=False)).notices]
    assert "a stand: no foot leaves the ground, so it does not travel." in notices


def test_a_body_that_goes_backwards_has_a_speed_below_zero_in_check_as_in_cycle(tmp_path, capsys):
    path = tmp_path / "back.bvh"
    clip = make_cycle(Request(gait="back"))
    path.write_bytes(bvh.encode(clip, FileSpace()))
    run(["check", str(path)])
    assert f" {clip.facts.speed_m_s:.2f} m/s" in capsys.readouterr().out.splitlines()[0]


def test_frames_that_go_on_over_the_end_of_a_loop_are_told_so():
    finding = Finding("sole floating", "RH", 30, 2, 5.0, "mm", 3.0, 1.7, "", "")
    assert frames_words(finding) == "frames 30 on, over the end, to 2"
    assert frames_words(replace(finding, first_frame=2, last_frame=30)) == "frames 2 to 30"
