"""A quick gait in which some foot is always down is an amble in the words of the check, and no run."""

import pytest
from damage_by_strangers import start_of

from gaitgen.check.gait import _grounded
from gaitgen.check.text import gait_lines


@pytest.mark.parametrize("frames", [18, 20])
def test_an_elephant_that_ambles_does_not_run(frames):
    lines = gait_lines(start_of("elephant", "amble", frames).seen)
    assert lines[0].split(maxsplit=1)[1] == "amble, lateral sequence, single foot"


def test_a_gait_with_flight_runs_and_a_walk_walks():
    assert _grounded("run, lateral sequence, single foot", {"none": 0.1, "LF": 0.9}).startswith("run, ")
    lines = gait_lines(start_of("elephant", "walk").seen)
    assert lines[0].split(maxsplit=1)[1].startswith("walk, ")
