"""Straight lines through points, and where they meet."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Straight:
    """A straight line through ``middle`` (2,) in unit ``direction`` (2,); ``rms`` of its points across it."""

    middle: Points
    direction: Points
    rms: float

    def along(self, points: Points) -> npt.NDArray[np.float64]:
        """Place (N,) of points along the line."""
        return np.asarray((points - self.middle) @ self.direction)

    def aside(self, points: Points) -> npt.NDArray[np.float64]:
        """Distance (N,) of points from the line, positive on its left."""
        return np.asarray((points - self.middle) @ np.array([-self.direction[1], self.direction[0]]))

    def at(self, along: float) -> Points:
        """The point (2,) at a place along the line."""
        return np.asarray(self.middle + along * self.direction)


def fit_straight(points: Points) -> Straight:
    """Line of least squares across itself, without the points that lie off it; directed from first to last point."""
    use = points
    for _ in range(2):
        line = _fit(use)
        aside = np.abs(line.aside(points))
        limit = max(0.05, 2.5 * 1.4826 * float(np.median(aside)))
        use = points[aside <= limit]
    line = _fit(use)
    flip = line.direction @ (points[-1] - points[0]) < 0
    return Straight(middle=line.middle, direction=-line.direction if flip else line.direction, rms=line.rms)


def meeting(a: Straight, b: Straight) -> Points | None:
    """Where two lines cross (2,); None if they are within a degree of parallel."""
    turn = a.direction[0] * b.direction[1] - a.direction[1] * b.direction[0]
    if abs(turn) < 0.0175:
        return None
    step = b.middle - a.middle
    return a.at(float((step[0] * b.direction[1] - step[1] * b.direction[0]) / turn))


def angle_between_deg(a: Points, b: Points) -> float:
    """Angle between two directions, 0 to 180 degrees."""
    return float(np.degrees(np.arctan2(abs(a[0] * b[1] - a[1] * b[0]), a @ b)))


def _fit(points: Points) -> Straight:
    middle = points.mean(0)
    off = points - middle
    spread, axes = np.linalg.eigh(off.T @ off)
    rms = float(np.sqrt(max(spread[0], 0.0) / len(points)))
    return Straight(middle=middle, direction=axes[:, 1], rms=rms)
