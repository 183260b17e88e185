"""A shot's report tells what the check finds in its file."""

import json
import re
from dataclasses import replace

import pytest

from gaitgen.check.of_shot import found_in_shot
from gaitgen.commands import run
from gaitgen.commands.check_file import check_file
from gaitgen.formats import bvh
from gaitgen.formats.axes import FileSpace
from gaitgen.gait.request import Request
from gaitgen.shot.join import make_join


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
