"""Straight lines through points, and where they meet."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.plane import cross, left, turn_deg
from calibration.ground.points import Points
from calibration.ground.spread import robust_spread

_PARALLEL = 0.0175  # sine of a degree


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
        return np.asarray((points - self.middle) @ left(self.direction))

    def at(self, along: float) -> Points:
        """The point (2,) at a place along the line."""
        return np.asarray(self.middle + along * self.direction)


def fit_straight(points: Points) -> Straight:
    """Line of least squares across itself, without the points that lie off it; directed from first to last point."""
    use = points
    for _ in range(2):
        line = _fit(use)
        aside = np.abs(line.aside(points))
        limit = max(0.05, 2.5 * robust_spread(aside))
        use = points[aside <= limit]
    line = _fit(use)
    flip = line.direction @ (points[-1] - points[0]) < 0
    return Straight(middle=line.middle, direction=-line.direction if flip else line.direction, rms=line.rms)


def meeting(a: Straight, b: Straight) -> Points | None:
    """Where two lines cross (2,); None if they are within a degree of parallel."""
    slant = float(cross(a.direction, b.direction))
    if abs(slant) < _PARALLEL:
        return None
    return a.at(float(cross(b.middle - a.middle, b.direction)) / slant)


def angle_between_deg(a: Points, b: Points) -> float:
    """Angle between two directions, 0 to 180 degrees."""
    return float(abs(turn_deg(a, b)))


def _fit(points: Points) -> Straight:
    middle = points.mean(0)
    off = points - middle
    spread, axes = np.linalg.eigh(off.T @ off)
    rms = float(np.sqrt(max(spread[0], 0.0) / len(points)))
    return Straight(middle=middle, direction=axes[:, 1], rms=rms)
