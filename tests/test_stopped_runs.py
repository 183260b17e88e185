"""Stopped at any moment, no command replaces a file edited by hand, or leaves what nothing removes."""

import signal
from pathlib import Path

import pytest
from stopping import ends_of_stopped
from writers import commands_that_write

from gaitgen.commands import run
from gaitgen.formats.record import RECORD

ROOT = Path(__file__).resolve().parent.parent
HAND = "edited by hand\n"
SHOT = '[[passage]]\ngait = "walk"\nstrides = 1\n'
# What is run, with {} for the folder; what makes the files there first, if it is another line; and those of
# them that are then edited.
COMMANDS = {
    "cycle": (["cycle", "walk", "--frames", "8", "--out", "{}", "--name", "w"], None, ["w.bvh"]),
    "cycle, keys": (["cycle", "walk", "--frames", "8", "--out", "{}", "--name", "w"], None, ["w.keys.csv"]),
    "cycle, forced elsewhere": (
        ["cycle", "walk", "--frames", "8", "--no-keys", "--out", "{}", "--name", "v", "--force"],
        None,
        ["w.bvh"],
    ),
    "carry": (
        ["carry", "{}/w.bvh", "--frames", "8", "--no-keys", "--name", "c"],
        ["cycle", "walk", "--frames", "8", "--no-keys", "--out", "{}", "--name", "w"],
        ["c.bvh"],
    ),
    "bake": (
        ["bake", "{}/w.keys.csv"],
        ["cycle", "walk", "--frames", "8", "--out", "{}", "--name", "w"],
        ["w.bvh"],
    ),
    "shot": (["shot", "{}/s.toml", "--no-keys", "--out", "{}", "--name", "s"], None, ["s.bvh", "s.path.csv"]),
    "variants": (
        ["variants", "walk", "--frames", "8,9", "--no-keys", "--workers", "1", "--out", "{}"],
        None,
        ["riding_horse_walk_8.bvh"],
    ),
    "join": (
        ["join", "halt", "walk", "--no-keys", "--out", "{}", "--name", "j"],
        None,
        ["j.bvh", "j.path.csv"],
    ),
    "plot": (["plot", "walk", "--frames", "8", "--out", "{}/p.svg"], None, ["p.svg"]),
    "sheet": (["sheet", "walk", "--frames", "8", "--out", "{}/s.pdf"], None, ["s.pdf"]),
    "preview": (["preview", "walk", "--frames", "8", "--html", "{}/w.html"], None, ["w.html"]),
    "animals": (["animals", "cat", "--picture", "{}/c.svg"], None, ["c.svg"]),
    "check": (
        ["check", "{}/w.bvh", "--pdf", "{}/x.pdf"],
        ["cycle", "walk", "--frames", "16", "--no-keys", "--out", "{}", "--name", "w"],
        ["x.pdf"],
    ),
    "fit": (["fit", "{}/rig.bvh", "--map", "{}/rig.toml"], None, ["rig.toml"]),
    "fit, first": (["fit", "{}/rig.bvh", "--map", "{}/rig.toml"], None, []),
}
STEPS = {"sheet": 40, "check": 20, "join": 6}  # drawn anew each time; others at every third
SIGNALS = {"SIGINT": 130, "SIGTERM": 143, "SIGKILL": -9}


def begun(folder, command, *, is_edited=True):
    """Make a folder in which somebody has edited what a command wrote, or not yet."""
    line, first, edited = COMMANDS[command]
    (folder / "s.toml").write_text(SHOT, encoding="utf-8")
    (folder / "rig.bvh").write_bytes((ROOT / "tests" / "rigs" / "plain.bvh").read_bytes())
    if command == "cycle, forced elsewhere":
        assert run([part.format(folder) for part in COMMANDS["cycle"][0]]) == 0
    if first is not None:
        assert run([part.format(folder) for part in first]) == 0
    if not command.startswith("fit"):
        assert run([part.format(folder) for part in line]) == 0
    for name in edited if is_edited else ():
        if command == "bake":  # what is baked on keeps its joints
            whole = (folder / name).read_text(encoding="utf-8")
            (folder / name).write_text(whole + "\n", encoding="utf-8")
        else:
            (folder / name).write_text(HAND, encoding="utf-8")
    return {name: (folder / name).read_bytes() for name in edited}


def stopped(tmp_path, command, what, *, step=1, is_edited=True):
    """Stop a command at its moments; yield each folder and how the run ended."""
    template = tmp_path / "template"
    template.mkdir()
    edited = begun(template, command, is_edited=is_edited)
    (tmp_path / "runs").mkdir()
    ends = ends_of_stopped(template, tmp_path / "runs", COMMANDS[command][0], what, step)
    assert len(ends) > 1
    before = {path.name: path.read_bytes() for path in template.iterdir()}
    warm = tmp_path / "runs" / "warm"
    after = {path.name: path.read_bytes() for path in warm.iterdir()}
    return edited, before, after, [(tmp_path / "runs" / str(at), code) for at, code, _ in ends]


def is_temporary(path):
    return path.name != RECORD and (path.name.startswith(".gaitgen-") or path.match(".*.new"))


def left(folder):
    return [path.name for path in folder.iterdir() if is_temporary(path)]


def test_every_command_that_writes_is_stopped():
    assert {line[0] for line, _, _ in COMMANDS.values()} == commands_that_write()


@pytest.mark.always("cycle-SIGINT")  # and a baking that is killed, in test_kept_on_rigs
@pytest.mark.parametrize("number", SIGNALS)
@pytest.mark.parametrize("command", COMMANDS)
def test_stopped_at_any_moment_what_was_edited_is_there(command, number, tmp_path):
    """And every other file is whole, as it was or new; the next run takes away what a killed one left."""
    edited, before, after, runs = stopped(
        tmp_path, command, int(getattr(signal, number)), step=STEPS.get(command, 3)
    )
    ended = set()
    for folder, code in runs:
        ended.add(code)
        for name, data in edited.items():
            assert (folder / name).read_bytes() == data, folder
        for path in folder.iterdir():
            if is_temporary(path) or path.name in {"variants.csv", ".variants.lock", RECORD}:
                continue
            assert path.read_bytes() in {before.get(path.name), after.get(path.name)}, path
        if number != "SIGKILL":
            assert left(folder) == [], folder
        line = [part.format(folder) for part in COMMANDS[command][0]]
        again = run(line)
        assert again == (2 if command == "fit" else 0)
        assert left(folder) == [], "nothing is left that nothing removes"
        for name, data in edited.items():
            assert (folder / name).read_bytes() == data, folder
    assert SIGNALS[number] in ended, "some of them were stopped"
    assert ended <= {SIGNALS[number], 2 if command == "fit" else 0}


SAVED = {"over itself": False, "as a new file": True}


@pytest.mark.sample(1, 4)
@pytest.mark.parametrize("how", SAVED)
@pytest.mark.parametrize("command", ["cycle", "carry", "bake", "shot", "variants"])
def test_what_somebody_saves_while_a_run_writes_is_not_lost(command, how, tmp_path):
    """At any moment before the new file is in place, it goes beside what was saved meanwhile."""
    name = COMMANDS[command][2][0]
    what = {"name": name, "text": "saved meanwhile\n", "anew": SAVED[how]}
    runs = stopped(tmp_path, command, what, is_edited=False)[3]
    for folder, code in runs[:-1]:
        assert code in {0, 2}, folder
        assert (folder / name).read_text(encoding="utf-8") == "saved meanwhile\n", folder
        assert left(folder) == [], folder
