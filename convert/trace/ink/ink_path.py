"""The way along ink from one place to another: what joins two stretches of a line where it is too broken to be read."""

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import LineString
from skimage.graph import route_through_array

from calibration.ground.points import Points, resample
from convert.trace.ink.ink import Ink
from convert.trace.ink.straight import angle_between_deg

_STEP_MM = 0.25
_MARGIN_MM = 15.0  # so far beside both ends the way may lead
_INKED = 0.35  # share of full ink
_BESIDE_MM, _OFF_INK = 1.5, 4.0  # a millimetre so far from any ink, or further, counts as so many more
_ON_INK_MM = 0.7  # between dots hardly a place is further from ink
_TRUE_MM = 0.6  # a way's bends are those of a line that keeps so near to it
_ARM_MM, _CORNER_DEG = 5.0, 40.0  # of a corner's sides that tell how sharp it is


class InkAround:
    """The ink round two places, and ways along it."""

    def __init__(self, ink: Ink, start: Points, stop: Points) -> None:
        self._low = np.minimum(start, stop) - _MARGIN_MM
        high = np.maximum(start, stop) + _MARGIN_MM
        columns, rows = (np.arange(self._low[axis], high[axis], _STEP_MM) for axis in (0, 1))
        self._at = np.stack(np.meshgrid(columns, rows), axis=-1)
        self._ends = start, stop
        bare = ink.sample(self._at.reshape(-1, 2)).reshape(self._at.shape[:2]) < _INKED
        self._off_mm = cv2.distanceTransform(bare.astype(np.uint8), cv2.DIST_L2, 5) * _STEP_MM

    def way(self) -> tuple[Points, list[int]]:
        """Places (N, 2) a quarter of a millimetre apart from the first to the second, and which of them are corners.

        Source: least-cost paths, E. W. Dijkstra 1959, as scikit-image does them.
        """
        cost = 1.0 + _OFF_INK * np.minimum(self._off_mm / _BESIDE_MM, 1.0)
        first, last = (self._cells(end)[0].tolist() for end in self._ends)
        cells, _ = route_through_array(cost, first, last, geometric=True)
        inner = np.array(cells[1:-1], int).reshape(-1, 2)
        way = np.vstack([self._ends[0], self._at[inner[:, 0], inner[:, 1]], self._ends[1]])
        return way, _corners(way)

    def share(self, line: Points) -> float:
        """Share of a line that runs on ink; between dots counts as well."""
        row, column = self._cells(resample(line, _STEP_MM)).T
        return float((self._off_mm[row, column] < _ON_INK_MM).mean())

    def _cells(self, points: Points) -> npt.NDArray[np.int64]:
        """Row and column (N, 2) of the cells that places lie in, or nearest to."""
        cells = np.rint((np.atleast_2d(points) - self._low) / _STEP_MM).astype(np.int64)[:, ::-1]
        return np.clip(cells, 0, np.array(self._off_mm.shape) - 1)


def _corners(way: Points) -> list[int]:
    """Where a way turns sharply, and not only for a moment as where it hops from line to line."""
    bends = np.array(LineString(way).simplify(_TRUE_MM).coords)[1:-1]
    reach = round(_ARM_MM / _STEP_MM)
    found: list[tuple[float, int]] = []
    for k in (int(np.argmin(np.hypot(*(way - bend).T))) for bend in bends):
        before, after = way[max(0, k - reach)], way[min(len(way) - 1, k + reach)]
        turn = angle_between_deg(way[k] - before, after - way[k])
        if turn > _CORNER_DEG:
            found.append((turn, k))
    kept: list[int] = []
    for _, k in sorted(found, reverse=True):
        if all(abs(k - other) >= reach for other in kept):
            kept.append(k)
    return sorted(kept)
