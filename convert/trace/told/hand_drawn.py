"""Lines drawn by hand: a few points told, run through smoothly but for their corners."""

from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicHermiteSpline

from calibration.ground.points import Points, closed, lengths_along, resample
from convert.trace.edge.ring import STEP_MM

CORNER_DEG = 40.0
"""A point told at which the line turns so far is a corner, where the corners themselves were not told."""
_ARM_MM = 4.0  # over which the turn is judged, so that the jitter of points set densely is none
_SAME_MM = 0.05  # points told nearer than this are one


def told_corners(line: Points, *, ring: bool) -> npt.NDArray[np.int64]:
    """Indices of the points (N, 2) at which a line turns sharply; the ends of an open line are none."""
    run = closed(line) if ring else line
    along = lengths_along(run)
    total = along[-1]
    at = along[: len(line)]

    def place(where: npt.NDArray[np.float64]) -> Points:
        where = where % total if ring else np.clip(where, 0.0, total)
        return np.column_stack([np.interp(where, along, run[:, 0]), np.interp(where, along, run[:, 1])])

    before, after = line - place(at - _ARM_MM), place(at + _ARM_MM) - line
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.abs(np.degrees(np.arctan2(cross, (before * after).sum(1))))
    if not ring:
        turn[[0, -1]] = 0.0
    gap = np.abs(at[:, None] - at[None, :])
    near = (np.minimum(gap, total - gap) if ring else gap) < _ARM_MM
    highest = np.where(near, turn[None, :], 0.0).max(1)
    return np.flatnonzero((turn >= CORNER_DEG) & (turn >= highest))


def smooth_line(points: Points, *, before: Points | None = None, after: Points | None = None) -> Points:
    """An open line (M, 2), at most 0.5 mm apart, smoothly through every point (N, 2), both ends kept.

    ``before`` and ``after`` (2,) are the neighbours beyond its ends, where it shall run on smoothly into another line.
    Source: C. Yuksel, S. Schaefer, J. Keyser, On the parameterization of Catmull-Rom curves, 2011: the centripetal one
    neither loops nor strays between its points.
    """
    points = without_repeats(points)
    if len(points) < 2:
        return points
    before = None if before is None or np.hypot(*(before - points[0])) <= _SAME_MM else before
    after = None if after is None or np.hypot(*(after - points[-1])) <= _SAME_MM else after
    nodes = np.vstack([*([] if before is None else [before]), points, *([] if after is None else [after])])
    if len(nodes) == 2:
        return resample(points, STEP_MM)
    knots = np.concatenate([[0.0], np.cumsum(np.sqrt(np.hypot(*np.diff(nodes, axis=0).T)))])
    curve = CubicHermiteSpline(knots, nodes, _slopes(knots, nodes))
    first, last = int(before is not None), len(nodes) - 1 - int(after is not None)
    fine = [np.linspace(knots[i], knots[i + 1], 33)[:-1] for i in range(first, last)]
    return resample(curve(np.concatenate([*fine, knots[last : last + 1]])), STEP_MM)


def _slopes(knots: npt.NDArray[np.float64], nodes: Points) -> Points:
    """Slope (N, 2) at each node: of the parabola through it and its neighbours."""
    steps = np.diff(knots)[:, None]
    rates = np.diff(nodes, axis=0) / steps
    inner = (rates[:-1] * steps[1:] + rates[1:] * steps[:-1]) / (steps[:-1] + steps[1:])
    first, last = 2 * rates[0] - inner[0], 2 * rates[-1] - inner[-1]
    return np.vstack([first, inner, last])


def without_repeats(points: Points) -> Points:
    """The points without those that lie on the one before."""
    if len(points) < 2:
        return points
    apart = np.hypot(*np.diff(points, axis=0).T) > _SAME_MM
    return points[np.concatenate([[True], apart])]


def smooth_ring_through(points: Points, corners: npt.NDArray[np.int64]) -> tuple[Points, npt.NDArray[np.int64]]:
    """A ring (M, 2) through told points (N, 2), and where its corners lie in it; ``corners`` are indices of points.

    Without corners it is smooth all round.
    """
    if not len(corners):
        two = np.vstack([points, points, points])
        n = len(points)
        whole = smooth_line(two[n : 2 * n + 1], before=two[n - 1], after=two[2 * n + 1])
        return whole[:-1], np.zeros(0, np.int64)
    turned = np.roll(points, -int(corners[0]), axis=0)
    stops = [*(corners - corners[0]), len(points)]
    runs = [
        smooth_line(closed(turned)[a : b + 1] if b < len(points) else np.vstack([turned[a:], turned[:1]]))[:-1]
        for a, b in pairwise(stops)
    ]
    return np.vstack(runs), np.cumsum([0, *[len(run) for run in runs[:-1]]]).astype(np.int64)
