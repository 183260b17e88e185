"""Faults of baking, layers and export are named; what a clip does past the end of its loop is, too."""

import numpy as np
import pytest
from check_hits import is_named_first
from damage import base, seen_again, with_rows
from damage_by_export import EXPORTED
from damage_by_strangers import start_of

from gaitgen.check.check import check
from gaitgen.formats.bvh_file import channel_columns
from gaitgen.gait.gait import LIMBS

CLIPS = (("cat", "walk", True), ("cow", "walk", False), ("dromedary", "walk", True), ("dog", "trot", False))


class Start:
    """A clean clip, as the damages want it."""

    def __init__(self, animal, gait, in_place):
        self.base = start_of(animal, gait, None, in_place=in_place)
        self.file, self.map, self.seen = self.base.file, self.base.map, self.base.seen
        self.last = self.base.frames - 1


@pytest.mark.sample(1)
@pytest.mark.parametrize("name", EXPORTED)
def test_a_fault_of_a_bake_or_an_export_is_named(name):
    """Each of them on at least three of four animals, among the first three findings."""
    hits = []
    for k, clip in enumerate(CLIPS):
        start = Start(*clip)
        damaged = EXPORTED[name](start, np.random.default_rng(k))
        hits.append(is_named_first(damaged, check(seen_again(start.base, damaged.file))))
    assert sum(hits) >= 3, hits


@pytest.mark.sample(1)
@pytest.mark.parametrize("over", [1, 3])
def test_frames_past_the_end_of_a_loop_are_told(over):
    start = base("riding_horse", 32)
    rows = np.concatenate([start.file.rows, start.file.rows[1 : over + 1]])
    found = check(seen_again(start, with_rows(start.file, rows)))
    assert [(f.kind, f.first_frame, f.last_frame) for f in found] == [("repeated frame", 34, 33 + over)]
    assert "cut frame" in found[0].do


def test_a_clip_with_half_a_stance_of_a_foot_is_no_pass():
    """Whatever keeps its gait from being seen: what cannot be judged is not found to be well."""
    start = base("riding_horse", 32)
    seen = seen_again(start, with_rows(start.file, start.file.rows[:27]))
    assert seen.gait is None
    assert "no whole stride" in {f.kind for f in check(seen)} | {
        each.kind for f in check(seen) for each in f.follows
    }


@pytest.mark.thorough
def test_a_back_that_is_bent_down_is_no_body_at_a_wrong_height():
    """The soles of the forelegs are under the ground, those of the hind legs on it."""
    start = Start("dromedary", "walk", True)
    damaged = EXPORTED["layer left on the back"](start, np.random.default_rng(42))
    found = check(seen_again(start.base, damaged.file))
    assert (found[0].kind, found[0].limb) == ("body leans", "spine")
    assert "body under the ground" not in {f.kind for each in found for f in (each, *each.follows)}
    assert set(LIMBS[:2]) <= {f.limb for f in found[0].follows}


@pytest.mark.sample(1)
@pytest.mark.parametrize("is_mirrored", [True, False])
@pytest.mark.parametrize("pair", [("LF", "RF"), ("LH", "RH")])
def test_legs_that_have_each_others_numbers_are_told_apart_from_a_wrong_root(pair, is_mirrored):
    """As in a mirror, and as they are: a trot of such legs passed, a walk had its root blamed."""
    start = Start("dog", "trot", True)
    columns, names = channel_columns(start.file, "rotation"), start.file.joint_names
    words = [word for own in start.file.channels for word in own]
    rows = start.file.rows.copy()
    for one, other in zip(*(start.map.limbs[limb].joints for limb in pair), strict=True):
        a, b = list(columns[names.index(one)]), list(columns[names.index(other)])
        rows[:, a], rows[:, b] = start.file.rows[:, b], start.file.rows[:, a]
        if is_mirrored:
            rows[:, [c for c in (*a, *b) if words[c][0] != "X"]] *= -1.0
    found = check(seen_again(start.base, with_rows(start.file, rows)))
    word = "forelegs" if pair == ("LF", "RF") else "hind legs"
    assert [(f.kind, f.limb) for f in found] == [("legs swapped", word)]
    assert ("as they are" in found[0].do) != is_mirrored
