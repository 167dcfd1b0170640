"""Least squares over the unknowns of a drawing: all difference quotients in one go, steps damped until they help."""

from collections.abc import Callable

import numpy as np

from convert.block.trued.curve import Real

_STEP = 1e-4  # of a difference quotient, in scales
_ROUNDS = 40
_STILL = 3e-4  # in scales: a smaller step changes nothing that could be measured
_LEAST_GAIN = 1e-7  # of the sum of squares


def least_squares(residuals: Callable[[Real], Real], start: Real, scale: Real, *, rounds: int = _ROUNDS) -> Real:
    """Unknowns (N,) that make the sum of squared residuals least, near ``start``.

    ``residuals`` takes trials (B, N) and gives rows (B, R). Method: Levenberg-Marquardt.
    """
    x, damping = np.array(start, float), 1e-3
    here = residuals(x[None])[0]
    cost = float(here @ here)
    for _ in range(rounds):
        trials = x + np.diag(scale * _STEP)
        slope = (residuals(trials) - here).T / _STEP
        normal, pull = slope.T @ slope, slope.T @ here
        moved = False
        for _ in range(8):
            step = -np.linalg.solve(normal + damping * np.diag(1.0 + np.diag(normal)), pull)
            there = residuals((x + step * scale)[None])[0]
            new = float(there @ there)
            if np.isfinite(new) and new < cost:
                moved = True
                break
            damping = min(damping * 6.0, 1e8)
        if not moved:
            break
        gain, x, here = cost - new, x + step * scale, there
        cost, damping = new, max(damping / 8.0, 1e-12)
        if float(np.abs(step).max()) < _STILL or gain < _LEAST_GAIN * max(cost, 1e-6):
            break
    return x
