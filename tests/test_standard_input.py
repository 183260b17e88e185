"""A file that is read may be the standard input, ``-``, and a clip that is made may go to standard output."""

import io
import sys
from pathlib import Path

import numpy as np
import pytest

from gaitgen.commands import run
from gaitgen.formats.read_bvh import read_bvh

pytestmark = pytest.mark.usefixtures("fits_once")

RIG = Path(__file__).parent / "rigs" / "plain.bvh"
SKELETON = Path(__file__).parent.parent / "skeletons" / "cat.toml"
ON_ANIMALS = (["cycle", "walk", "--out", "{}/o"], ["animals"], ["plot", "walk", "--out", "{}/x.svg"])
READERS = (["check", "-"], ["cycle", "walk", "--animal", "-"], ["bake", "-", "--bvh", "{}"])
SHOT = '[[passage]]\ngait = "walk"\nstrides = 1\n'


@pytest.fixture
def given(monkeypatch):
    def give(data):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))

    return give


@pytest.fixture
def clip(tmp_path):
    line = ["cycle", "walk", "--frames", "24", "--out", str(tmp_path / "in"), "--name", "a"]
    assert run(line) == 0
    return tmp_path / "in" / "a.bvh"


def names(folder):
    return sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))


def test_keys_are_baked_beside_the_bvh_that_is_named(clip, given, capsysbinary):
    """And to standard output they are the clip alone, the report going to standard error."""
    keys = clip.with_name("a.keys.csv").read_bytes()
    given(keys)
    assert run(["bake", "-", "--bvh", str(clip), "--name", "b"]) == 0
    assert (clip.parent / "b.bvh").is_file()
    capsysbinary.readouterr()
    given(keys)
    assert run(["bake", "-", "--bvh", str(clip), "--out", "-"]) == 0
    out, err = capsysbinary.readouterr()
    assert out == (clip.parent / "b.bvh").read_bytes()
    assert err.startswith(b"a: 25 frames from keys")
    assert run(["bake", str(clip.with_name("a.keys.csv")), "--out", "-"]) == 0
    assert capsysbinary.readouterr().out == out


def test_keys_without_a_bvh_are_refused(clip, given, capsys):
    given(clip.with_name("a.keys.csv").read_bytes())
    assert run(["bake", "-"]) == 2
    assert "name it with --bvh" in capsys.readouterr().err


def test_a_baked_clip_from_the_standard_input_keeps_what_was_edited(clip, given):
    clip.write_bytes(clip.read_bytes() + b"\n")
    edited = clip.read_bytes()
    given(clip.with_name("a.keys.csv").read_bytes())
    assert run(["bake", "-", "--bvh", str(clip)]) == 0
    assert clip.read_bytes() == edited
    assert (clip.parent / "a.2.bvh").is_file()


def test_an_edit_is_carried_from_input_to_output(clip, given, capsysbinary):
    """It is read more than once, which a pipe cannot be."""
    given(clip.read_bytes())
    assert run(["carry", "-", "--frames", "32", "--out", "-"]) == 0
    out, err = capsysbinary.readouterr()
    assert len(read_bvh(out, "it").rows) == 33
    assert b"changed by hand is" in err
    assert run(["cycle", "walk", "--frames", "32", "--out", "-"]) == 0
    plain = read_bvh(capsysbinary.readouterr().out, "it").rows
    np.testing.assert_allclose(read_bvh(out, "it").rows, plain, atol=np.degrees(1e-6))
    assert run(["carry", str(clip), "--frames", "32", "--out", "-", "--controls"]) == 2


@pytest.mark.parametrize(
    "line",
    [
        ["check", "-"],
        ["sheet", "-", "--out", "{}/x.pdf"],
        ["plot", "-", "--out", "{}/x.svg"],
        ["preview", "-", "--html", "{}/x.html"],
        ["carry", "-", "--frames", "28", "--out", "{}"],
        ["carry", "{}/in/a.bvh", "--from", "-", "--frames", "28", "--out", "{}"],
    ],
    ids=" ".join,
)
def test_a_clip_is_read_from_it_by_every_command_that_reads_one(line, clip, given, tmp_path):
    given(clip.read_bytes())
    assert run([part.format(tmp_path) for part in line]) == 0


@pytest.mark.sample(1)
@pytest.mark.parametrize("kind", ["map", "skeleton"])
@pytest.mark.parametrize("line", ON_ANIMALS, ids=" ".join)
def test_an_animal_is_read_from_it(line, kind, given, tmp_path, monkeypatch):
    """A skeleton file or a map, whose rig is then looked for where one stands."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "rig.bvh").write_bytes(RIG.read_bytes())
    assert run(["fit", "rig.bvh", "--map", "rig.toml"]) == 0
    given((Path("rig.toml") if kind == "map" else SKELETON).read_bytes())
    line = [part.format(tmp_path) for part in line]
    assert run([*line, "-"] if line == ["animals"] else [*line, "--animal", "-"]) == 0
    if line[0] == "cycle":
        whose = "rig" if kind == "map" else "cat"
        assert all(name.startswith(whose) for name in names(tmp_path / "o"))


def test_a_shot_and_a_rig_are_read_from_it(given, tmp_path, capsys):
    given(SHOT.encode())
    assert run(["shot", "-", "--no-keys", "--out", str(tmp_path)]) == 0
    assert names(tmp_path) == ["shot.bvh", "shot.channels.csv", "shot.path.csv"]
    assert run(["variants", "-", "--no-keys", "--workers", "1", "--out", str(tmp_path / "many")]) == 0
    assert (tmp_path / "many" / "shot.bvh").read_bytes() == (tmp_path / "shot.bvh").read_bytes()
    given(RIG.read_bytes())
    capsys.readouterr()
    assert run(["fit", "-"]) == 0
    assert "gaitgen fit RIG.bvh --map MAP.toml" in capsys.readouterr().out
    assert run(["fit", "-", "--map", "-"]) == 2
    assert "give --map a file" in capsys.readouterr().err


def test_a_rig_from_it_stands_beside_its_map(given, tmp_path, capsys):
    """So that the map can name it; a file that is there already is not replaced."""
    given(RIG.read_bytes())
    assert run(["fit", "-", "--map", str(tmp_path / "m.toml")]) == 0
    assert f"wrote {tmp_path / 'm.bvh'}\n" in capsys.readouterr().out
    assert (tmp_path / "m.bvh").read_bytes() == RIG.read_bytes()
    assert run(["cycle", "walk", "--animal", str(tmp_path / "m.toml"), "--out", str(tmp_path / "o")]) == 0
    assert "m_walk_30.bvh" in names(tmp_path / "o")
    assert run(["fit", "-", "--map", str(tmp_path / "m.toml")]) == 0
    for name in ("m.bvh", "m.toml"):
        (tmp_path / name).write_text("mine")
        capsys.readouterr()
        assert run(["fit", "-", "--map", str(tmp_path / "m.toml")]) == 2
        assert f"cannot write {tmp_path / name}: there is a" in capsys.readouterr().err
        assert (tmp_path / name).read_text() == "mine"
        assert run(["fit", "-", "--map", str(tmp_path / "m.toml"), "--force"]) == 0


@pytest.mark.thorough
def test_a_map_goes_through_a_pipe(given, tmp_path, capsysbinary, monkeypatch):
    """It names the rig from the folder that both commands stand in; the report goes to standard error."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "rig.bvh").write_bytes(RIG.read_bytes())
    assert run(["fit", "rig.bvh", "--map", "rig.toml"]) == 0
    capsysbinary.readouterr()
    assert run(["fit", "rig.bvh", "--map", "-"]) == 0
    out, err = capsysbinary.readouterr()
    assert out == (tmp_path / "rig.toml").read_bytes()
    assert b"limbs, feet and style of" in err
    clip = ["cycle", "walk", "--animal", "rig.toml", "--out", ".", "--name", "a"]
    assert run(clip) == 0
    for line in (
        ["check", "a.bvh", "--map", "-"],
        ["carry", "a.bvh", "--map", "-", "--frames", "28", "--out", "o"],
        ["cycle", "walk", "--animal", "-", "--out", "o"],
        ["variants", "walk", "--animal", "-", "--frames", "24", "--no-keys", "--workers", "1", "--out", "o"],
        ["sheet", "a.bvh", "--animal", "-", "--out", "o/a.pdf"],
    ):
        given(out)
        assert run(line) == 0, line


@pytest.mark.parametrize(
    "line",
    [
        ["check", "-", "--map", "-"],
        ["carry", "-", "--from", "-"],
        ["bake", "-", "--bvh", "-"],
        ["variants", "-", "--animal", "-"],
    ],
    ids=" ".join,
)
def test_it_is_not_taken_for_two_files(line, clip, given, capsys):
    given(clip.read_bytes())
    assert run(line) == 2
    assert capsys.readouterr().err == "gaitgen: the standard input is one file; give the others as files\n"


@pytest.mark.parametrize("line", READERS, ids=" ".join)
def test_an_empty_or_a_closed_one_is_one_line(line, clip, given, capsys, monkeypatch):
    line = [part.format(clip) for part in line]
    for close in (False, True):
        given(b"")
        if close:
            monkeypatch.setattr(sys, "stdin", None)
        capsys.readouterr()
        assert run(line) == 2
        said = capsys.readouterr().err
        assert said.count("\n") == 1
        assert said.startswith("gaitgen: ")
