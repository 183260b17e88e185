"""The table of smallest faults: every kind of finding has a way to make it, that is named by that kind."""

from pathlib import Path

import numpy as np
import pytest
from check_hits import is_named_first
from damage import base, seen_again
from damage_by_strangers import SIZED, start_of
from damage_habits import HABITS

from gaitgen.check.check import check
from gaitgen.check.kinds import KINDS

TABLE = Path(__file__).parent / "bench" / "smallest_found.txt"
ON_HORSES = (("riding_horse", 32, False), ("pony", 36, True))
ON_ANIMALS = (("cat", "walk", 24, True), ("pig", "trot", None, False))
NEW = {
    "every pose held": (2, 4),
    "root goes too far": (1.1,),
    "foot held up": (10,),
    "sway runs late": (0.25,),
}


def named(start, damaged):
    return is_named_first(damaged, check(seen_again(start, damaged.file, damaged.meant)))


def test_every_kind_of_finding_names_a_damage_of_the_table():
    """The last column of a row has what names it, in 9 of 10 tries or fewer."""
    rows = TABLE.read_text(encoding="utf-8").splitlines()
    cells = [row.rsplit("  ", 1)[-1].split(", ") for row in rows]
    told = {cell.strip() for row in cells for cell in row}
    assert set(KINDS) - told == set()


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", HABITS)
def test_a_habit_of_both_sides_or_what_is_off_a_plan_is_named(name):
    damage, amount, *_ = HABITS[name]
    starts = [base(*which) for which in ON_HORSES]
    assert [named(start, damage(start, amount, np.random.default_rng(1))) for start in starts] == [True, True]


@pytest.mark.sample(1)
@pytest.mark.parametrize(
    ("name", "amount"),
    [(name, amount) for name in NEW for amount in NEW[name]],
)
def test_what_is_new_in_the_table_is_named(name, amount):
    starts = [
        start_of(animal, gait, frames, in_place=in_place) for animal, gait, frames, in_place in ON_ANIMALS
    ]
    damages = [SIZED[name][0](start, np.random.default_rng(1), amount) for start in starts]
    assert [named(*each) for each in zip(starts, damages, strict=True)] == [True, True]


def test_a_foot_that_stands_nowhere_is_one_finding():
    """Without it no gait is seen, and quick turns of the other legs are no pops of theirs."""
    start = start_of("pig", "trot", in_place=False)
    damaged = SIZED["foot held up"][0](start, np.random.default_rng(1), 10)
    found = check(seen_again(start, damaged.file))
    assert [(each.kind, each.limb) for each in found] == [("no stance", *damaged.limbs)]
