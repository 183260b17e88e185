"""A small convex quadratic programme: without bounds first, which is one linear system, then with them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from gaitgen.body.active_set import within_bounds
from gaitgen.errors import ReachError

Array = npt.NDArray[np.float64]

# A bound may be missed by this, in body weights: nothing that can be seen or measured.
SLACK = 1e-9
NOTHING_CARRIES = (
    "no forces of feet that only push carry this body on these steps; ask for another speed or gait, "
    "or check the masses in the animal's file"
)


def inverse_root(hessian: Array) -> Array:
    """Return R^-1, (n, n) and upper triangular, of a positive definite R' R.

    Raises
    ------
    ReachError
        If the matrix is not positive definite.
    """
    from scipy.linalg import lapack  # which a loop does without

    try:
        lower, _ = lapack.dtrtri(np.linalg.cholesky(hessian), lower=1)
    except np.linalg.LinAlgError:
        raise ReachError(NOTHING_CARRIES) from None
    return np.ascontiguousarray(lower.T)


def solve_programme(
    hessian: Array,
    gradient: Array,
    equal: Array,
    equal_to: Array,
    positive: Array,
    root: Array | None = None,
) -> Array:
    """Minimise x' H x / 2 - g' x with E x = e exactly and P x >= 0.

    Parameters
    ----------
    hessian, gradient
        (n, n) positive definite, (n,).
    equal, equal_to
        (m, n), (m,) what holds exactly.
    positive
        (k, n) rows that must not become negative.
    root
        What `inverse_root` says of the hessian, if it is known; sooner where many unknowns meet bounds.

    Returns
    -------
    (n,) the one minimum (Goldfarb D. & Idnani A. 1983, Math Programming 27:1-33, where a bound is met).

    Raises
    ------
    ReachError
        If nothing meets all of that.
    """
    count, exact = hessian.shape[0], equal.shape[0]
    if root is not None and exact == 0:
        free = root @ (root.T @ gradient)
    else:
        matrix = np.zeros((count + exact, count + exact))
        matrix[:count, :count] = hessian
        matrix[:count, count:], matrix[count:, :count] = equal.T, equal
        free = np.linalg.solve(matrix, np.concatenate([gradient, equal_to]))[:count]
    if float((positive @ free).min()) >= -SLACK:
        return np.asarray(free)
    if root is not None and exact == 0:
        met = within_bounds(free, positive, root)
        if met is not None:
            return met
    import quadprog

    scale = float(np.trace(hessian)) / count
    rows = np.concatenate([equal, positive])
    bounds = np.concatenate([equal_to, np.zeros(positive.shape[0])])
    try:
        square = hessian / scale if root is None else root * np.sqrt(scale)
        answer = quadprog.solve_qp(
            square, gradient / scale, rows.T.copy(), bounds, exact, factorized=root is not None
        )[0]
    except ValueError:
        raise ReachError(NOTHING_CARRIES) from None
    return np.asarray(answer)
