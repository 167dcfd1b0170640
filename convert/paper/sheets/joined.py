"""Pieces side by side across joined sheets: as few sheets as a search over places, turns and orders finds.

Each piece goes where it needs fewest new sheets; the search works on rasters and their spectra, and what it finds is
counted exactly.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice, permutations

import cv2
import numpy as np
import numpy.typing as npt
from scipy import fft
from shapely import Polygon

from calibration.ground.points import Points
from convert.paper.sheets.packing import (
    CELL_MM,
    GAP_MM,
    JOINED_TURN_STEP_DEG,
    Bools,
    Grid,
    Group,
    Mask,
    Place,
    best_turn,
    laid_shape,
    mask_of,
    needed_sheets,
    sheets_used,
)
from convert.paper.sheets.settling import settled

JOINED_REACH_MM = 1300.0  # a table's length: joined paper longer than this can't be handled
GOOD_SHARE = 1.45  # sheets to the least that the area allows, at which the search ends: better is rarely found
MOST_ORDERS = 8  # orders tried; each takes as long as the first


def lay_tiles(outlines: Sequence[Points], grid: Grid, marks: Sequence[Points] | None = None) -> tuple[Group, ...]:
    """All pieces on joined sheets, on no more sheets than each alone at its best turn would take.

    A piece goes beside others where that saves a sheet and the joined paper stays within :data:`JOINED_REACH_MM`; else
    it begins a group of its own. Larger pieces first; where that wastes paper, other orders are tried, and the best
    counts. ``marks``, points (M, 2) of each piece, are then kept off the joins where that costs no sheet.
    """
    pieces = [_Turned.of(outline, grid) for outline in outlines]
    bound = sum(piece.area for piece in pieces) / (grid.step_x * grid.step_y)
    best: list[Group] | None = None
    for order in _orders(pieces):
        groups = _laid_in(order, pieces, grid)
        if best is None or _count(groups) < _count(best):
            best = groups
        if _count(best) <= GOOD_SHARE * bound or len(groups) == _count(groups):
            break
    found = best or []
    if _count(found) > GOOD_SHARE * bound:
        found = _taken_up_again(found, pieces, grid)
    if marks is not None:
        found = [settled(group, outlines, marks, grid) for group in found]
    return tuple(_from_top_left(group, grid) for group in found)


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """A piece at every turn: its raster and the sheets it needs there; the place and sheets it takes alone."""

    outline: Points
    area: float
    turns: tuple[tuple[Mask, Bools], ...]
    alone: tuple[Place, frozenset[tuple[int, int]]]

    @classmethod
    def of(cls, outline: Points, grid: Grid) -> "_Turned":
        masks = (mask_of(outline, float(angle)) for angle in np.arange(0.0, 360.0, JOINED_TURN_STEP_DEG))
        return cls(
            outline=outline,
            area=float(Polygon(outline).area),
            turns=tuple((mask, needed_sheets(mask.cells, grid)) for mask in masks),
            alone=best_turn(outline, grid),
        )


def _count(groups: Sequence[Group]) -> int:
    return sum(len(group.used) for group in groups)


def _orders(pieces: Sequence[_Turned]) -> list[tuple[int, ...]]:
    """Larger pieces first, then orders spread evenly over all there are."""
    largest = sorted(range(len(pieces)), key=lambda i: -pieces[i].area)
    every = list(islice(permutations(largest), MOST_ORDERS * MOST_ORDERS * 4))
    stride = max(1, len(every) // MOST_ORDERS)
    return [every[k] for k in range(0, len(every), stride)][:MOST_ORDERS]


def _laid_in(order: Sequence[int], pieces: Sequence[_Turned], grid: Grid) -> list[Group]:
    """The pieces laid one after another, each where it needs fewest new sheets."""
    groups: list[Group] = []
    for i in order:
        place, alone = pieces[i].alone
        best: tuple[int, int, Group] | None = None
        for number, group in enumerate(groups):
            limit = len(alone) if best is None else best[0]
            joined = _beside(pieces, group, i, grid, limit)
            if joined is not None and len(joined.used) - len(group.used) < limit:
                best = (len(joined.used) - len(group.used), number, joined)
        if best is None:
            groups.append(Group(places={i: place}, used=alone))
        else:
            groups[best[1]] = best[2]
    return groups


def _taken_up_again(groups: list[Group], pieces: Sequence[_Turned], grid: Grid) -> list[Group]:
    """Each piece taken up and laid where it needs fewest sheets now that the others lie, as long as that saves one."""
    best, saved = groups, True
    while saved:
        saved = False
        for i, piece in enumerate(pieces):
            rest = [left for group in best if (left := _without(group, i, pieces, grid)).places]
            place, alone = piece.alone
            options = [[*rest, Group(places={i: place}, used=alone)]]
            for number, group in enumerate(rest):
                joined = _beside(pieces, group, i, grid, len(alone) + 1)
                options += [] if joined is None else [[*rest[:number], joined, *rest[number + 1 :]]]
            option = min(options, key=_count)
            if _count(option) < _count(best):
                best, saved = option, True
    return best


def _without(group: Group, i: int, pieces: Sequence[_Turned], grid: Grid) -> Group:
    places = {j: place for j, place in group.places.items() if j != i}
    shapes = [laid_shape(pieces[j].outline, place) for j, place in places.items()]
    return Group(places=places, used=sheets_used(shapes, grid) if shapes else frozenset())


def _beside(pieces: Sequence[_Turned], group: Group, i: int, grid: Grid, limit: int) -> Group | None:
    """The group with piece ``i`` added where that needs fewest new sheets, if it can be with fewer than ``limit``."""
    shapes = [laid_shape(pieces[j].outline, place) for j, place in group.places.items()]
    table = _Table.of(shapes, group.used, pieces[i], grid)
    best: tuple[int, Place] | None = None
    for mask, needed in pieces[i].turns:
        best = _cheapest(mask, needed, table, grid, limit if best is None else best[0]) or best
    if best is None:
        return None
    used = sheets_used([*shapes, laid_shape(pieces[i].outline, best[1])], grid)
    rows, columns = (1 + np.ptp([cell[axis] for cell in used]) for axis in (0, 1))
    if max(rows * grid.step_y, columns * grid.step_x) > JOINED_REACH_MM:
        return None
    return Group(places={**group.places, i: best[1]}, used=used)


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """What lies on the joined sheets, with room for one piece all round: the sheets taken from row ``top`` and column
    ``left``, and the spectrum of the raster of what is laid, of size ``size``."""

    top: int
    left: int
    taken: Bools
    size: tuple[int, int]
    fast: tuple[int, int]
    spectrum: npt.NDArray[np.complex64]

    @classmethod
    def of(cls, shapes: list[Polygon], used: frozenset[tuple[int, int]], piece: _Turned, grid: Grid) -> "_Table":
        down, across = (max(needed.shape[axis] for _, needed in piece.turns) for axis in (1, 3))
        rows, columns = [row for row, _ in used], [column for _, column in used]
        top, left = min(rows) - down + 1, min(columns) - across + 1
        taken = np.zeros((max(rows) + down - top, max(columns) + across - left), bool)
        for row, column in used:
            taken[row - top, column - left] = True
        corner = np.array([left * grid.step_x, -top * grid.step_y])
        high, wide = (
            int(np.ceil(count * step / CELL_MM)) + 2
            for count, step in zip(taken.shape, (grid.step_y, grid.step_x), strict=True)
        )
        canvas = np.zeros((high, wide), np.uint8)
        for shape in shapes:
            ring = np.array(shape.buffer(GAP_MM, quad_segs=2).exterior.coords)
            cv2.fillPoly(canvas, [np.floor((ring - corner) * [1, -1] / CELL_MM).astype(np.int32)], 1)
        most = np.max([mask.cells.shape for mask, _ in piece.turns], axis=0)
        fast = (cv2.getOptimalDFTSize(high + int(most[0])), cv2.getOptimalDFTSize(wide + int(most[1])))
        spectrum = fft.rfft2(canvas.astype(np.float32), fast)
        return cls(top, left, taken, (high, wide), fast, spectrum)

    def clashes(self, cells: Bools) -> npt.NDArray[np.int64]:
        """As :func:`_clashes`, the table's own spectrum kept."""
        both = self.spectrum * np.conj(fft.rfft2(cells.astype(np.float32), self.fast))
        counts = fft.irfft2(both, self.fast)[: self.size[0], : self.size[1]]
        return np.asarray(np.round(counts).astype(np.int64))


def _cheapest(mask: Mask, needed: Bools, table: _Table, grid: Grid, limit: int) -> tuple[int, Place] | None:
    """The free place of one turned piece that needs fewest new sheets, None where that is ``limit`` or more."""
    offsets_down, down, offsets_across, across = needed.shape
    cost = _new_sheets(needed, table.taken)
    if cost.min() >= limit:
        return None
    windows = (table.taken.shape[0] - down + 1, table.taken.shape[1] - across + 1)
    rows = np.arange(windows[0])[:, None] * grid.step_y + np.arange(offsets_down) * CELL_MM
    columns = np.arange(windows[1])[:, None] * grid.step_x + np.arange(offsets_across) * CELL_MM
    at_row, at_column = np.round(rows / CELL_MM).astype(int), np.round(columns / CELL_MM).astype(int)
    free = table.clashes(mask.cells)[at_row[:, None, :, None], at_column[None, :, None, :]] == 0
    cost = np.where(free.reshape(cost.shape), cost, limit)
    at = int(np.argmin(cost))
    if cost.flat[at] >= limit:
        return None
    window, dy, dx = np.unravel_index(at, cost.shape)
    row, column = divmod(int(window), windows[1])
    lead = np.array(
        [(table.left + column) * grid.step_x + dx * CELL_MM, -((table.top + row) * grid.step_y + dy * CELL_MM)]
    )
    return int(cost.flat[at]), Place(angle_deg=mask.angle_deg, shift=lead - mask.corner)


def _new_sheets(needed: Bools, taken: Bools) -> npt.NDArray[np.int64]:
    """New sheets for every window of the taken ones and every offset: shape (windows, offsets down, offsets across)."""
    offsets_down, down, offsets_across, across = needed.shape
    wants = needed.transpose(0, 2, 1, 3).reshape(-1, down * across).astype(np.float32)
    windows = np.lib.stride_tricks.sliding_window_view(taken, (down, across)).reshape(-1, down * across)
    fresh = wants @ (~windows).T.astype(np.float32)
    return np.round(fresh.T).astype(np.int64).reshape(-1, offsets_down, offsets_across)


def _from_top_left(group: Group, grid: Grid) -> Group:
    """The same group with its first row and column numbered 0."""
    row0, column0 = (min(cell[axis] for cell in group.used) for axis in (0, 1))
    shift = np.array([-column0 * grid.step_x, row0 * grid.step_y])
    return Group(
        places={i: replace(place, shift=place.shift + shift) for i, place in group.places.items()},
        used=frozenset((row - row0, column - column0) for row, column in group.used),
    )
