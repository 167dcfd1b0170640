"""Laying outlines on paper: across joined sheets, or whole on sheets and rolls.

Paper has no grain, so pieces may be turned. The search works on a coarse raster that never shows less than the piece
takes; what it finds is checked exactly before it counts.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import cv2
import numpy as np
import numpy.typing as npt
from scipy import fft
from shapely import Polygon, box, intersects, prepare

from calibration.ground.points import Points
from convert.paper.draw.drawing import turn

CELL_MM = 6.0
SMALL_SHEET_MM, SMALL_CELL_MM = 300.0, 3.0
GAP_MM = 6.0  # between two pieces
TURN_STEP_DEG = 5.0
JOINED_TURN_STEP_DEG = 15.0
JOINED_REACH_MM = 1300.0  # a table's length: joined paper longer than this can't be handled
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """Where a piece lies: turned by ``angle_deg`` about its origin, then shifted by ``shift`` (2,)."""

    angle_deg: float
    shift: Points


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Joined sheets: each shows ``step + overlap`` of the plane, the next one begins ``step`` further (mm).

    Column 0 begins at x = 0 and runs right, row 0 begins at y = 0 and runs down.
    """

    step_x: float
    step_y: float
    overlap: float

    def window(self, row: int, column: int) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of what a sheet shows."""
        left, top = column * self.step_x, -row * self.step_y
        return left, top - self.step_y - self.overlap, left + self.step_x + self.overlap, top


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Group:
    """Pieces on one plane of joined sheets: each piece's place by its number, and the sheets (row, column) used."""

    places: Mapping[int, Place]
    used: frozenset[tuple[int, int]]


@dataclass(frozen=True, slots=True, eq=False)
class _Mask:
    """Raster of one turned outline, row 0 at its top; ``corner`` is the turned outline's left and top in mm."""

    angle_deg: float
    cells: Bools
    corner: Points
    cell: float


def _mask(outline: Points, angle_deg: float, cell: float = CELL_MM) -> _Mask:
    points = turn(outline, angle_deg)
    corner = np.array([points[:, 0].min(), points[:, 1].max()])
    down = (points - corner) * [1, -1] / cell
    columns, rows = np.floor(down.max(0)).astype(int) + 1
    cells = np.zeros((rows, columns), np.uint8)
    cv2.fillPoly(cells, [np.floor(down).astype(np.int32)], 1)
    fine = np.floor(down + 1e-9).astype(int)
    cells[np.clip(fine[:, 1], 0, rows - 1), np.clip(fine[:, 0], 0, columns - 1)] = 1
    return _Mask(angle_deg, cells.astype(bool), corner, cell)


def _sums(mask: Bools) -> npt.NDArray[np.int64]:
    return np.pad(mask, ((1, 0), (1, 0))).cumsum(0, dtype=np.int64).cumsum(1)


def _needed(mask: Bools, grid: Grid) -> npt.NDArray[np.bool_]:
    """Which sheets a piece needs for every way it can lie against the grid.

    Shape (offsets down, sheets down, offsets across, sheets across). A strip that the sheet before shows already in its
    overlap does not count.
    """
    total = _sums(mask)
    ranges = []
    for size, step in ((mask.shape[0], grid.step_y), (mask.shape[1], grid.step_x)):
        offsets = np.arange(0, step, CELL_MM)
        count = int(np.ceil((size * CELL_MM + step) / step))
        start = np.arange(count) * step - offsets[:, None]
        low = start + np.where(np.arange(count) > 0, grid.overlap, 0.0)
        ranges.append(
            (
                np.clip(np.floor(low / CELL_MM), 0, size).astype(int),
                np.clip(np.ceil((start + step) / CELL_MM), 0, size).astype(int),
            )
        )
    (top, bottom), (left, right) = ranges
    inside = total[bottom][:, :, right] - total[top][:, :, right] - total[bottom][:, :, left] + total[top][:, :, left]
    needed: npt.NDArray[np.bool_] = inside > 0
    return needed


def sheets_used(shapes: Sequence[Polygon], grid: Grid) -> frozenset[tuple[int, int]]:
    """The sheets that carry something of the shapes, exactly; a strip shown by a neighbour that is kept is enough."""
    kept: set[tuple[int, int]] = set()
    for shape in shapes:
        prepare(shape)
        left, bottom, right, top = shape.bounds
        rows = range(int(np.floor(-top / grid.step_y)), int(np.floor(-bottom / grid.step_y)) + 1)
        columns = range(int(np.floor(left / grid.step_x)), int(np.floor(right / grid.step_x)) + 1)
        kept |= {
            (row, column) for row, column in product(rows, columns) if intersects(shape, box(*_own(grid, row, column)))
        }
    for row, column in sorted(kept, reverse=True):
        shown = [box(*grid.window(r, c)) for r, c in kept if (r, c) != (row, column) and r <= row and c <= column]
        own = box(*_own(grid, row, column))
        if all(_covered(shape.intersection(own), shown) for shape in shapes if intersects(shape, own)):
            kept.remove((row, column))
    return frozenset(kept)


def _own(grid: Grid, row: int, column: int) -> tuple[float, float, float, float]:
    left, bottom, right, top = grid.window(row, column)
    return left, bottom + grid.overlap, right - grid.overlap, top


def _covered(part: Polygon, shown: list[Polygon]) -> bool:
    rest = part
    for window in shown:
        rest = rest.difference(window)
        if rest.is_empty:
            return True
    return bool(rest.is_empty)


def _shape(outline: Points, place: Place) -> Polygon:
    return Polygon(turn(outline, place.angle_deg, place.shift)).buffer(0.0)


def best_turn(outline: Points, grid: Grid) -> tuple[Place, frozenset[tuple[int, int]]]:
    """One piece alone on joined sheets, at the turn that needs fewest; straight where that is as good."""
    found: list[tuple[int, float, Place]] = []
    for angle in np.arange(0.0, 180.0, TURN_STEP_DEG):
        mask = _mask(outline, float(angle))
        count = _needed(mask.cells, grid).sum(axis=(1, 3))
        at = np.argwhere(count == count.min())
        down, across = at[len(at) // 2]
        slant = float(min(angle % 90, 90 - angle % 90) or min(angle, 180 - angle) / 100)
        found.append((int(count.min()), slant, _fresh(mask, down, across)))
        # the raster is too coarse to see a piece that just fits between the edges: set it into the corner exactly
        wide, high = np.ptp(turn(outline, float(angle)), axis=0)
        rows, columns = (
            max(1, int(np.ceil((size - grid.overlap) / step - 1e-9)))
            for size, step in ((high, grid.step_y), (wide, grid.step_x))
        )
        found.append((rows * columns, slant, Place(angle_deg=mask.angle_deg, shift=-mask.corner)))
    found.sort(key=lambda entry: entry[:2])
    options = [(place, sheets_used([_shape(outline, place)], grid)) for *_, place in found[:6]]
    return min(options, key=lambda option: len(option[1]))


def _fresh(mask: _Mask, down: int, across: int) -> Place:
    lead = np.array([across, -down]) * CELL_MM
    return Place(angle_deg=mask.angle_deg, shift=lead - mask.corner)


def lay_tiles(outlines: Sequence[Points], grid: Grid) -> tuple[Group, ...]:
    """All pieces on joined sheets, on no more sheets than each alone at its best turn would take.

    Larger pieces first. A piece goes beside others where that saves a sheet and the joined paper stays within
    :data:`JOINED_REACH_MM`; else it begins a group of its own.
    """
    groups: list[Group] = []
    for i in sorted(range(len(outlines)), key=lambda i: -Polygon(outlines[i]).area):
        place, alone = best_turn(outlines[i], grid)
        best: tuple[int, int, Group] | None = None
        for number, group in enumerate(groups):
            limit = len(alone) if best is None else best[0]
            joined = _beside(outlines, group, i, grid, limit)
            if joined is not None and len(joined.used) - len(group.used) < limit:
                best = (len(joined.used) - len(group.used), number, joined)
        if best is None:
            groups.append(Group(places={i: place}, used=alone))
        else:
            groups[best[1]] = best[2]
    return tuple(_from_top_left(group, grid) for group in groups)


def _beside(outlines: Sequence[Points], group: Group, i: int, grid: Grid, limit: int) -> Group | None:
    """The group with piece ``i`` added where that needs fewest new sheets, if it can be with fewer than ``limit``."""
    shapes = [_shape(outlines[j], place) for j, place in group.places.items()]
    best: tuple[int, Place] | None = None
    for angle in np.arange(0.0, 360.0, JOINED_TURN_STEP_DEG):
        mask = _mask(outlines[i], float(angle))
        best = _cheapest(mask, shapes, group.used, grid, limit if best is None else best[0]) or best
    if best is None:
        return None
    used = sheets_used([*shapes, _shape(outlines[i], best[1])], grid)
    rows, columns = (1 + np.ptp([cell[axis] for cell in used]) for axis in (0, 1))
    if max(rows * grid.step_y, columns * grid.step_x) > JOINED_REACH_MM:
        return None
    return Group(places={**group.places, i: best[1]}, used=used)


def _cheapest(
    mask: _Mask,
    shapes: list[Polygon],
    used: frozenset[tuple[int, int]],
    grid: Grid,
    limit: int,
) -> tuple[int, Place] | None:
    """The free place of one turned piece that needs fewest new sheets, None where that is ``limit`` or more."""
    needed = _needed(mask.cells, grid)
    _, down, _, across = needed.shape
    rows = [row for row, _ in used]
    columns = [column for _, column in used]
    top, left = min(rows) - down + 1, min(columns) - across + 1
    taken = np.zeros((max(rows) + down - top, max(columns) + across - left), bool)
    for row, column in used:
        taken[row - top, column - left] = True
    cost = _new_sheets(needed, taken)
    if cost.min() >= limit:
        return None
    free = _free_places(mask, shapes, (top, left), taken.shape, (down, across), cost.shape, grid)
    cost = np.where(free, cost, limit)
    at = int(np.argmin(cost))
    if cost.flat[at] >= limit:
        return None
    window, dy, dx = np.unravel_index(at, cost.shape)
    row, column = divmod(int(window), taken.shape[1] - across + 1)
    lead = np.array([(left + column) * grid.step_x + dx * CELL_MM, -((top + row) * grid.step_y + dy * CELL_MM)])
    return int(cost.flat[at]), Place(angle_deg=mask.angle_deg, shift=lead - mask.corner)


def _new_sheets(needed: Bools, taken: Bools) -> npt.NDArray[np.int64]:
    """New sheets for every window of the taken ones and every offset: shape (windows, offsets down, offsets across)."""
    offsets_down, down, offsets_across, across = needed.shape
    wants = needed.transpose(0, 2, 1, 3).reshape(-1, down * across).astype(np.float32)
    windows = np.lib.stride_tricks.sliding_window_view(taken, (down, across)).reshape(-1, down * across)
    fresh = wants @ (~windows).T.astype(np.float32)
    return np.round(fresh.T).astype(np.int64).reshape(-1, offsets_down, offsets_across)


def _free_places(
    mask: _Mask,
    shapes: list[Polygon],
    origin: tuple[int, int],
    extent: tuple[int, int],
    span: tuple[int, int],
    offered: tuple[int, ...],
    grid: Grid,
) -> Bools:
    """Which of the offered places touch no piece already laid."""
    corner = np.array([origin[1] * grid.step_x, -origin[0] * grid.step_y])
    size = np.ceil(np.array([extent[0] * grid.step_y, extent[1] * grid.step_x]) / CELL_MM).astype(int) + 2
    canvas = np.zeros(size, np.uint8)
    for shape in shapes:
        ring = np.array(shape.buffer(GAP_MM, quad_segs=2).exterior.coords)
        cv2.fillPoly(canvas, [np.floor((ring - corner) * [1, -1] / CELL_MM).astype(np.int32)], 1)
    clash = _clashes(canvas.astype(bool), mask.cells)
    rows = np.arange(extent[0] - span[0] + 1)[:, None] * grid.step_y + np.arange(offered[1]) * CELL_MM
    columns = np.arange(extent[1] - span[1] + 1)[:, None] * grid.step_x + np.arange(offered[2]) * CELL_MM
    at_row = np.round(rows / CELL_MM).astype(int)
    at_column = np.round(columns / CELL_MM).astype(int)
    free = clash[at_row[:, None, :, None], at_column[None, :, None, :]] == 0
    return free.reshape(offered)


def _clashes(canvas: Bools, cells: Bools) -> npt.NDArray[np.int64]:
    """How many cells clash for the raster's corner at each cell of the canvas (cells beyond the canvas are free)."""
    shape = (canvas.shape[0] + cells.shape[0], canvas.shape[1] + cells.shape[1])
    fast = tuple(cv2.getOptimalDFTSize(int(side)) for side in shape)
    # single precision is enough: a raster has some thousands of cells, and half a cell decides
    both = fft.rfft2(canvas.astype(np.float32), fast) * np.conj(fft.rfft2(cells.astype(np.float32), fast))
    counts = fft.irfft2(both, fast)[: canvas.shape[0], : canvas.shape[1]]
    return np.round(counts).astype(np.int64)


def _from_top_left(group: Group, grid: Grid) -> Group:
    """The same group with its first row and column numbered 0."""
    row0, column0 = (min(cell[axis] for cell in group.used) for axis in (0, 1))
    shift = np.array([-column0 * grid.step_x, row0 * grid.step_y])
    return Group(
        places={i: replace(place, shift=place.shift + shift) for i, place in group.places.items()},
        used=frozenset((row - row0, column - column0) for row, column in group.used),
    )


def lay_whole(
    outlines: Sequence[Points], size: tuple[float, float | None], fixed: Sequence[Points] = ()
) -> list[dict[int, Place]] | None:
    """Each piece whole on a sheet, as few sheets as the greedy search finds; None if a piece is too large for one.

    Pieces lie straight or a quarter turned, slanted only where that saves a sheet or a tenth of a roll.

    Parameters
    ----------
    outlines
        The pieces.
    size
        Width and height of the room on a sheet; a height of None is a roll, of which as little as possible is used.
    fixed
        Outlines that lie at the upper left corner of the first sheet unturned; numbered after the pieces.

    Returns
    -------
    list
        For each sheet the place of each piece on it, y from 0 (top) downwards.
    """
    straight = _whole(outlines, size, fixed, np.arange(0.0, 360.0, 90.0))
    if straight is not None and size[1] is not None and len(straight) == 1:
        return straight
    slanted = _whole(outlines, size, fixed, np.arange(0.0, 360.0, JOINED_TURN_STEP_DEG))
    if straight is None or slanted is None:
        return straight if slanted is None else slanted
    if size[1] is None:
        return slanted if _length(outlines, slanted) < 0.9 * _length(outlines, straight) else straight
    return slanted if len(slanted) < len(straight) else straight


def _length(outlines: Sequence[Points], sheets: list[dict[int, Place]]) -> float:
    ends = [
        -turn(outlines[i], place.angle_deg, place.shift)[:, 1].min()
        for places in sheets
        for i, place in places.items()
        if i < len(outlines)
    ]
    return float(max(ends))


def _whole(
    outlines: Sequence[Points],
    size: tuple[float, float | None],
    fixed: Sequence[Points],
    angles: npt.NDArray[np.float64],
) -> list[dict[int, Place]] | None:
    width, height = size
    cell = CELL_MM if width > SMALL_SHEET_MM else SMALL_CELL_MM
    tall = height if height is not None else sum(np.hypot(*np.ptp(o, axis=0)) + GAP_MM for o in [*outlines, *fixed])
    blank = np.zeros((int(tall // cell), int(width // cell)), bool)
    canvases = [blank.copy()]
    sheets: list[dict[int, Place]] = [{}]
    for number, ring in enumerate(fixed):
        mask = _mask(ring, 0.0, cell)
        sheets[0][len(outlines) + number] = Place(angle_deg=0.0, shift=-mask.corner)
        _occupy(canvases[0], mask, 0, 0)
    for i in sorted(range(len(outlines)), key=lambda i: -Polygon(outlines[i]).area):
        masks = [_mask(outlines[i], float(angle), cell) for angle in angles]
        spots = ((number, _lowest_free(canvas, masks)) for number, canvas in enumerate([*canvases, blank]))
        number, spot = next(((number, spot) for number, spot in spots if spot is not None), (0, None))
        if spot is None:
            return None
        if number == len(canvases):
            canvases.append(blank.copy())
            sheets.append({})
        mask, row, column = spot
        shift = np.array([column, -row]) * cell - mask.corner
        sheets[number][i] = Place(angle_deg=mask.angle_deg, shift=shift)
        _occupy(canvases[number], mask, row, column)
    return sheets


def _lowest_free(canvas: Bools, masks: list[_Mask]) -> tuple[_Mask, int, int] | None:
    """The place that reaches least far down the sheet, then least far across."""
    best: tuple[tuple[float, ...], tuple[_Mask, int, int]] | None = None
    for mask in masks:
        high, wide = mask.cells.shape
        if high > canvas.shape[0] or wide > canvas.shape[1]:
            continue
        room = (canvas.shape[0] - high + 1, canvas.shape[1] - wide + 1)
        free = np.argwhere(_clashes(canvas, mask.cells)[: room[0], : room[1]] == 0)
        if not len(free):
            continue
        row, column = free[0]
        key = (float(row + high), float(column + wide))
        if best is None or key < best[0]:
            best = (key, (mask, int(row), int(column)))
    return None if best is None else best[1]


def _occupy(canvas: Bools, mask: _Mask, row: int, column: int) -> None:
    reach = int(np.ceil(GAP_MM / mask.cell))
    grown = cv2.dilate(np.pad(mask.cells, reach).astype(np.uint8), np.ones((2 * reach + 1,) * 2, np.uint8)).astype(bool)
    top, left = max(0, row - reach), max(0, column - reach)
    part = grown[top - row + reach :, left - column + reach :]
    view = canvas[top : top + part.shape[0], left : left + part.shape[1]]
    view |= part[: view.shape[0], : view.shape[1]]
