"""How widely values scatter, whatever outliers are among them."""

import numpy as np
import numpy.typing as npt

NORMAL = 1.4826
"""Standard deviations to one median absolute deviation of a normal distribution: 1 / 0.6745, its upper quartile."""


def robust_spread(residuals: npt.ArrayLike) -> float:
    """Standard deviation that the median size of residuals about zero stands for (of a normal distribution)."""
    return NORMAL * float(np.median(np.abs(residuals)))
