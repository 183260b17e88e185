"""The check on feet that slip within two to four frames of their stance: one finding, at the foot."""

import numpy as np
import pytest
from damage import seen_again
from damage_by_strangers import foot_slips, start_of

from gaitgen.check.check import check

WALKS = [("riding_horse", 32, False), ("cow", 30, True), ("elephant", 40, True), ("cat", 28, False)]


@pytest.mark.sample(4)
@pytest.mark.parametrize("comes_back", [True, False])
@pytest.mark.parametrize("percent", [2.0, 6.0, 10.0])
@pytest.mark.parametrize("rows", [2, 3, 4])
@pytest.mark.parametrize("which", WALKS, ids=str)
def test_a_foot_that_slips_for_a_few_frames_is_one_finding(which, rows, percent, comes_back):
    """It is no pop of a joint beside it, no late contact, and no body that moves; its amount is how far."""
    animal, frames, in_place = which
    start = start_of(animal, "walk", frames, in_place=in_place)
    damaged = foot_slips(start, np.random.default_rng(4), percent, rows=rows, comes_back=comes_back)
    found = check(seen_again(start, damaged.file))
    told = [(each.kind, each.limb) for each in found]
    assert [place for _, place in told] == list(damaged.limbs), told
    assert told[0][0] in {"slide", "slip"}
    first, last = damaged.frames
    assert first - 1 <= found[0].first_frame <= last + 1
    mm = 10.0 * percent * start.motion.hip_height_m
    assert found[0].amount == pytest.approx(mm, rel=0.2)
