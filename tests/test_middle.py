"""The middle of values is numpy's median, to the bit."""

import numpy as np
import pytest

from gaitgen.numerics.middle import middle


@pytest.mark.parametrize("count", range(1, 9))
def test_it_is_the_median_of_one_column_and_of_many(count):
    rng = np.random.default_rng(count)
    for shape in ((count,), (count, 3), (count, 2, 2)):
        values = rng.normal(size=shape)
        np.testing.assert_array_equal(middle(values), np.median(values, axis=0))
        whole = np.round(9.0 * values).astype(np.int64)
        np.testing.assert_array_equal(middle(whole), np.median(whole, axis=0))


def test_where_one_is_none_so_is_the_middle():
    values = np.arange(10.0).reshape(5, 2)
    values[1, 0] = np.nan
    values[2, 1] = np.inf
    np.testing.assert_array_equal(middle(values), [np.nan, 7.0])
    assert np.isnan(middle([]))
    assert middle([[1.0, 2.0], [3.0, 5.0]]).tolist() == [2.0, 3.5]
