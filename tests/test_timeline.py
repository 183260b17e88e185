"""Contacts, support shares and tempo, against published figures."""

import numpy as np
import pytest

from gaitgen.animal.library import load_animal
from gaitgen.course.cycle import CycleTiming, cycle_steps, cycle_timing
from gaitgen.course.path import Path
from gaitgen.course.stance import pair_hand_over, stance_state
from gaitgen.errors import GaitError, RequestError
from gaitgen.gait.gait import load_gait, symmetrical
from gaitgen.gait.tempo import choose_tempo, froude_number

TRACK_M = np.array([0.13, -0.13, 0.12, -0.12])


def footfalls(timing: CycleTiming):
    return cycle_steps(timing, 24.0, Path.straight(1.2), np.zeros(4), TRACK_M)


def test_contacts_of_a_32_frame_walk():
    """Common practice, no source: 1 RH, 9 RF, 17 LH, 25 LF."""
    timing = cycle_timing(32, 0.6775, symmetrical(0.25))
    assert timing.contact == (24.0, 8.0, 16.0, 0.0)
    assert timing.down == (22.0,) * 4


@pytest.mark.parametrize("frames", [8, 9, 16, 24, 31, 32, 96])
def test_hand_over_shares_each_pair(frames):
    state = stance_state(
        footfalls(cycle_timing(frames, 0.65, symmetrical(0.25))), np.arange(4 * frames) / 96.0
    )
    weights = pair_hand_over(state)
    np.testing.assert_allclose(weights.reshape(-1, 2, 2).sum(axis=2), 1.0, atol=1e-12)
    assert np.all(weights[~state.planted] == 0.0)


def test_speed_and_stride_length_that_contradict():
    with pytest.raises(RequestError, match="give only one of them"):
        choose_tempo(load_gait("walk"), 1.0, load_animal("riding_horse"), speed_m_s=1.0, stride_length_m=2.0)


def test_froude_number_by_hand():
    assert froude_number(2.0, 0.5) == pytest.approx(0.815773, abs=1e-6)


def test_unknown_gait_suggests_the_nearest():
    with pytest.raises(GaitError, match="did you mean 'walk'"):
        load_gait("wlak")
