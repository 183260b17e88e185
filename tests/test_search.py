"""How far something can be taken: the search finds what trying every step finds."""

import numpy as np
import pytest

from gaitgen.numerics.search import MOST_MORE, farthest

STEPS, HALVINGS = 64, 6


def bend(share):
    return np.array([share**3 - 0.4, share - 0.9])


def even(share):
    return np.array([2.0 * share - 1.1])


def jump(share):
    return np.array([-0.01 if share < 0.7 else np.inf, share - 0.95])


def flat(share):
    return np.array([-1e-9 if share < 0.31 else 5.0])


def root(share):
    return np.array([share**0.2 - 0.7])


def late(share):
    return np.array([share**12 - 1e-5])


@pytest.mark.sample(6)
@pytest.mark.parametrize("curve", [bend, even, jump, flat, root, late])
def test_the_last_step_without_excess_is_found_in_few_more_tries_than_halving(curve):
    tried = []

    def at(step):
        tried.append(step)
        return step

    found = farthest(0, STEPS, STEPS, at, lambda step: curve(step / STEPS))
    fit = [step for step in range(STEPS + 1) if not (curve(step / STEPS) > 0.0).any()]
    assert found == fit[-1]
    assert len(set(tried)) == len(tried) <= HALVINGS + MOST_MORE


def test_what_goes_evenly_is_found_sooner_than_by_halving():
    tried = []
    assert farthest(0, STEPS, STEPS, lambda step: tried.append(step) or step, lambda k: even(k / STEPS)) == 35
    assert len(tried) == 2


def test_what_goes_nearly_evenly_is_found_sooner_than_by_halving():
    tried = []
    bent = lambda step: np.array([(step / STEPS) ** 1.5 - 0.3])  # noqa: E731
    assert farthest(0, STEPS, STEPS, lambda step: tried.append(step) or step, bent) == 28
    assert len(tried) < HALVINGS


def test_where_even_the_first_is_in_excess_the_last_that_fits_is_sought_all_the_same():
    def excess(step):
        return np.array([0.5 if step in (0, STEPS) else float(step - 20)])

    assert farthest(0, STEPS, STEPS, int, excess) == 20


def test_the_next_step_is_not_tried_where_a_line_through_two_tries_is_well_over():
    tried = []

    def excess(step):
        return np.array([(step / STEPS) ** 1.1 - 0.5])

    found = farthest(0, STEPS, STEPS, lambda step: tried.append(step) or step, excess)
    assert found == tried[-1] == 34
    assert excess(found + 1).max() > 0.0
    assert found + 1 not in tried


def test_what_comes_to_its_end_and_stays_there_ends_no_search():
    """As a swing that is held to its range: a line through it would go on, and be over long before."""

    def excess(step):
        return np.array([min(step - 30.0, -0.01), step - 50.5])

    assert farthest(0, STEPS, STEPS, int, excess) == 50


def test_the_first_try_is_on_a_coarse_step():
    tried = []
    found = farthest(0, 60, 60, lambda step: tried.append(step) or step, lambda k: even(k / 64), first_on=10)
    assert found == 35
    assert tried[0] == 30
