"""A body that leans is told once, be it that the feet of one end land nearly under it."""

import pytest
from damage import columns, seen_again, with_rows
from damage_by_strangers import start_of

from gaitgen.check.check import check

CLIPS = (
    ("pony", "gallop", None),
    ("cow", "gallop", None),
    ("brown_bear", "walk", 30),
    ("dog", "canter", 16),
)


@pytest.mark.sample(2)
@pytest.mark.parametrize("clip", CLIPS, ids=lambda clip: f"{clip[0]} {clip[1]}")
@pytest.mark.parametrize("degrees", [-6.0, 7.0])
def test_a_root_that_leans_is_the_one_thing_that_is_told(clip, degrees):
    start = start_of(*clip)
    before = {f.kind for f in check(start.seen)}
    rows = start.file.rows.copy()
    rows[:, columns(start.file, start.file.joint_names[0])["Z"]] += degrees
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [f.kind for f in found if f.kind not in before] == ["body leans"]
    assert found[0].amount == pytest.approx(abs(degrees), rel=0.2)


def test_a_foot_that_is_off_the_ground_is_no_lean():
    start = start_of("cow", "walk", 32)
    rows = start.file.rows.copy()
    name = start.map.limbs["LH"].joints[1]
    rows[:, columns(start.file, name)["X"]] += 6.0
    assert "body leans" not in {f.kind for f in check(seen_again(start, with_rows(start.file, rows)))}
