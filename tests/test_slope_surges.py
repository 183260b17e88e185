"""A walk goes on evenly up and down slopes and steps: what its feet carry is what their places ask for."""

import numpy as np
import pytest

from gaitgen.course.ground import Ground
from gaitgen.course.surfaces import stairs
from gaitgen.gait.request import Request
from gaitgen.shot.asked import Passage, ShotRequest
from gaitgen.shot.make import make_shot
from gaitgen.shot.request import shot_of

FLIGHT = stairs([(0.45 + 0.25 * k, 0.06) for k in range(16)], 0.0, "the steps")


@pytest.mark.sample(1)
@pytest.mark.parametrize("ground", [Ground(0.3), Ground(-0.3), FLIGHT], ids=["up", "down", "steps"])
def test_a_cat_does_not_surge_on_a_slope(ground):
    """It went at .17 to .46, .16 to .41 and .12 to .47 m/s in each stride; on the level at .44 to .49."""
    passage = Passage(cycle=Request(gait="walk", animal="cat"), distance_m=2.2)
    made = make_shot(shot_of(ShotRequest((passage,), ground=ground)))
    part = next(each for each in made.timeline.pieces if each.kind == "steady")
    middle = (part.first + part.after) // 2
    speed = np.gradient(made.clip.root_path_m[:, 0])[middle - 24 : middle + 24]
    assert np.ptp(speed) < 0.25 * speed.mean()
