"""The middle of a few values, sooner than numpy's, which spends far longer on looking at what it is given."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def middle(values: npt.ArrayLike) -> Array:
    """Return the median along the first axis, (n, ...) to (...): what `numpy.median` does, to the bit.

    Of the two in the middle the mean; nan of nothing, and where one is nan.
    """
    ordered = np.sort(values, axis=0)
    count = ordered.shape[0]
    if not count:
        return np.full(ordered.shape[1:], np.nan)
    half, last = count // 2, ordered[-1]
    found = ordered[half] if count % 2 else (ordered[half - 1] + ordered[half]) / 2.0
    is_none = np.isnan(last)  # they are sorted to the end
    return np.asarray(np.where(is_none, np.nan, found) if is_none.any() else found, dtype=np.float64)
