"""The smoothest line through samples of uneven trust: one that bends as little as its samples let it."""

import numpy as np
import numpy.typing as npt
from scipy.linalg import solveh_banded

Values = npt.NDArray[np.float64]

_ROUNDS = 3
_TUNING = 3.0  # samples further off than this many robust standard deviations lose their say
_LEAST_SPREAD = 0.07


def smoothest(values: Values, weight: Values, stiffness: float) -> Values:
    """Line (N, D) that minimises the weighted squared misses plus ``stiffness`` times its squared second differences.

    Where ``weight`` (N,) is 0 the line runs on as a spline would. Samples far off are passed over.

    Source: E. T. Whittaker, On a new method of graduation, 1923; weights after P. J. Huber's robust rounds.
    """
    n = len(values)
    bend = np.zeros((3, n))
    bend[0, 2:] = 1.0
    bend[1, 1:] = -4.0
    bend[1, [1, -1]] = -2.0
    bend[2] = 6.0
    bend[2, [0, -1]], bend[2, [1, -2]] = 1.0, 5.0
    trust, line = weight, values
    for _ in range(_ROUNDS):
        matrix = stiffness * bend
        matrix[2] += trust + 1e-9
        line = solveh_banded(matrix, (trust + 1e-9)[:, None] * values, check_finite=False)
        miss = np.sqrt(((values - line) ** 2).sum(1))
        told = miss[weight > 0.02]
        spread = max(_LEAST_SPREAD, 1.4826 * float(np.median(told)) / 1.2) if len(told) else 1.0
        trust = weight / (1.0 + (miss / (_TUNING * spread)) ** 2)
    return np.asarray(line, float)
