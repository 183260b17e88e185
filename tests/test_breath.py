"""Breath: bound to the stride at a canter or gallop, free at a walk and trot."""

import numpy as np
import pytest

from gaitgen import Request, make_cycle

# One breath a stride at a gallop, out while the forelegs carry: Bramble D.M. & Carrier D.R. 1983, Science
# 219:251-256 (running and breathing in mammals).
BOUND = [
    ("riding_horse", "canter", "left"),
    ("riding_horse", "canter", "right"),
    ("riding_horse", "gallop", "left"),
    ("draft_horse", "gallop", "right"),
    ("dog", "canter", "left"),
    ("dog", "rotary_gallop", "left"),
]


def breaths(clip):
    """How many breaths a clip has."""
    breath = clip.plan.breath[:-1]
    return int(np.count_nonzero((breath > 0.5) & (np.roll(breath, 1) <= 0.5)))


@pytest.mark.parametrize(("animal", "gait", "lead"), BOUND)
def test_one_breath_a_stride_and_out_while_the_forelegs_carry(animal, gait, lead):
    clip = make_cycle(Request(gait=gait, animal=animal, lead=lead, frames=40, frame_rate_hz=75.0))
    assert breaths(clip) == 1
    breath, load = clip.plan.breath, clip.plan.force_n[:-1, :2].sum(axis=1)
    flow = (np.roll(breath[:-1], -1) - np.roll(breath[:-1], 1)) / 2.0  # in per frame
    carries = load > 0.5 * load.max()
    assert (flow[carries] < 0.0).mean() > 0.7  # the forelegs of a slow canter carry for more than half of it
    assert float(flow @ load) < 0.0


def test_the_seed_makes_no_difference_to_how_often():
    clip = make_cycle(Request(gait="canter", strides=3, seed=2))
    assert breaths(clip) == 3


def test_at_a_walk_breaths_need_not_be_as_many_as_strides():
    clip = make_cycle(Request(strides=8, seed=3))
    assert breaths(clip) not in {0, 8}
    assert clip.plan.breath[-1] == pytest.approx(clip.plan.breath[0], abs=1e-9)
