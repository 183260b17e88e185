"""Every command and every example of the README runs as it stands."""

import importlib
import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from gaitgen.commands import run
from gaitgen.shot import make, request
from gaitgen.shot.shot_file import read_shot
from gaitgen.shot.snapping import SNAP

pytestmark = pytest.mark.usefixtures("fits_once")

README = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", README, flags=re.DOTALL)
COMMANDS = [line for kind, text in BLOCKS if kind == "console" for line in text.splitlines()]
SHELL = set("|&;<>$*?`")  # what a shell makes something of
OWN = [line for line in COMMANDS if line.startswith("gaitgen ")]
DRAWN = ("sheet", "shot_sheet", "strip")


def shot_name(text):
    """Return the name that the commands give to a shot of the README."""
    return "fence" if "[[jump]]" in text else "round" if "on = " in text else "yard"


@pytest.mark.usefixtures("shots_once")
@pytest.mark.parametrize("whole", [False, pytest.param(True, marks=pytest.mark.thorough)])
def test_every_command_runs_one_after_the_other(whole, tmp_path, monkeypatch, capsys):
    """In this process, but for those that need a shell; as many starts of Python would take a minute.

    On the whole every command is run, and each kind of picture drawn with its animals once. It is sooner done
    without them, with one sheet and one strip for all, and if one shot on a path and few joins are made and
    one clip is carried (to another animal in test_carry, in a style in test_carry_footfalls).
    """
    root = Path(__file__).resolve().parent.parent
    for name in ("made", "outputs"):
        (tmp_path / name).mkdir()
    shutil.copy(root / "tests" / "rigs" / "plain.bvh", tmp_path / "rig.bvh")  # the reader's own rig
    for text in (text for kind, text in BLOCKS if kind == "toml"):
        name = shot_name(text) if "[[passage]]" in text else re.findall(r'name = "(\w+)"', text)[0]
        (tmp_path / "made" / f"{name}.toml").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    drawn = set() if whole else {"gaitgen sheet", "--strip", "animals"}
    for room in () if whole else DRAWN:
        drawn_but_once(room, monkeypatch)
    assert len(OWN) > 15
    shots = [line for line in OWN if "yard.toml" in line or "round.toml" in line]
    dear = [line for line in OWN if line.startswith("gaitgen carry")][1:]
    dear += [
        line for line in OWN if line.startswith("gaitgen join") and ("--strides" in line or "rig" in line)
    ]
    starts_python = [
        [line for line in OWN if "variants" in line],
        [line for line in OWN if SHELL & set(line)],
    ]
    dear += [line for lines in starts_python for line in lines[1:]]
    for line in OWN if whole else [line for line in OWN if line not in (*shots[1:], *dear)]:
        for option, rooms in (
            ("gaitgen sheet", ("pose_cell", "shot_sheet")),
            ("--strip", ("strip",)),
            ("animals", ("standing_figure",)),
        ):
            if option in drawn and option in line:
                for room in rooms:
                    monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)
            drawn |= {option} if option in line else set()
        code, said = in_a_shell(line) if SHELL & set(line) else (run(shlex.split(line)[1:]), "")
        said += capsys.readouterr().err
        assert code == 0, f"{line}: {said}"
    assert Path("made/walk.bvh").read_bytes().startswith(b"HIERARCHY")


def drawn_but_once(room, monkeypatch):
    """Draw the first sheet or strip of a room, and give it for all others."""
    module = importlib.import_module(f"gaitgen.pictures.{room}")
    draw, made = getattr(module, f"write_{room}"), []

    def first(*given, **named):
        made.extend([] if made else [draw(*given, **named)])
        return made[0]

    monkeypatch.setattr(module, f"write_{room}", first)


@pytest.mark.thorough
@pytest.mark.sample(1)
@pytest.mark.usefixtures("shots_once")
@pytest.mark.parametrize("text", [text for kind, text in BLOCKS if kind == "toml" and "[[passage]]" in text])
def test_no_leg_snaps_in_the_shots_that_it_shows(text, tmp_path, monkeypatch):
    """Common practice, no source: what is shown as an example needs no mending by hand."""
    monkeypatch.chdir(tmp_path)
    file = Path("made", f"{shot_name(text)}.toml")  # as the commands name it, who make it too
    file.parent.mkdir()
    file.write_text(text, encoding="utf-8")
    made = make.make_shot(request.shot_of(read_shot(file)))
    assert SNAP not in {notice.topic for notice in made.clip.notices}


def in_a_shell(line):
    """Run a line as it stands, with whatever comes before and after its command."""
    command = re.sub(r"(^|\| )gaitgen ", rf"\1{shlex.quote(sys.executable)} -m gaitgen ", line)
    root = str(Path(__file__).resolve().parent.parent)
    done = subprocess.run(
        ["bash", "-c", command],
        env={**os.environ, "PYTHONPATH": root},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    return done.returncode, done.stderr


def test_set_up_makes_the_walk_and_runs_the_tests():
    first, second = COMMANDS[:2]
    assert "gaitgen cycle walk --out outputs" in first
    assert second.endswith("-m pytest -q -n auto")
    pictures = re.findall(r"!\[.*?\]\((.*?)\)", README)
    assert pictures[0] == "outputs/riding_horse_walk_32_sheet_1.png"
    assert "gaitgen sheet walk --png --out outputs/riding_horse_walk_32_sheet.pdf" in OWN
    for picture in pictures:
        assert picture in " ".join(OWN) or picture.removesuffix("_1.png") + ".pdf" in " ".join(OWN)
        assert (Path(__file__).resolve().parent.parent / picture).is_file()


@pytest.mark.parametrize("text", [text for kind, text in BLOCKS if kind == "python"])
def test_python(text):
    exec(compile(text, "README.md", "exec"), {})  # noqa: S102


@pytest.mark.parametrize(
    "text", [text for kind, text in BLOCKS if kind == "toml" and "[[passage]]" not in text]
)
def test_toml(text):
    from gaitgen.animal.library import read_skeleton

    asked = float(re.findall(r"withers_height_m = ([\d.]+)", text)[0])
    assert read_skeleton(text.encode(), "README.md").withers_height_m == pytest.approx(asked)


def test_the_figures_that_are_not_met_are_counted_as_they_are():
    figures = Path(__file__).with_name("published_strangers.toml").read_text(encoding="utf-8")
    values = tomllib.loads(figures)["value"]
    missed = sum("deviation" in each for each in values)
    assert f"to {len(values)} published figures; {missed} are not met" in " ".join(README.split())
