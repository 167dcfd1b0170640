"""The running median along a closed line against SciPy's filter of several dimensions."""

import numpy as np
import pytest
from scipy.ndimage import median_filter

from convert.trace.edge.running_median import running_median


@pytest.mark.parametrize(("shape", "reach"), [((60, 3), 4), ((5, 90, 3), 20), ((2, 31, 1), 31)])
def test_it_is_the_median_filter_of_several_dimensions(shape: tuple[int, ...], reach: int) -> None:
    values = np.random.default_rng(5).normal(size=shape)
    window = (1,) * (len(shape) - 2) + (2 * reach + 1, 1)
    assert np.array_equal(running_median(values, reach), median_filter(values, size=window, mode="wrap"))
