"""The bounds of a balance without a period, found all at once, against a solver that takes them in singly."""

import numpy as np
import pytest
import quadprog

from gaitgen.body.active_set import within_bounds
from gaitgen.body.programme import inverse_root


@pytest.mark.sample(6)
@pytest.mark.parametrize("seed", range(40))
def test_bounds_found_all_at_once_are_those_found_one_by_one(seed):
    """Feet only push, and inside a pyramid of friction, as in a balance; any quadratic form."""
    rng = np.random.default_rng(seed)
    bumps = int(rng.integers(2, 40))
    count = 3 * bumps
    mixed = rng.normal(size=(2 * count, count)) / np.sqrt(2 * count)
    hessian = mixed.T @ mixed + 1e-3 * np.eye(count)
    gradient = rng.normal(size=count)
    own, none = np.eye(bumps), np.zeros((bumps, bumps))
    positive = np.concatenate(
        [
            np.concatenate([own, none, none], axis=1),
            *(np.concatenate([0.4 * own, sign * own, none], axis=1) for sign in (1.0, -1.0)),
            *(np.concatenate([0.4 * own, none, sign * own], axis=1) for sign in (1.0, -1.0)),
        ]
    )
    root = inverse_root(hessian)
    free = root @ (root.T @ gradient)
    assert (positive @ free).min() < 0.0
    found = within_bounds(free, positive, root)
    wanted = quadprog.solve_qp(hessian, gradient, positive.T.copy(), np.zeros(len(positive)))[0]
    assert found is not None
    size = np.abs(wanted).max()
    assert (positive @ found).min() > -1e-8 * size
    np.testing.assert_allclose(found, wanted, rtol=0.0, atol=1e-8 * size)
