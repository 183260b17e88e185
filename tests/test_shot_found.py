"""A shot's report tells what the check finds in its file."""

import json
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from test_check_newcomers import HARD

from gaitgen.check.of_shot import found_in_shot
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.commands.source import shot_made
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.request import Request
from gaitgen.gait.style import Style
from gaitgen.page.shot_desk import ShotDesk
from gaitgen.shot.join import make_join
from gaitgen.shot.shot_file import read_shot

pytestmark = pytest.mark.usefixtures("fits_once")


def told(capsys, words):
    """What a report of a shot or a join says that the check finds."""
    assert run([*words, "--json"]) == 0
    notices = json.loads(capsys.readouterr().out)["notices"]
    return [each["text"] for each in notices if each["topic"] == "check"]


def test_the_report_of_a_join_tells_what_the_check_finds_in_its_file(tmp_path, capsys):
    words = ["join", "walk", "trot", "--no-keys", "--out", str(tmp_path)]
    for animal in ("red_deer", "dog"):
        said = told(capsys, [*words, "--animal", animal])
        found = check_file(tmp_path / f"{animal}_walk_to_trot.bvh", animal=animal).findings
        assert len(said) == min(len(found), 4)
        for text, each in zip(said, found[:3], strict=False):
            assert each.kind in text
            assert each.place in text


def test_a_body_that_jumps_is_told_with_its_frame_and_by_how_much():
    made = make_join("walk", "halt", Request(animal="dog"))
    path = made.clip.root_path_m.copy()
    path[20, 2] -= 0.03
    sunk = replace(made.clip, root_path_m=path)
    said = [each.text for each in found_in_shot(bvh.encode(sunk, FileSpace()), "dog.bvh", "dog", made.ground)]
    assert len(said) == 1
    assert re.fullmatch(
        r"dog\.bvh: the check finds pop \(pelvis\) in frame 21: 2\d\.\d mm, .* let through\.", said[0]
    )
    assert not found_in_shot(bvh.encode(made.clip, FileSpace()), "dog.bvh", "dog", made.ground)


@pytest.mark.sample(1)
@pytest.mark.parametrize("style", ["tired", "lame LF"])
def test_what_a_style_shows_is_not_told(tmp_path, capsys, style):
    words = ["join", "walk", "halt", "--animal", "dog", "--style", style, "--no-keys", "--out", str(tmp_path)]
    assert told(capsys, words) == []


def both_told(capsys, words):
    """Of a join on a rig: whether its report names kind and place of each thing that the check finds."""
    shutil.copy(Path(__file__).parent / "rigs" / "strange" / "stag.bvh", "stag.bvh")
    assert run(["fit", "stag.bvh", "--animal", "red_deer", "--map", "stag.toml"]) == 0
    capsys.readouterr()
    said = told(capsys, ["join", *words, "--animal", "stag.toml", "--no-keys", "--name", "halt"])
    found = check_file(Path("halt.bvh"), map_path=Path("stag.toml")).findings
    return [(each.kind in text, each.place in text) for text, each in zip(said, found, strict=True)]


@pytest.mark.thorough
def test_on_a_rig_it_is_what_the_check_finds_with_its_map(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert both_told(capsys, ["canter", "halt"]) == [(True, True)]


def test_on_a_rig_too_where_it_is_told_how_many_strides(tmp_path, monkeypatch, capsys):
    """Made in a tenth of the time of one whose length is looked for."""
    monkeypatch.chdir(tmp_path)
    assert both_told(capsys, ["trot", "gallop", "--strides", "5"]) == [(True, True)]


def test_what_no_style_of_several_shows_is_told():
    """A body that jumps is no style; what either style shows is meant."""
    made = make_join("walk", "halt", Request(animal="dog", style=Style(bounce=1.3)))
    path = made.clip.root_path_m.copy()
    path[20, 2] -= 0.03
    styles = [Style(), Style(bounce=1.3), Style(lift=1.2)]
    for clip, count in ((made.clip, 0), (replace(made.clip, root_path_m=path), 1)):
        data = bvh.encode(clip, FileSpace())
        said = found_in_shot(data, "dog.bvh", "dog", made.ground, styles=styles)
        assert [each.text.partition(" in frame")[0] for each in said] == [
            "dog.bvh: the check finds pop (pelvis)"
        ] * count


@pytest.mark.thorough
def test_the_page_of_a_shot_tells_what_its_report_tells(tmp_path, capsys):
    """A trot round a hard bend snaps: written as a page, or served with its path."""
    file = tmp_path / "hard.toml"
    file.write_text(HARD, encoding="utf-8")
    said = told(capsys, ["shot", str(file), "--no-keys", "--out", str(tmp_path)])
    assert said
    assert all(text.startswith("hard.bvh: ") for text in said)
    assert run(["preview", str(file), "--html", str(tmp_path / "hard.html")]) == 0
    page = (tmp_path / "hard.html").read_text(encoding="utf-8")
    assert all(json.dumps(text)[1:-1] in page for text in said)
    request = read_shot(file)
    desk = ShotDesk(file, request, shot_made(request), shot_made, HARD)
    assert json.loads(desk.clip(""))["notices"][-len(said) :] == said
