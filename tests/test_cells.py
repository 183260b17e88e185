"""Tables with names of anybody's joints: read back by Python's csv, and never a formula to a spreadsheet.

Which first letters make a formula: OWASP, CSV Injection.
"""

import csv
import io
import re
from importlib import resources
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen.commands import run
from gaitgen.formats.cells import cell, from_cell, no_formula

pytestmark = pytest.mark.usefixtures("fits_once")

RIG = Path(__file__).parent / "rigs" / "plain.bvh"
NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(e-?[0-9]+)?|")


@pytest.mark.parametrize("examples", [60, pytest.param(300, marks=pytest.mark.thorough)])
def test_any_words_come_back_and_none_is_a_formula(examples):
    tried = given(st.lists(st.text(min_size=1), min_size=1))(come_back_and_none_is_a_formula)
    settings(max_examples=examples, deadline=None)(tried)()


def come_back_and_none_is_a_formula(words):
    line = ",".join(cell(word) for word in words) + "\n"
    [row] = csv.reader(io.StringIO(line, newline=""), strict=True)
    assert row == [no_formula(word) for word in words]
    for read, word in zip(row, words, strict=True):
        assert read in {word, f"'{word}"}
        assert from_cell(read) in {word, from_cell(word)}
        assert read[0] not in "=+-@\t\r"


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    """The tables of a walk on a rig with names that want to be something else."""
    folder = tmp_path_factory.mktemp("names")
    text, names = RIG.read_text(), re.findall(r"(?:ROOT|JOINT) (\S+)", RIG.read_text())
    odd = ["=1+1", "+a", "-b", "@SUM(A1)", "x,y", '"q"', "'=kept", "=a,b", '=a"b']
    for name, other in zip(names, odd, strict=False):
        text = re.sub(rf"(ROOT|JOINT) {name}(\s)", lambda found, to=other: f"{found[1]} {to}{found[2]}", text)
    (folder / "rig.bvh").write_text(text)
    rig, made = str(folder / "rig.bvh"), str(folder / "made")
    assert run(["fit", rig, "--map", str(folder / "map.toml")]) == 0
    assert (
        run(
            [
                "cycle",
                "walk",
                "--frames",
                "12",
                "--animal",
                str(folder / "map.toml"),
                "--out",
                made,
                "--name",
                "w",
            ]
        )
        == 0
    )
    joints = re.findall(r"(?:ROOT|JOINT) (\S+)", text)
    return folder / "made", joints, odd


def _rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file, strict=True))


@pytest.mark.thorough
@pytest.mark.parametrize("end", [".channels.csv", ".keys.csv"])
def test_odd_joint_names_in_the_tables_of_a_rig(tables, end):
    folder, joints, odd = tables
    rows = _rows(folder / f"w{end}")
    assert len({len(row) for row in rows}) == 1
    for row in rows:
        for text in row:
            assert text[:1] not in {"=", "+", "-", "@"} or NUMBER.fullmatch(text)
    names = rows[0][2:] if end == ".channels.csv" else [row[0] for row in rows[1:]]
    found = {name.rpartition(".")[0] for name in names}
    assert found == {no_formula(joint) for joint in joints}
    assert {f"'{name}" for name in odd if name[0] in "=+-@"} <= found


def test_a_gait_file_with_such_a_name_in_the_table_of_variants(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("=1+1.toml").write_bytes((resources.files("gaitgen") / "gaits" / "walk.toml").read_bytes())
    again = ["variants", "=1+1.toml", "--frames", "8", "--no-keys", "--workers", "1", "--out", "made"]
    assert run(again) == 0
    rows = _rows(Path("made/variants.csv"))
    assert "'=1+1" in rows[1]
    assert not [text for row in rows for text in row if text[:1] in {"=", "+", "@"}]
    before = Path("made/variants.csv").read_bytes()
    assert run(again) == 0
    assert Path("made/variants.csv").read_bytes() == before
