"""What is told when a request is not quite right: the word that was meant, and what to write instead."""

import pytest

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
    "cycle walk --speed fast": "invalid value for '--speed': give a number",
    "cycle walk --contacts RH,1-30": 'contacts; write them like "RH 1-23, RF 9-31, LH 17-39, LF 25-47"\n',
}


@pytest.mark.parametrize("line", REFUSED)
def test_a_request_that_cannot_be_met_is_told_in_its_own_words(line, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "s.toml").write_text('animal = "dog"\n[[passage]]\ngait = "walk"\nstrides = 2\n')
    (tmp_path / "clip.bvh").write_bytes(bvh.encode(make_cycle(Request()), FileSpace()))
    assert run(line.split()) == 2
    said = capsys.readouterr().err
    assert REFUSED[line] in said
    assert said.count("\n") == 1


def test_contacts_without_frames_are_told_how_long_a_stride_was_taken(tmp_path, capsys):
    line = ["cycle", "walk", "--no-keys", "--out", str(tmp_path), "--contacts"]
    assert run([*line, "RH 1-30, RF 12-40, LH 23-9, LF 34-20"]) == 2
    assert "so 32 frames are taken: give --frames" in capsys.readouterr().err
    assert run([*line, "RH 1-22, RF 8-30, LH 17-7, LF 25-15"]) == 0
    assert "so 32 frames are taken; --frames says it" in capsys.readouterr().out


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
