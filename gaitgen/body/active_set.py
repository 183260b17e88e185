"""The bounds that a quadratic programme meets, found all at once: few rounds where many are met."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Rounds before it is left to a surer way; bounds that say the same leave their multipliers free, by so much.
ROUNDS, FREE = 40, 1e-10
MISSED = 1e-10  # a bound may be missed by this, which is less than anything that can be measured


def within_bounds(free: Array, positive: Array, root: Array) -> Array | None:
    """Move the minimum without bounds to that within them: x' H x / 2 - g' x with P x >= 0.

    Each round takes the bounds that are missed, or pull, to be met exactly (primal-dual active sets,
    Hintermueller M., Ito K. & Kunisch K. 2003, SIAM J Optim 13:865-888, from memory); when these stay the
    same it is the one minimum.

    Parameters
    ----------
    free
        (n,) minimum without bounds.
    positive
        (k, n) rows that must not become negative.
    root
        (n, n) R^-1, upper triangular, of H = R' R.

    Returns
    -------
    (n,), or None where the bounds that are met do not settle.
    """
    missing = positive @ free
    met = missing < 0.0
    columns = np.empty((root.shape[0], missing.size))
    known = np.zeros_like(met)
    for _ in range(ROUNDS):
        new = met & ~known
        columns[:, new] = root.T @ positive[new].T
        known |= met
        rows = columns[:, met]
        square = rows.T @ rows
        square[np.diag_indices_from(square)] *= 1.0 + FREE
        try:
            pushes = np.linalg.solve(square, -missing[met])
        except np.linalg.LinAlgError:
            return None
        answer = free + root @ (rows @ pushes)
        then = positive @ answer < -MISSED
        then[met] = pushes >= 0.0
        if np.array_equal(then, met):
            return np.asarray(answer)
        met = then
    return None
