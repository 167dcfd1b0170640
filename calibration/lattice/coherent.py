"""Which points found near lattice lines run on from their neighbours: what lies about, and the table, does not."""

from itertools import product

import cv2
import numpy as np
import numpy.typing as npt

from calibration.lattice.centres import LineCentres

_TOLERANCE_CELLS, _TOLERANCE_PX = 0.03, 1.2  # that neighbours on printed lines may be off one another
_ALONG, _BESIDE = 3, 1  # cells along a line, and lines to either side, that are neighbours
_SHARE = 0.55  # of the neighbours found, that must agree; where things lie about a fourth agree by chance
_FEWEST = 3
_WINDOW = 3  # cells each way
_DENSE = 0.6  # of what is usual where most is seen

Bools = npt.NDArray[np.bool_]


def running_on(centres: LineCentres, miss_cells: npt.NDArray[np.float64], cell_px: float) -> Bools:
    """Which of the points (N,) agree with most of their neighbours, and these with theirs.

    Parameters
    ----------
    miss_cells : (N,)
        How far each point is off its line, in cells, on a first map: even a map that is off is off smoothly.
    cell_px : float
        Pixels to a cell.
    """
    kept = np.zeros(len(centres), bool)
    tolerance = max(_TOLERANCE_CELLS, _TOLERANCE_PX / max(cell_px, 1.0))
    for family in (0, 1):
        own = np.flatnonzero(centres.family == family)
        if len(own) < _FEWEST:
            continue
        line, along = centres.line[own] - centres.line[own].min(), centres.along[own] - centres.along[own].min()
        table = _medians(line, along, miss_cells[own])
        around = np.nanmedian(_shifted(table), axis=0)
        agrees = np.abs(table - around) < tolerance
        known = np.isfinite(table)
        shown = np.nansum(_shifted(np.where(known, 1.0, np.nan)), axis=0)
        agreeing = np.nansum(_shifted(np.where(known, agrees.astype(float), np.nan)), axis=0)
        good = (shown >= _FEWEST) & (agreeing > _SHARE * shown)
        kept[own] = good[line, along] & (np.abs(miss_cells[own] - around[line, along]) < 2 * tolerance)
    return kept


def _medians(
    line: npt.NDArray[np.int64], along: npt.NDArray[np.int64], miss: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Median of each cell's points (lines, cells), NaN where there are none."""
    width = int(along.max()) + 1
    cell = line * width + along
    order = np.lexsort((miss, cell))
    cells, start, count = np.unique(cell[order], return_index=True, return_counts=True)
    table = np.full((int(line.max()) + 1) * width, np.nan)
    table[cells] = (miss[order][start + (count - 1) // 2] + miss[order][start + count // 2]) / 2
    return table.reshape(-1, width)


def _shifted(table: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The table's neighbours (shifts, lines, cells), itself among them; NaN beyond its rim and where nothing is known.

    Where a place and all its neighbours are unknown the middle layer is 0, so that no median is taken of nothing.
    """
    lines, cells = table.shape
    padded = np.full((lines + 2 * _BESIDE, cells + 2 * _ALONG), np.nan)
    padded[_BESIDE : _BESIDE + lines, _ALONG : _ALONG + cells] = table
    shifts = product(range(2 * _BESIDE + 1), range(2 * _ALONG + 1))
    layers = np.array([padded[i : i + lines, j : j + cells] for i, j in shifts])
    unknown = np.isnan(layers).all(0)
    layers[len(layers) // 2][unknown] = 0.0
    return layers


def among_squares(centres: LineCentres) -> Bools:
    """Which points (N,) belong to squares most of whose neighbours' sides are seen as well.

    Edges of things that lie about fall on a line here and there, the mat's squares on all of them.
    """
    corner = []
    for family in (0, 1):
        own = centres.family == family
        if not own.any():
            return np.ones(len(centres), bool)
        corner.append(np.column_stack([centres.line[own], centres.along[own]])[:, [family, 1 - family]])
    both = np.vstack(corner)
    low, size = both.min(0), np.ptp(both, axis=0) + 2
    sides = np.zeros((2, *size))
    for family in (0, 1):
        sides[(family, *(corner[family] - low).T)] = 1.0
    squares = np.stack([sides[0], np.roll(sides[0], -1, 0), sides[1], np.roll(sides[1], -1, 1)]).mean(0)
    share = cv2.blur(squares, (_WINDOW, _WINDOW), borderType=cv2.BORDER_CONSTANT)
    usual = float(np.percentile(share[squares > 0], 90))
    dense = (share >= _DENSE * usual).astype(np.uint8)
    kept = cv2.dilate(dense, np.ones((_WINDOW, _WINDOW), np.uint8)) > 0
    at = np.where(
        (centres.family == 0)[:, None],
        np.column_stack([centres.line, centres.along]),
        np.column_stack([centres.along, centres.line]),
    )
    return np.asarray(kept[tuple((at - low).T)])
