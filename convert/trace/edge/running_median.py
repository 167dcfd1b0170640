"""Running medians along a closed line."""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import median_filter

Values = npt.NDArray[np.float64]


def running_median(values: Values, reach: int) -> Values:
    """Median of values (..., N, C) over ``reach`` places to both sides along the last axis but one, which is closed.

    All rows are strung end to end, because SciPy's filter is some fifteen times faster in one dimension.
    """
    ends = [(0, 0)] * (values.ndim - 1) + [(reach, reach)]
    rows = np.pad(np.moveaxis(values, -2, -1), ends, mode="wrap")
    strung = median_filter(rows.ravel(), size=2 * reach + 1)
    return np.asarray(np.moveaxis(strung.reshape(rows.shape)[..., reach:-reach], -1, -2))
