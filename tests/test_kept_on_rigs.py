"""On a mapped rig no command, stopped or not, replaces a file that was edited by hand, and each says so."""

import signal
from pathlib import Path

import pytest
from make_rigs import base, text
from stopping import ends_of_stopped
from test_stopped_runs import is_temporary, left
from writers import commands_that_write

from gaitgen.commands import run
from gaitgen.formats.record import RECORD

pytestmark = pytest.mark.usefixtures("fits_once")

HAND = b"edited by hand\n"
SHOT = '[[passage]]\ngait = "walk"\nstrides = 1\n'
MAP = ["--animal", "{}/rig.toml"]
FAST = ["--frames", "16", "--no-keys"]
WALK = ["cycle", "walk", *MAP, "--frames", "16", "--out", "{}", "--name", "w"]
# What is run on the rig, {} being its folder; what makes the files that it reads; and what it writes.
LINES = {
    "cycle": (
        ["cycle", "walk", *MAP, "--frames", "16", "--controls", "--glb", "--pose-frames", "--out", "{}"],
        [],
        {
            f"rig_walk_16{end}"
            for end in (
                *(".bvh", ".channels.csv", ".keys.csv", ".poses.bvh"),
                *(".controls.csv", ".controls.keys.csv", ".glb"),
            )
        },
    ),
    "sparse keys": ([*WALK, "--sparse"], [], {"w.bvh", "w.channels.csv", "w.keys.csv"}),
    "strip": (["cycle", "walk", *MAP, *FAST, "--out", "{}/a", "--strip", "{}/s.png"], [], {"s.png"}),
    "sheet": (
        ["sheet", "{}/w.bvh", *MAP, "--png", "--out", "{}/w.pdf"],
        WALK,
        {"w.pdf", "w_1.png", "w_2.png"},
    ),
    "plot": (["plot", "{}/w.bvh", *MAP, "--what", "joints", "--out", "{}/p.svg"], WALK, {"p.svg"}),
    "preview": (["preview", "{}/w.bvh", *MAP, "--html", "{}/p.html"], WALK, {"p.html"}),
    "variants": (
        ["variants", "walk", *MAP, "--frames", "16,18", "--no-keys", "--workers", "1", "--out", "{}"],
        [],
        {f"rig_walk_{frames}{end}" for frames in (16, 18) for end in (".bvh", ".channels.csv")},
    ),
    "bake": (["bake", "{}/w.keys.csv"], WALK, {"w.channels.csv"}),
    "carry": (
        ["carry", "{}/w.bvh", "--map", "{}/rig.toml", "--frames", "20", "--name", "c"],
        WALK,
        {"c.bvh", "c.channels.csv", "c.keys.csv"},
    ),
    "check": (["check", "{}/w.bvh", "--map", "{}/rig.toml", "--pdf", "{}/x.pdf"], WALK, {"x.pdf"}),
    "shot": (
        ["shot", "{}/s.toml", "--map", "{}/rig.toml", "--no-keys", "--cycles", "--out", "{}"],
        [],
        {f"s{end}" for end in (".bvh", ".channels.csv", ".path.csv")},
    ),
    "join": (
        ["join", "halt", "walk", *MAP, "--no-keys", "--out", "{}", "--name", "j"],
        [],
        {"j.bvh", "j.channels.csv", "j.path.csv"},
    ),
    "fit": (["fit", "{}/rig.bvh", "--map", "{}/rig.toml"], [], {"rig.toml"}),
}
ALWAYS_THERE = {"rig.bvh", "rig.toml", "s.toml"}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    """A folder with a rig, its map and a shot."""
    folder = tmp_path_factory.mktemp("shelf")
    (folder / "rig.bvh").write_text(text(base()))
    (folder / "s.toml").write_text(SHOT)
    assert run(["fit", str(folder / "rig.bvh"), "--map", str(folder / "rig.toml")]) == 0
    return folder


def begun(command, shelf, folder):
    """Lay a rig into a folder and run a command there; return what is run again, and what it wrote."""
    folder.mkdir()
    for path in shelf.iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    line, first, _ = LINES[command]
    line, first = ([part.format(folder) for part in each] for each in (line, first))
    assert not first or run(first) == 0
    before = {path.name for path in folder.iterdir()}
    if command != "fit":
        assert run(line) == 0
    made = {path.name for path in folder.iterdir() if path.is_file() and not path.name.startswith(".")}
    return line, (made - before - {"variants.csv"}) or LINES[command][2]


def without_animals_on_pictures(monkeypatch):
    for room in ("strip", "pose_cell", "standing_figure"):
        monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)


def test_every_command_that_takes_a_rig_is_tried():
    assert {line[0] for line, _, _ in LINES.values()} == commands_that_write() - {"animals"}


@pytest.mark.usefixtures("shots_once")
@pytest.mark.sample(3)
@pytest.mark.parametrize("command", LINES)
def test_nothing_that_was_edited_is_replaced(command, shelf, tmp_path, monkeypatch, capsys):
    """Each file on its own: it is kept, the report says so, and what was not edited is there too."""
    without_animals_on_pictures(monkeypatch)
    line, written = begun(command, shelf, tmp_path / "a")
    assert written >= LINES[command][2] - {"w.channels.csv"}
    for name in sorted(LINES[command][2]):
        path = tmp_path / "a" / name
        before = {each: each.read_bytes() for each in path.parent.iterdir() if each.is_file()}
        path.write_bytes(HAND)
        capsys.readouterr()
        ended = run(line)
        said = "".join(capsys.readouterr())
        assert path.read_bytes() == HAND, name
        assert ended == (2 if command == "fit" else 0), said
        assert ("perhaps edited" if ended else "kept") in said, name
        assert name.split(".")[0] in said
        for each in ALWAYS_THERE - {name}:
            assert (path.parent / each).read_bytes() == before[path.parent / each]
        path.write_bytes(before[path])


@pytest.mark.parametrize("name", ["rig", "s"])
def test_a_clip_named_like_the_rig_goes_beside_it(name, shelf, tmp_path, capsys):
    """The rig in its folder is somebody's work too, and so is a rig that was piped through."""
    line, _ = begun("fit", shelf, tmp_path / "a")
    folder = tmp_path / "a"
    rig = (folder / "rig.bvh").read_bytes()
    (folder / "s.bvh").write_bytes(HAND)
    line = ["cycle", "walk", "--animal", str(folder / "rig.toml"), *FAST, "--out", str(folder)]
    assert run([*line, "--name", name]) == 0
    assert f"new files are named {name}.2" in "".join(capsys.readouterr())
    assert (folder / "rig.bvh").read_bytes() == rig
    assert (folder / "s.bvh").read_bytes() == HAND
    assert (folder / f"{name}.2.bvh").exists()


def stopped(command, shelf, tmp_path, number, step):
    """Stop a command on a rig whose files were all edited at its moments; yield each folder and its end."""
    template, runs = tmp_path / "template", tmp_path / "runs"
    _, written = begun(command, shelf, template)
    written = {name for name in LINES[command][2] if (template / name).exists()} | written
    if command == "bake":
        written -= {"w.bvh"}
    for name in written:
        (template / name).write_bytes(HAND)
    runs.mkdir()
    ends = ends_of_stopped(template, runs, LINES[command][0], number, step)
    return template, written, runs, ends


# Every so many moments: as many as let a command be stopped some ten times, drawn ones three times.
STEPS = {"cycle": 13, "sparse keys": 7, "strip": 31, "sheet": 19, "plot": 7, "preview": 5, "variants": 2}
STEPS |= {"bake": 5, "carry": 9, "check": 9, "shot": 13, "join": 7, "fit": 1}


@pytest.mark.always("bake-SIGKILL")
@pytest.mark.parametrize("number", ["SIGINT", "SIGKILL"])
@pytest.mark.parametrize("command", LINES)
def test_stopped_at_any_moment_what_was_edited_is_there(command, number, shelf, tmp_path, monkeypatch):
    """Every other file is whole, as it was or new, and the next run takes away what a killed one left."""
    signalled = int(getattr(signal, number))
    without_animals_on_pictures(monkeypatch)
    template, written, runs, ends = stopped(command, shelf, tmp_path, signalled, STEPS[command])
    before = {path.name: path.read_bytes() for path in template.iterdir() if path.is_file()}
    after = {path.name: path.read_bytes() for path in (runs / "warm").iterdir() if path.is_file()}
    refused = 2 if command == "fit" else 0
    assert len(ends) > 2, "stopped, and run to its end"
    for at, code, _ in ends:
        assert code in {130 if number == "SIGINT" else -9, refused}
        folder = Path(runs / str(at))
        for name in written:
            assert (folder / name).read_bytes() == HAND, (folder, name)
        for path in folder.iterdir():
            known = path.is_dir() or is_temporary(path)
            if not known and path.name not in {"variants.csv", ".variants.lock", RECORD}:
                assert path.read_bytes() in {before.get(path.name), after.get(path.name)}, path
        if number == "SIGINT":
            assert left(folder) == [], folder
            continue
        assert run([part.format(folder) for part in LINES[command][0]]) == refused
        assert left(folder) == [], "nothing is left that nothing removes"
        for name in written:
            assert (folder / name).read_bytes() == HAND, (folder, name)
