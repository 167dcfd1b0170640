"""A piece's outline as what its printing is measured against: how far inside, beside which stretch, how steep to it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, closed, resample

_STEP_MM = 0.5
_ALONGSIDE = np.cos(np.radians(18.0))
_ABREAST = np.cos(np.radians(35.0))
_TANGENT_MM = 3.0  # on either side of a point, over which the outline's direction is taken


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Border:
    """The outline at even steps: ``ring`` (N, 2), unit ``along`` (N, 2) and ``at_mm`` (N,) the way along it."""

    ring: Points
    along: Points
    at_mm: npt.NDArray[np.float64]
    tree: cKDTree

    @property
    def length(self) -> float:
        """All the way round."""
        return float(self.at_mm[-1] + self.at_mm[1])

    def distance(self, points: Points) -> npt.NDArray[np.float64]:
        """Distance (N,) of points from the outline."""
        return np.asarray(self.tree.query(points)[0])

    def nearest(self, points: Points) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.int64]]:
        """Distance (N,) of points from the outline, and the index (N,) of the nearest point of ``ring``."""
        gap, index = self.tree.query(points)
        return np.asarray(gap), np.asarray(index, np.int64)

    def abreast(self, points: Points, heading: Points) -> npt.NDArray[np.int64]:
        """Index (N,) of the nearest point of ``ring`` that runs the same way as each point, or the opposite way.

        ``heading`` (N, 2) are unit directions; the plainly nearest one where none runs alongside.
        """
        apart = ((points[:, None] - self.ring[None]) ** 2).sum(2)
        aside = np.abs(heading @ self.along.T) < _ABREAST
        index = np.where(aside, np.inf, apart).argmin(1)
        none = aside.all(1)
        index[none] = apart[none].argmin(1)
        return np.asarray(index, np.int64)

    def beside(self, points: Points, heading: Points, most_mm: float) -> npt.NDArray[np.float64]:
        """Distance (N, 2) straight across from points to the outline where it runs alongside, on the left and right.

        ``heading`` (N, 2) are unit directions. Infinite where there is no such stretch within ``most_mm``.
        """
        ring, along = self.ring[::2], self.along[::2]
        to = ring[None] - points[:, None]
        ahead = to[..., 0] * heading[:, :1] + to[..., 1] * heading[:, 1:]
        left = to[..., 1] * heading[:, :1] - to[..., 0] * heading[:, 1:]
        fits = (np.abs(ahead) < 0.75) & (np.abs(left) < most_mm) & (np.abs(heading @ along.T) > _ALONGSIDE)
        sides = [np.where(fits & (sense * left > 0), np.abs(left), np.inf).min(1) for sense in (1.0, -1.0)]
        return np.column_stack(sides)

    def hit(self, start: Points, direction: Points, reach_mm: float) -> float | None:
        """How far from ``start`` a ray meets the outline, if within ``reach_mm``."""
        along = np.arange(0.0, reach_mm + 0.3, 0.25)
        gap = self.distance(start + along[:, None] * direction)
        close = int(np.argmin(gap))
        return float(along[close]) if gap[close] < 0.3 else None


def border_of(outline: Points) -> Border:
    """The border of a ring (N, 2), mat mm."""
    ring = resample(closed(np.asarray(outline, float)), _STEP_MM)[:-1]
    reach = max(1, round(_TANGENT_MM / _STEP_MM))
    along = np.roll(ring, -reach, axis=0) - np.roll(ring, reach, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    steps = np.hypot(*np.diff(ring, axis=0).T)
    return Border(ring=ring, along=along, at_mm=np.concatenate([[0.0], np.cumsum(steps)]), tree=cKDTree(ring))
