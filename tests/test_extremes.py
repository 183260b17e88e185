"""Highs and lows of sampled curves: known curves, level stretches, seams, ends."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaitgen.motion.extremes import extremes, highest, main_extremes, share_of_range
from gaitgen.numerics.curves import refined

SOME = settings(max_examples=100, deadline=None, derandomize=True)


def said(found):
    return [(extreme.row, "high" if extreme.is_high else "low") for extreme in found]


@pytest.mark.parametrize("count", [16, 24, 32, 97])
@pytest.mark.parametrize("shift", [0.0, 0.3, -0.49, 5.2])
def test_a_wave_turns_where_it_does_between_samples_too(count, shift):
    """cos of twice a stride: highs at shift and half a stride later, lows between; by hand."""
    rows = np.arange(count)
    curve = 3.0 + 0.02 * np.cos(4.0 * np.pi * (rows - shift) / count)
    found = extremes(curve, is_closed=True)
    wanted = np.sort((shift + np.arange(4) * count / 4.0 + 0.5) % count - 0.5)
    assert [e.is_high for e in found].count(True) == [e.is_high for e in found].count(False) == 2
    np.testing.assert_allclose([e.place for e in found], wanted, atol=0.3 / count)
    np.testing.assert_allclose([e.value for e in found if e.is_high], 3.02, atol=2e-4)
    assert all(abs(e.place - e.row) <= 0.5 for e in found)
    assert highest(curve, is_closed=True) == pytest.approx(3.02, abs=2e-4)


def test_a_parabola_is_met_exactly_and_ends_are_no_extremes():
    rows = np.arange(9.0)
    curve = 5.0 - 0.3 * (rows - 3.7) ** 2
    (top,) = extremes(curve, is_closed=False)
    assert (top.row, top.is_high) == (4, True)
    assert (top.place, top.value) == (pytest.approx(3.7), pytest.approx(5.0))
    assert extremes(rows, is_closed=False) == ()
    assert said(extremes(rows, is_closed=True)) == [(0, "low"), (8, "high")]


@pytest.mark.parametrize(
    ("curve", "wanted"),
    [
        ([3, 1, 1, 1, 2], [(1, "low", 2.0)]),
        ([3, 1, 1, 0, 2], [(3, "low", None)]),  # a step on the way down is no low
        ([1, 2, 2, 1, 1, 2], [(1, "high", 1.5), (3, "low", 3.5)]),
        ([0, 0, 0], []),
        ([1], []),
        ([], []),
        ([1, 1, 2, 2], []),
        ([0, 1, 0, 1, 0], [(1, "high", 1.0), (2, "low", 2.0), (3, "high", 3.0)]),
        ([1.0, 2.0, 2.0 + 1e-15, 1.0], [(1, "high", 1.5)]),  # what rounding makes is no step
    ],
)
def test_level_stretches_count_once(curve, wanted):
    found = extremes(np.array(curve, dtype=float), is_closed=False)
    assert said(found) == [(row, word) for row, word, _ in wanted]
    for extreme, (_, _, place) in zip(found, wanted, strict=True):
        if place is not None:
            assert extreme.place == pytest.approx(place)


def test_a_level_stretch_may_lie_over_the_seam():
    curve = np.array([2.0, 2.0, 0.0, 1.0, 2.0])
    assert said(extremes(curve, is_closed=True)) == [(2, "low"), (4, "high")]
    (high,) = [e for e in extremes(curve, is_closed=True) if e.is_high]
    assert high.place == pytest.approx(5.0)  # the middle of samples 4, 5 and 6: 0 of the next turn


@given(st.lists(st.integers(-4, 4), min_size=1, max_size=30), st.integers(0, 40))
@SOME
def test_highs_and_lows_take_turns_and_go_along_with_the_loop(values, by):
    curve = np.array(values, dtype=float)
    found = extremes(curve, is_closed=True)
    words = [e.is_high for e in found]
    assert all(a != b for a, b in zip(words, words[1:] + words[:1], strict=True) if len(words) > 1)
    shifted = extremes(np.roll(curve, by), is_closed=True)
    assert len(shifted) == len(found)
    for e in found:  # each is found again, so many samples later
        later = [(s.place - e.place - by + 0.5) % curve.size for s in shifted if s.is_high == e.is_high]
        assert any(at == pytest.approx(0.5, abs=1e-9) for at in later)
    if np.ptp(curve) > 0.0:
        assert {e.row for e in found if e.is_high} & set(np.flatnonzero(curve == curve.max()).tolist())
        assert highest(curve, is_closed=True) >= curve.max()


def test_small_dents_are_left_out_of_the_main_turns():
    turn = 2.0 * np.pi * np.arange(64) / 64
    curve = np.cos(turn) + 0.3 * np.cos(5.0 * turn)
    assert len(extremes(curve, is_closed=True)) > 2
    assert said(main_extremes(curve, is_closed=True)) == [(0, "high"), (32, "low")]
    assert said(main_extremes(np.roll(curve, 3), is_closed=True)) == [(3, "high"), (35, "low")]
    assert said(main_extremes(curve[4:60], is_closed=False)) == [(7, "high"), (28, "low"), (49, "high")]


def test_how_high_a_curve_is_at_a_share():
    curve = np.array([0.0, 1.0, 4.0, 1.0])
    assert [share_of_range(curve, place) for place in (0, 0.5, 2.0, 3.5, 4.0, 6.0)] == pytest.approx(
        [0.0, 0.125, 1.0, 0.125, 0.0, 1.0]
    )
    assert share_of_range(np.full(4, 7.0), 1.3) == 0.5


@pytest.mark.parametrize("frames", [8, 31, 32])
def test_on_more_samples_the_place_is_exact(frames):
    curve = np.cos(4.0 * np.pi * (np.arange(frames) - 1.234) / frames)
    fine = refined(curve)[:-1]
    first = next(e for e in extremes(fine, is_closed=True) if e.is_high)
    assert first.place / fine.size * frames == pytest.approx(1.234, abs=1e-5)
