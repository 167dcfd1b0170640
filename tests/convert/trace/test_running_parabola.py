"""The running parabola against SciPy's Savitzky-Golay filter."""

import numpy as np
import pytest
from scipy.signal import savgol_filter

from convert.trace.edge.running_parabola import running_parabola


@pytest.mark.parametrize(("count", "window"), [(60, 7), (31, 31), (200, 41), (9, 5)])
def test_it_is_the_savitzky_golay_filter_of_order_two(count: int, window: int) -> None:
    points = np.cumsum(np.random.default_rng(4).normal(size=(count, 2)), axis=0)
    assert np.abs(running_parabola(points, window) - savgol_filter(points, window, 2, axis=0)).max() < 1e-9
