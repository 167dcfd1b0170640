"""Points along a line on the parabola through each one's neighbours.

The same as SciPy's Savitzky-Golay filter of order 2, which a test compares it with: importing ``scipy.signal`` for it
costs a quarter of a second on every start of the program.
"""

import numpy as np
from scipy.ndimage import correlate1d

from calibration.ground.points import Points


def running_parabola(points: Points, window: int) -> Points:
    """Points (N, 2), evenly spaced, each moved to the least-squares parabola of the ``window`` (odd, <= N) round it.

    Near the ends the parabola of the first or last full window is followed.
    Source: A. Savitzky and M. J. E. Golay, Analytical Chemistry 36(8), 1964.
    """
    half = window // 2
    place = np.arange(-half, half + 1)
    powers = np.vander(place, 3)
    solve = np.linalg.pinv(powers)
    out = np.asarray(correlate1d(points, solve[2], axis=0, mode="nearest"), float)
    out[:half] = powers[:half] @ (solve @ points[:window])
    out[-half:] = powers[-half:] @ (solve @ points[-window:])
    return out
