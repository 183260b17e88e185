"""Pictures look the same wherever they are drawn: no settings that lie about change them."""

import os
import subprocess
import sys
from pathlib import Path

import matplotlib as mpl
import pytest

from gaitgen import Request, make_cycle
from gaitgen.commands import run
from gaitgen.pictures.own_look import in_own_look
from gaitgen.pictures.plots import write_plot

ROOT = Path(__file__).resolve().parent.parent
PLOT = [sys.executable, "-m", "gaitgen", "plot", "walk", "--frames", "24", "--out", "p.svg"]
SETTINGS = b"lines.linewidth: 9\nfont.size: 30\nsavefig.facecolor: red\naxes.grid: True\n"
LYING_ABOUT = {
    "settings": lambda path: path.write_bytes(SETTINGS),
    "no text": lambda path: path.write_bytes(b"\xff\xfe\x00"),
    "no settings": lambda path: path.write_bytes(b"= = =\nfont.size: many\n"),
    "a pipe": os.mkfifo,
    "a folder": Path.mkdir,
    "a link to itself": lambda path: path.symlink_to(path.name),
}


def plotted(folder, **settings):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **settings}
    done = subprocess.run(PLOT, cwd=folder, env=environment, capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, b"wrote p.svg\n", b"")
    return (folder / "p.svg").read_bytes()


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    """The same picture, drawn in this process."""
    file = tmp_path_factory.mktemp("plain") / PLOT[-1]
    assert run([*PLOT[3:-1], str(file)]) == 0
    return file.read_bytes()


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "kind",  # one that can be read, one that cannot, one that is no file; the rest goes the same ways
    [
        kind if kind in {"settings", "no text", "a pipe"} else pytest.param(kind, marks=pytest.mark.slow)
        for kind in LYING_ABOUT
    ],
)
def test_settings_in_the_working_folder_change_nothing(tmp_path, plain, kind):
    LYING_ABOUT[kind](tmp_path / "matplotlibrc")
    assert plotted(tmp_path) == plain


@pytest.mark.thorough
@pytest.mark.parametrize("name", ["MPLCONFIGDIR", "MATPLOTLIBRC"])
def test_settings_of_the_user_change_nothing(tmp_path, plain, name):
    (tmp_path / "user").mkdir()
    (tmp_path / "user" / "matplotlibrc").write_bytes(SETTINGS)
    assert plotted(tmp_path, **{name: str(tmp_path / "user")}) == plain


@pytest.mark.thorough
def test_a_user_without_a_place_for_settings(tmp_path, plain):
    assert plotted(tmp_path, HOME="/nowhere", MPLCONFIGDIR="/proc/nowhere") == plain


def test_settings_of_a_program_that_draws_too_are_left_as_they_are():
    clip = make_cycle(Request(frames=12))
    expected = write_plot(clip, "footfalls", ".svg")
    with mpl.rc_context({"font.size": 30.0, "text.parse_math": True}):
        assert write_plot(clip, "footfalls", ".svg") == expected
        assert mpl.rcParams["font.size"] == 30.0
        assert mpl.rcParams["text.parse_math"] is True


def test_it_draws_in_the_folder_that_it_was_called_in(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "matplotlibrc").write_bytes(SETTINGS)
    assert in_own_look(Path.cwd)() == tmp_path
