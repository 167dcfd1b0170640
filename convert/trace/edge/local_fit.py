"""Robust local polynomials along a run of evenly spaced samples."""

import numpy as np
import numpy.typing as npt

Values = npt.NDArray[np.float64]

_ROUNDS = 4
_STIFF = 0.006  # holds a short run's curvature down: noise of 0.1 mm against a bow of 1.3 mm over the kernel, squared
_SCALE = 20.0  # steps that make one unit in a fit from an end
_TUNING = 2.5  # samples further off than this many robust standard deviations lose their say


def local_fit(
    values: Values,
    weight: Values,
    kernel: Values,
    offset: Values,
    *,
    degree: int = 2,
    rounds: int = _ROUNDS,
    smallest_spread: float = 0.02,
) -> tuple[Values, Values]:
    """Value and slope of a local polynomial at every sample.

    Parameters
    ----------
    values : (N, D)
        Samples one step apart along a run; each column is fitted, outliers are judged over all columns together.
    weight : (N,)
        Trust in each sample, 0 to leave it out.
    kernel, offset : (K,)
        Weight of the neighbour ``offset`` steps further on; offsets run evenly by one step and contain 0 within their
        span.
    degree : int
        1 or 2.

    Returns
    -------
    fitted, slope : (N, D)
        Slope per step.
    """
    values, weight = _filled(values, weight.astype(float))
    trust = weight
    fitted, slope = _solve(values, trust, kernel, offset, degree)
    for _ in range(rounds):
        miss = np.sqrt(((values - fitted) ** 2).sum(1))
        spread = max(smallest_spread, 1.4826 * _median(miss, weight > 0) / 1.2)
        trust = weight / (1.0 + (miss / (_TUNING * spread)) ** 4)
        fitted, slope = _solve(values, trust, kernel, offset, degree)
    return fitted, slope


def end_fit(values: Values, weight: Values, steps: Values, *, rounds: int = _ROUNDS) -> tuple[Values, Values]:
    """Value (D,) and slope per step (D,) at step 0 of samples (K, D) taken at ``steps`` (K,), in rising order.

    A parabola whose curvature is held down as in :func:`local_fit`; samples nearer to step 0 count for more.
    """
    t = steps / _SCALE
    reach = float(steps[-1] - steps[0]) + 2
    kernel = (1 - ((steps - steps[0]) / reach) ** 3) ** 3 * np.maximum(weight, 1e-4 * max(float(weight.max()), 1e-9))
    basis = np.stack([np.ones_like(t), t, t * t], axis=1)
    trust = kernel
    answer = np.zeros((3, values.shape[1]))
    for _ in range(rounds):
        matrix = basis.T @ (trust[:, None] * basis) + np.diag([1e-9, 1e-9, _STIFF])
        answer = np.linalg.solve(matrix, basis.T @ (trust[:, None] * values))
        miss = np.sqrt(((values - basis @ answer) ** 2).sum(1))
        spread = max(0.02, 1.4826 * _median(miss, weight > 0) / 1.2)
        trust = kernel / (1.0 + (miss / (_TUNING * spread)) ** 4)
    return answer[0], answer[1] / _SCALE


def _filled(values: Values, weight: Values) -> tuple[Values, Values]:
    """Samples without trust drawn straight between those with some, and trusted a very little."""
    good = np.flatnonzero(weight > 0)
    if len(good) == 0 or len(good) == len(values):
        return values, weight
    every = np.arange(len(values))
    drawn = np.column_stack([np.interp(every, good, column[good]) for column in values.T])
    return drawn, np.maximum(weight, 1e-4 * weight.max())


def _median(values: Values, mask: npt.NDArray[np.bool_]) -> float:
    return float(np.median(values[mask])) if mask.any() else 0.0


def _solve(values: Values, trust: Values, kernel: Values, offset: Values, degree: int) -> tuple[Values, Values]:
    """Normal equations at every sample by convolution, solved all at once."""
    scale = float(np.abs(offset).max())
    t = offset / scale
    n = len(values)
    moment = [_gather(trust, kernel * t**k, offset) for k in range(2 * degree + 1)]
    right = [
        np.column_stack([_gather(trust * column, kernel * t**k, offset) for column in values.T])
        for k in range(degree + 1)
    ]
    size = degree + 1
    matrix = np.empty((n, size, size))
    for row in range(size):
        for column in range(size):
            matrix[:, row, column] = moment[row + column]
    for row in range(size):
        matrix[:, row, row] += 1e-9 if row < 2 else _STIFF
    answer = np.asarray(np.linalg.solve(matrix, np.stack(right, axis=1)), float)
    return answer[:, 0], answer[:, 1] / scale


def support(weight: Values, kernel: Values, offset: Values) -> Values:
    """How many fully trusted samples (N,) stand behind the fit at each sample."""
    return _gather(weight / max(float(weight.max()), 1e-12), (kernel > 0).astype(float), offset)


def _gather(values: Values, kernel: Values, offset: Values) -> Values:
    """Sum over k of kernel[k] * values[i + offset[k]], zero beyond the ends."""
    first, last = int(offset[0]), int(offset[-1])
    before, after = max(0, -first), max(0, last)
    padded = np.concatenate([np.zeros(before), values, np.zeros(after)])
    full = np.zeros(before + after + 1)
    full[np.rint(offset).astype(int) + before] = kernel
    if len(full) > 96:
        size = len(padded) + len(full) - 1
        both = np.fft.rfft(padded, size) * np.fft.rfft(full[::-1], size)
        return np.fft.irfft(both, size)[len(full) - 1 : len(padded)]
    return np.convolve(padded, full[::-1], mode="valid")


def tricube(half: int, *, side: int = 0, gap: int = 0) -> tuple[Values, Values]:
    """Tricube kernel and its offsets, ``half`` steps wide; ``side`` -1 or +1 keeps one side only, from ``gap`` on."""
    offset = np.arange(-half, half + 1, dtype=float)
    kernel = (1 - np.abs(offset / (half + 1)) ** 3) ** 3
    if side:
        kernel = np.where(side * offset >= gap, kernel, 0.0)
    return kernel, offset
