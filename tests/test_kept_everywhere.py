"""No command replaces a file edited by hand: every command, by every option with which it writes files."""

from pathlib import Path

import pytest
from test_preview import server as server  # noqa: PLC0414  a fixture
from test_preview import write
from writers import commands_that_write, options_that_write

from gaitgen.commands import run
from gaitgen.commands.app import COMMANDS
from gaitgen.formats.record import RECORD

pytestmark = pytest.mark.usefixtures("fits_once")

HAND = b"edited by hand\n"
CLIP = ["cycle", "walk", "--frames", "16", "--out", "{}/in", "--name", "a"]
FAST = ["--frames", "16", "--no-keys"]
# Of each command and option: what makes the files that it reads, what is run, and how it ends a second time.
CASES = {
    ("animals", "--picture"): ([], ["animals", "cat", "--picture", "{}/out/c.svg"], 0),
    ("animals", "--sheet"): ([], ["animals", "--sheet", "{}/out/all.png"], 0),
    ("animals", "--scaling"): ([], ["animals", "--scaling", "{}/out/all.svg"], 0),
    ("cycle", "--out"): (
        [],
        ["cycle", "walk", "--frames", "16", "--controls", "--glb", "--out", "{}/out"],
        0,
    ),
    ("cycle", "--strip"): ([], ["cycle", "walk", *FAST, "--out", "{}/out", "--strip", "{}/out/s.png"], 0),
    ("shot", "--out"): ([], ["shot", "{}/in/s.toml", "--no-keys", "--cycles", "--out", "{}/out"], 0),
    ("shot", "--strip"): (
        [],
        ["shot", "{}/in/s.toml", "--no-keys", "--out", "{}/out", "--strip", "{}/out/x.png"],
        0,
    ),
    ("join", "--out"): ([], ["join", "halt", "walk", "--no-keys", "--out", "{}/out"], 0),
    ("join", "--strip"): (
        [],
        ["join", "halt", "walk", "--no-keys", "--out", "{}/out", "--strip", "{}/out/x.png"],
        0,
    ),
    ("variants", "--out"): (
        [],
        ["variants", "walk", "--frames", "8,16", "--no-keys", "--workers", "1", "--out", "{}/out"],
        0,
    ),
    ("sheet", "--out"): ([], ["sheet", "walk", "--frames", "16", "--png", "--out", "{}/out"], 0),
    ("plot", "--out"): ([], ["plot", "walk", "--frames", "16", "--out", "{}/out/p.svg"], 0),
    ("preview", "--html"): ([], ["preview", "walk", "--frames", "16", "--html", "{}/out/w.html"], 0),
    ("bake", "--out"): (CLIP, ["bake", "{}/in/a.keys.csv", "--out", "{}/out"], 0),
    ("carry", "--out"): (CLIP, ["carry", "{}/in/a.bvh", "--frames", "24", "--out", "{}/out"], 0),
    ("carry", "--strip"): (
        CLIP,
        ["carry", "{}/in/a.bvh", "--frames", "24", "--out", "{}/out", "--strip", "{}/out/x.png"],
        0,
    ),
    ("fit", "--map"): ([], ["fit", "{}/in/rig.bvh", "--map", "{}/out/rig.toml"], 2),  # refused in one line
    ("check", "--pdf"): (CLIP, ["check", "{}/in/a.bvh", "--pdf", "{}/out/x.pdf"], 0),
}
SERVED = {("preview", "--out")}  # by the page's button, below
SLOW = {("animals", "--sheet"), ("animals", "--scaling")}  # all animals, twice
QUICK = {
    ("cycle", "--out"),
    ("variants", "--out"),
    ("plot", "--out"),
    ("preview", "--html"),
    ("fit", "--map"),
}
QUICK |= {("bake", "--out"), ("carry", "--out")}


def test_every_option_that_writes_is_tried():
    """A new command, or a new option with a path, is tried too, or is said to be read."""
    assert set(CASES) | SERVED == options_that_write()
    assert set(COMMANDS.commands) - commands_that_write() == {"gaits"}


def _marks(case):
    return [pytest.mark.slow] if case in SLOW else [] if case in QUICK else [pytest.mark.thorough]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    "case", [pytest.param(case, marks=_marks(case), id=" ".join(case)) for case in CASES]
)
def test_nothing_that_was_edited_is_replaced(case, tmp_path, monkeypatch, capsys):
    """Of all files that a command wrote, each is edited, and all are there after it has run again."""
    for room in ("strip", "pose_cell", "standing_figure"):  # without their animals pictures are drawn sooner
        monkeypatch.setattr(f"gaitgen.pictures.{room}.paint", lambda *_, **__: None)
    first, line, end = CASES[case]
    into = tmp_path / "in"
    into.mkdir()
    (tmp_path / "out").mkdir()
    (into / "s.toml").write_text('[[passage]]\ngait = "walk"\nstrides = 1\n', encoding="utf-8")
    (into / "rig.bvh").write_bytes((Path(__file__).parent / "rigs" / "plain.bvh").read_bytes())
    first, line = ([part.format(tmp_path) for part in each] for each in (first, line))
    assert not first or run(first) == 0
    assert run(line) == 0
    written = [path for path in (tmp_path / "out").iterdir() if path.name not in {RECORD, "variants.csv"}]
    written = [path for path in written if not path.name.startswith(".")]
    assert written
    for path in written:
        path.write_bytes(HAND)
    capsys.readouterr()
    assert run(line) == end
    said = "".join(capsys.readouterr())
    for path in written:
        assert path.read_bytes() == HAND, path.name
    assert "perhaps edited" in said if end else "so it is kept" in said or "so they are kept" in said


def test_the_button_of_the_served_page_replaces_nothing_that_was_edited(server, tmp_path):
    write(server, {"frames": "16"}, "mine")
    written = [path for path in tmp_path.rglob("mine*") if path.is_file()]
    for path in written:
        path.write_bytes(HAND)
    reply, _ = write(server, {"frames": "16"}, "mine")
    assert reply.status == 200
    assert len(written) == 3
    assert all(path.read_bytes() == HAND for path in written)
