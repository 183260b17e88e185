"""Contacts found in toe paths that are drawn by formula: to the frame where clean, near it where not."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen.motion.contacts import find_feet
from gaitgen.motion.foot_paths import FootPaths
from gaitgen.motion.loop import find_loop
from gaitgen.motion.stance_runs import LEAST_ROWS

STEP_S = 1.0 / 24.0
CONTACTS = np.array([0.75, 0.25, 0.5, 0.0])  # of the stride, LF, RF, LH, RH: a walk
HOMES = np.array([[0.6, 0.12], [0.6, -0.12], [-0.6, 0.12], [-0.6, -0.12]])
SOME = settings(max_examples=40, deadline=None, derandomize=True)


def toe_paths(stride, down, rows, *, belt_m=0.05, in_place=True):
    """Toes (rows, 4, 3) that stand for ``down`` frames and swing in an arc for the rest, and the root.

    ``belt_m`` is the travel of a frame. Contacts are on whole frames.
    """
    frame = np.arange(rows)[:, None]
    contact = np.round(CONTACTS * stride)
    since = (frame - contact) % stride
    swing = np.clip((since - down) / (stride - down), 0.0, 1.0)
    eased = swing**3 * (10.0 - 15.0 * swing + 6.0 * swing**2)
    reach = down * belt_m
    along = np.where(since <= down, reach / 2.0 - since * belt_m, (eased - 0.5) * reach)
    toes = np.empty((rows, 4, 3))
    toes[..., 0], toes[..., 1] = HOMES[:, 0] + along, HOMES[:, 1]
    toes[..., 2] = 0.09 * np.sin(np.pi * eased) ** 2
    root = np.zeros((rows, 3))
    root[:, 2] = 1.2
    if not in_place:
        root[:, 0] += np.arange(rows) * belt_m
        toes[..., 0] += frame * belt_m
    return toes, root


def asked(stride, down, rows):
    contact = np.round(CONTACTS * stride)
    return (np.arange(rows)[:, None] - contact) % stride <= down


def found(toes, root, noise_m=None):
    paths = FootPaths(toes, root, STEP_S, 1.2, *([] if noise_m is None else [noise_m]))
    return find_feet(paths, find_loop(np.concatenate([root[:, None], toes], axis=1)))


@pytest.mark.parametrize("seed", range(5))
def test_slow_feet_are_found_in_noise_that_is_as_fast(seed):
    """A stroll of 0.3 m/s: from frame to frame 6 mm of noise go as far as a foot that swings."""
    stride, down = 96, 64
    toes, root = toe_paths(stride, down, stride + 1, belt_m=0.0125)
    noise_m = np.full((4, 3), 0.006)
    noise_m[:, 2] = 0.003
    shaken = toes + noise_m * np.random.default_rng(seed).normal(size=toes.shape)
    feet = found(shaken, root, noise_m)
    assert [len(feet.of(limb)) for limb in range(4)] == [1, 1, 1, 1]
    away = feet.planted != asked(stride, down, stride + 1)
    assert away.sum(axis=0).max() <= 8  # of 97 frames, both ends together
    assert feet.belt_m_s[0] == pytest.approx(-0.3, rel=0.03)


@given(st.integers(12, 100), st.floats(0.4, 0.8), st.booleans(), st.integers(1, 3))
@SOME
def test_clean_contacts_are_found_to_the_frame(stride, duty, in_place, strides):
    down, rows = round(duty * stride), strides * stride + 1
    toes, root = toe_paths(stride, down, rows, in_place=in_place)
    feet = found(toes, root)
    np.testing.assert_array_equal(feet.planted, asked(stride, down, rows))
    assert feet.in_place is in_place
    np.testing.assert_allclose(feet.belt_m_s, [-0.05 / STEP_S * in_place, 0.0], atol=1e-9)
    np.testing.assert_allclose(feet.body_m_s, [0.05 / STEP_S, 0.0], atol=1e-9)
    assert feet.ground_m == pytest.approx(0.0, abs=1e-12)
    assert len(feet.stances) == 4 * strides
    assert all(stance.whole and stance.last - stance.first == down for stance in feet.stances)
    assert max(np.abs(stance.path_m).max() for stance in feet.stances) < 1e-9


@pytest.mark.parametrize("first", range(0, 24, 5))
def test_a_clip_that_is_no_loop_has_stances_cut_off_by_its_ends(first):
    rows = slice(first, first + 37)
    toes, root = toe_paths(24, 16, 80, in_place=False)
    feet = found(toes[rows], root[rows])
    inner = slice(LEAST_ROWS, -LEAST_ROWS)  # what is left of a stance at an end may be too short to tell
    np.testing.assert_array_equal(feet.planted[inner], asked(24, 16, 80)[rows][inner])
    for stance in feet.stances:
        assert stance.begins == (stance.first > 0)
        assert stance.ends == (stance.last < 36)


@pytest.mark.parametrize("seed", range(6))
def test_noise_moves_contacts_by_a_frame_or_two(seed):
    stride, down = 48, 32
    toes, root = toe_paths(stride, down, stride + 1)
    noisy = toes + np.random.default_rng(seed).normal(0.0, 0.0015, toes.shape)
    feet = found(noisy, root, np.full((4, 3), 0.0015))
    assert (feet.planted != asked(stride, down, stride + 1)).sum(axis=0).max() <= 5
    np.testing.assert_allclose(feet.belt_m_s, [-0.05 / STEP_S, 0.0], atol=0.01)
    for limb in range(4):
        (stance,) = feet.of(limb)
        wanted = round(CONTACTS[limb] * stride)
        assert abs((stance.first - wanted + stride / 2) % stride - stride / 2) <= 2
        assert abs(stance.last - stance.first - down) <= 4


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_a_foot_that_slips_or_hangs_in_the_air_shows_it_and_the_others_stay_exact(axis):
    stride, down = 32, 22
    toes, root = toe_paths(stride, down, stride + 1)
    contact = round(CONTACTS[1] * stride)
    part = contact + np.arange(8, 16)
    toes[part, 1, axis] += 0.02 * np.sin(np.linspace(0.0, np.pi, part.size))
    feet = found(toes, root)
    others = [0, 2, 3]
    np.testing.assert_array_equal(feet.planted[:, others], asked(stride, down, stride + 1)[:, others])
    (stance,) = feet.of(1)
    assert abs(stance.first - contact) <= 1
    assert abs(stance.last - contact - down) <= 1
    assert np.ptp(stance.path_m[:, axis]) == pytest.approx(0.02, abs=1e-3)
    assert max(np.abs(s.path_m).max() for k in others for s in feet.of(k)) < 1e-9


def test_a_sliding_foot_is_no_measure_of_the_ground():
    """All the way through its stance one foot goes slower than the ground; the belt is the others'."""
    toes, root = toe_paths(32, 22, 33)
    since = (np.arange(33) - round(CONTACTS[2] * 32)) % 32
    toes[:, 2, 0] += np.where(since <= 22, 0.002 * since, 0.044 * np.clip((32 - since) / 10.0, 0.0, 1.0))
    feet = found(toes, root)
    np.testing.assert_allclose(feet.belt_m_s, [-0.05 / STEP_S, 0.0], atol=1e-9)
    (stance,) = feet.of(2)
    assert np.ptp(stance.path_m[:, 0]) > 0.03


def test_a_foot_that_never_stands_has_no_stance():
    toes, root = toe_paths(32, 22, 33)
    toes[:, 0, 2] += 0.4
    assert found(toes, root).of(0) == []
