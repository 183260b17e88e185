"""Many cycles: names, table, nothing made twice, interrupted runs, the same bytes however many cores."""

import csv
import re

import pytest

from gaitgen import Request, Style
from gaitgen.batch.plan import parse_frames, parse_style, plan_variants
from gaitgen.batch.run import run_variants
from gaitgen.batch.table import TABLE, table_text
from gaitgen.errors import GaitError, RequestError
from gaitgen.formats.axes import FileSpace
from gaitgen.formats.hand_off import HandOff

SPACE, WANTED = FileSpace(), HandOff(keys=False)


def _plan(frames=(16, 24), animals=("riding_horse", "draft_horse")):
    return plan_variants(Request(), animals, frames)


def _run(folder, plan, **options):
    return run_variants(plan, SPACE, WANTED, folder, **options)


def test_names_and_the_table(tmp_path):
    outcome = _run(tmp_path, _plan())
    assert (outcome.made, outcome.kept) == (4, 0)
    with (tmp_path / TABLE).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["name"] for row in rows] == [
        "draft_horse_walk_16",
        "draft_horse_walk_24",
        "riding_horse_walk_16",
        "riding_horse_walk_24",
    ]
    for row in rows:
        assert (tmp_path / f"{row['name']}.bvh").is_file()
        assert (tmp_path / f"{row['name']}.channels.csv").is_file()
    assert float(rows[0]["speed_m_s"]) > float(rows[1]["speed_m_s"])
    assert "riding_horse_walk_24" in table_text(outcome.rows)


def test_a_second_run_rewrites_nothing_and_force_does(tmp_path):
    _run(tmp_path, _plan())
    before = {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    again = _run(tmp_path, _plan())
    assert (again.made, again.kept) == (0, 4)
    assert {path.name: path.stat().st_mtime_ns for path in tmp_path.iterdir()} == before
    forced = _run(tmp_path, _plan(), force=True)
    assert (forced.made, forced.kept) == (4, 0)


def test_another_request_or_a_changed_file_is_made_again(tmp_path):
    _run(tmp_path, _plan())
    other = plan_variants(Request(style=Style(nod=1.2)), ["riding_horse"], [16])
    assert _run(tmp_path, other).made == 1
    (tmp_path / "riding_horse_walk_24.bvh").write_text("touched by hand")
    (tmp_path / "draft_horse_walk_24.channels.csv").unlink()
    outcome = _run(tmp_path, _plan())
    assert (outcome.made, outcome.kept) == (3, 1)


def test_more_cores_give_the_same_bytes(tmp_path):
    _run(tmp_path / "one", _plan(), workers=1)
    _run(tmp_path / "two", _plan(), workers=2)
    ones, twos = ({p.name: p.read_bytes() for p in (tmp_path / n).iterdir()} for n in ("one", "two"))
    assert ones == twos


def test_an_interrupted_run_goes_on_where_it_stopped(tmp_path):
    def stop_after_two(done, _all):
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        _run(tmp_path, _plan(), workers=1, tell=stop_after_two)
    names = {path.name for path in tmp_path.iterdir()}
    assert not [name for name in names if not re.search(r"(\.bvh|\.csv)$", name)]
    outcome = _run(tmp_path, _plan())
    assert (outcome.made, outcome.kept) == (2, 2)


def test_a_damaged_table_only_costs_time(tmp_path):
    _run(tmp_path, _plan(frames=(16,)))
    (tmp_path / TABLE).write_bytes(b"\xff\x00 not a table")
    assert _run(tmp_path, _plan(frames=(16,))).made == 2


def test_styles_are_named(tmp_path):
    styles = [parse_style("proud: bounce=1.3 nod=1.4"), parse_style("tired: lift=0.7,nod=0.6")]
    plan = plan_variants(Request(), ["riding_horse"], [24], styles)
    assert [v.name for v in plan] == ["riding_horse_walk_24_proud", "riding_horse_walk_24_tired"]
    assert _run(tmp_path, plan).made == 2
    assert plan[0].request.style == Style(bounce=1.3, nod=1.4)


def test_lengths_are_lists_and_spans():
    assert parse_frames("16,24, 32") == (16, 24, 32)
    assert parse_frames("16-32:8,40") == (16, 24, 32, 40)


@pytest.mark.parametrize("text", ["", "a", "16,,24", "24-16", "16-24:0", "16,16", "1.5", "-8"])
def test_lengths_that_are_none(text):
    with pytest.raises(RequestError, match="length"):
        parse_frames(text)


@pytest.mark.parametrize("text", ["proud", "9: nod=1", "proud: wings=2", "proud: nod=big", "proud: nod=9"])
def test_styles_that_are_none(text):
    with pytest.raises(RequestError):
        parse_style(text)


def test_one_that_cannot_be_made_leaves_the_others(tmp_path):
    with pytest.raises(RequestError, match="frames is 4"):
        _run(tmp_path, _plan(frames=(16, 4), animals=("riding_horse",)), workers=1)
    assert (tmp_path / "riding_horse_walk_16.bvh").is_file()
    assert _run(tmp_path, _plan(frames=(16,), animals=("riding_horse",))).kept == 1


def test_doubles_are_refused(tmp_path):
    with pytest.raises(RequestError, match="twice"):
        plan_variants(Request(), ["riding_horse", "riding_horse"], [16])
    with pytest.raises(GaitError, match="unknown gait"):
        run_variants(plan_variants(Request(gait="strol"), ["riding_horse"], [16]), SPACE, WANTED, tmp_path)
