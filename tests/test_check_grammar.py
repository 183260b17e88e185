"""The check on faults that a grammar makes: verbs of hands, on cycles, rigs and shots; nobody listed them."""

from dataclasses import replace

import numpy as np
import pytest
from bench.grammar import cycle_of, results

from gaitgen.check.check import check
from gaitgen.check.look import see
from gaitgen.check.tracked import place
from gaitgen.formats.bvh_file import channel_columns

SEED = 17  # one that nothing was mended on


@pytest.mark.thorough
def test_of_ten_faults_of_a_grammar_eight_are_named_among_the_first_three():
    hits = [(named, found) for _, _, named, found, *_ in results(3, SEED)]
    assert np.mean(hits, axis=0)[0] >= 0.8
    assert np.mean(hits, axis=0)[1] >= 0.85


@pytest.mark.parametrize("which", [("cow", "walk", False), ("cat", "walk", True), ("dog", "trot", True)])
def test_a_body_that_hops_off_its_prints_is_named(which):
    """A key of the root's height six hundredths of the hip height too high: all feet go up with it."""
    start = cycle_of(*which)
    at = channel_columns(start.file, "position")[0][1]
    first = next(s for s in start.seen.feet.stances if s.whole and s.last < start.last).first
    near = np.arange(max(1, first), max(1, first) + 7)
    rows = start.file.rows.copy()
    rows[near, at] += 6.0 * start.motion.hip_height_m * np.sin(np.pi * (near - near[0] + 1) / 8.0) ** 2
    found = check(see(place(replace(start.file, rows=rows), start.map, "hop"), start.limits))
    assert any(f.kind == "body moves over planted feet" for f in found[:3]), [(f.kind, f.limb) for f in found]
