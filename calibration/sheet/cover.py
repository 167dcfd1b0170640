"""What lies on a mat: where the mat is bare, and where something covers it. Knows no colour beforehand."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.lattice.mat import Lattice
from calibration.sheet.flatten import FlatSheet

Mask = npt.NDArray[np.bool_]
Image = npt.NDArray[np.float32]

_PIXEL_MM = 0.4  # of the working raster, nearly: a lattice cell is a whole number of pixels
_CELL_PX = (16, 64)
_MARGIN_MM = 20.0  # shown beyond the lattice
_FULL = 0.6  # share of a line's usual contrast below which something covers it
_USUAL = 93  # percentile of the contrasts taken as the bare mat's: at 85 % cover some of it is still bare
_LEAST_CONTRAST = 1.5  # lightness steps (of 100): below it no line is seen at all
_LEAST_BARE = 4  # cells
_UNLIKE = (3.5, 7.0)  # CIE Lab distance from the mat's own colour of what is not mat: least and most
_SCATTER = 2.0  # times the mat's own scatter of colour, between these
_LIGHT_COUNTS = 0.7  # a shadow changes lightness, not colour
_BETWEEN = 0.5  # nearer to the mat than this share of the way to the cover's usual colour counts as mat


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover:
    """What covers a mat, on a raster of its own with ``mm_per_px``; top-left pixel's centre at ``origin_mm``.

    ``bare`` and ``covered`` (h, w) exclude each other; neither holds where nothing can be said. ``ruled`` is where the
    lattice reaches. ``mat_colour`` (h, w, 3) is the bare mat's between its lines, carried on under what covers it.
    """

    bare: Mask
    covered: Mask
    ruled: Mask
    mat_colour: npt.NDArray[np.uint8]
    mm_per_px: float
    origin_mm: Points

    def on(self, sheet: FlatSheet, values: npt.NDArray[np.generic]) -> npt.NDArray[np.uint8]:
        """A mask (h, w) or the colour (h, w, 3) on the sheet's own raster; 0 beyond."""
        scale = sheet.mm_per_px / self.mm_per_px
        shift = (sheet.origin_mm - self.origin_mm) / [self.mm_per_px, -self.mm_per_px]
        affine = np.array([[scale, 0.0, shift[0]], [0.0, scale, shift[1]]])
        size = (sheet.seen.shape[1], sheet.seen.shape[0])
        way = cv2.INTER_NEAREST if values.dtype == np.bool_ else cv2.INTER_LINEAR
        return np.asarray(cv2.warpAffine(values.astype(np.uint8), affine, size, flags=way | cv2.WARP_INVERSE_MAP))


def find_cover(sheet: FlatSheet, *, most_px: float = np.inf) -> Cover:
    """Where the mat is bare and where something lies on it.

    The lattice itself tells: where its lines stand out at their usual contrast, nothing is on them. The colour between
    those lines is the mat's; what clearly has another colour is cover. ``most_px`` bounds the raster it is told on.

    Raises
    ------
    ValueError
        If the sheet has no lattice, or no bare mat can be found on it.
    """
    grid = _grid_of(sheet, most_px)
    pixels, seen = _on_grid(sheet, grid)
    between = np.asarray(
        cv2.medianBlur(pixels, int(0.24 * grid.cell_px) | 1), np.uint8
    )  # wider than any line: the lines go
    bare_cells = _bare_cells(_lab(pixels)[..., 0], seen, grid)
    if bare_cells.sum() < _LEAST_BARE:
        raise ValueError("no bare mat was found")
    lab = _lab(between)
    colour = _carried_on(lab, bare_cells, grid)
    far = np.sqrt(_LIGHT_COUNTS * (lab[..., 0] - colour[..., 0]) ** 2 + ((lab[..., 1:] - colour[..., 1:]) ** 2).sum(-1))
    ruled = _as_pixels(grid.ruled, grid) & seen
    scatter = float(np.percentile(far[_as_pixels(bare_cells, grid)], 95))
    unlike = float(np.clip(_SCATTER * scatter, *_UNLIKE))
    other = far[ruled & (far > unlike)]
    limit = max(unlike, _BETWEEN * float(np.median(other))) if len(other) else unlike
    mat_rgb = np.clip(cv2.cvtColor(colour, cv2.COLOR_LAB2RGB) * 255.0 + 0.5, 0, 255).astype(np.uint8)
    return Cover(
        bare=seen & (far <= limit),
        covered=ruled & (far > limit),
        ruled=ruled,
        mat_colour=mat_rgb,
        mm_per_px=grid.mm_per_px,
        origin_mm=grid.origin_mm,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Grid:
    """A raster whose lattice cells are ``cell_px`` wide: cell (row, column) starts at pixel (row, column) * cell_px."""

    columns: int
    rows: int
    cell_px: int
    mm_per_px: float
    origin_mm: Points
    ruled: Mask
    first_x: int
    top_y: int
    lattice: Lattice


def _grid_of(sheet: FlatSheet, most_px: float) -> _Grid:
    """The working raster for a sheet: the lattice and a margin."""
    lattice = sheet.lattice
    if lattice is None:
        raise ValueError("only a sheet with a lattice can tell bare mat from cover")
    pitch = lattice.pitch_mm
    size = np.array(sheet.seen.shape[::-1]) * sheet.mm_per_px
    low = np.array([sheet.origin_mm[0], sheet.origin_mm[1] - size[1]]) / pitch
    high = np.array([sheet.origin_mm[0] + size[0], sheet.origin_mm[1]]) / pitch
    known = lattice.last_x > lattice.first_x and lattice.last_y > lattice.first_y
    first = np.array([lattice.first_x, lattice.first_y]) if known else np.ceil(low).astype(int)
    last = np.array([lattice.last_x, lattice.last_y]) if known else np.floor(high).astype(int)
    first, last = np.maximum(first, np.ceil(low).astype(int)), np.minimum(last, np.floor(high).astype(int))
    if (last - first < 2).any():
        raise ValueError("the sheet shows too little of its lattice")
    margin = int(np.ceil(_MARGIN_MM / pitch))
    pixel_mm = max(_PIXEL_MM, float(np.sqrt(size.prod() / most_px)))
    cell = int(np.clip(round(pitch / pixel_mm), *_CELL_PX))
    columns, rows = (int(n) + 2 * margin for n in last - first)
    ruled = np.zeros((rows, columns), bool)
    ruled[margin:-margin, margin:-margin] = True
    corner = np.array([(first[0] - margin) * pitch, (last[1] + margin) * pitch])
    scale = pitch / cell
    return _Grid(
        columns=columns,
        rows=rows,
        cell_px=cell,
        mm_per_px=scale,
        origin_mm=corner + np.array([0.5, -0.5]) * scale,
        ruled=ruled,
        first_x=int(first[0]) - margin,
        top_y=int(last[1]) + margin,
        lattice=lattice,
    )


def _on_grid(sheet: FlatSheet, grid: _Grid) -> tuple[npt.NDArray[np.uint8], Mask]:
    """The sheet on the working raster, and where it shows anything."""
    shrink = sheet.mm_per_px / grid.mm_per_px
    source = cv2.GaussianBlur(sheet.pixels, (0, 0), 0.4 / shrink) if shrink < 0.8 else sheet.pixels
    shift = sheet.to_px(grid.origin_mm)[0]
    affine = np.array([[1 / shrink, 0.0, shift[0]], [0.0, 1 / shrink, shift[1]]])
    size = (grid.columns * grid.cell_px, grid.rows * grid.cell_px)
    pixels = cv2.warpAffine(source, affine, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    seen = cv2.warpAffine(sheet.seen.astype(np.uint8), affine, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP)
    return np.asarray(pixels, np.uint8), seen > 0


def _lab(rgb: npt.NDArray[np.uint8]) -> Image:
    return np.asarray(cv2.cvtColor(rgb.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB), np.float32)


def _as_pixels(cells: Mask, grid: _Grid) -> Mask:
    return np.repeat(np.repeat(cells, grid.cell_px, axis=0), grid.cell_px, axis=1)


def _bare_cells(light: Image, seen: Mask, grid: _Grid) -> Mask:
    """Cells (rows, columns) on whose four sides the lattice stands out in full."""
    if grid.lattice.kind == "dots":
        return _bare_round_dots(light, seen, grid)
    upright = _stands_out(light, grid, grid.lattice.heavy_x - grid.first_x)
    level = _stands_out(light.T, grid, grid.top_y - grid.lattice.heavy_y)
    left, right = upright, np.roll(upright, -1, axis=1)
    top, bottom = level.T, np.roll(level.T, -1, axis=0)
    cell = grid.cell_px
    all_seen = seen.reshape(grid.rows, cell, grid.columns, cell).all(axis=(1, 3))
    return np.asarray(left & right & top & bottom & grid.ruled & all_seen)


def _stands_out(light: Image, grid: _Grid, heavy_at: int) -> Mask:
    """Whether the line left of each cell (rows, columns of ``light`` in cells) stands out at its usual contrast."""
    cell = grid.cell_px
    rows, columns = light.shape[0] // cell, light.shape[1] // cell
    aside = max(3, round(0.2 * cell))
    at = np.arange(columns) * cell
    padded = np.pad(light, ((0, 0), (aside, aside)), mode="edge")
    on_line = (padded[:, at + aside - 1] + padded[:, at + aside]) / 2
    beside = (padded[:, at] + padded[:, at + 2 * aside - 1]) / 2
    inner = (on_line - beside).reshape(rows, cell, columns)[:, cell // 5 : cell - cell // 5]
    middle = _risen(np.median(inner, axis=1))
    every = grid.lattice.heavy_every
    heavy = (np.arange(columns) - heavy_at) % every == 0 if every > 1 else np.zeros(columns, bool)
    usual = np.zeros(columns)
    for kind in (heavy, ~heavy):
        if kind.any():
            usual[kind] = np.percentile(middle[:, kind], _USUAL)
    return np.asarray((middle > _FULL * usual) & (middle > _LEAST_CONTRAST))


def _risen(contrast: Image) -> Image:
    """The contrast counted positive the way the printing goes, lighter or darker than the mat."""
    lighter = np.percentile(contrast, _USUAL) >= np.percentile(-contrast, _USUAL)
    return contrast if lighter else np.asarray(-contrast)


def _bare_round_dots(light: Image, seen: Mask, grid: _Grid) -> Mask:
    """Cells (rows, columns) with a dot at each corner."""
    cell = grid.cell_px
    spot = cv2.GaussianBlur(light, (0, 0), 0.8) - cv2.blur(light, (cell // 3 | 1, cell // 3 | 1))
    near = np.ones((5, 5), np.uint8)
    peaks = [np.asarray(cv2.dilate(way * spot, near), np.float32)[::cell, ::cell] for way in (1, -1)]
    strong = max(peaks, key=lambda peak: float(np.percentile(peak, _USUAL)))
    out = strong > max(_FULL * float(np.percentile(strong, _USUAL)) * 0.8, _LEAST_CONTRAST)
    corners = out & np.roll(out, -1, axis=0) & np.roll(out, -1, axis=1) & np.roll(out, (-1, -1), axis=(0, 1))
    all_seen = seen.reshape(grid.rows, cell, grid.columns, cell).all(axis=(1, 3))
    return np.asarray(corners & grid.ruled & all_seen)


def _carried_on(lab: Image, bare: Mask, grid: _Grid) -> Image:
    """The bare cells' own colour (h, w, 3), carried on into the others from near and far."""
    cell = grid.cell_px
    inner = lab.reshape(grid.rows, cell, grid.columns, cell, 3)[:, cell // 4 : -cell // 4, :, cell // 4 : -cell // 4]
    own = np.median(inner, axis=(1, 3)).astype(np.float32)
    weight = bare.astype(np.float32)
    total, share = np.zeros_like(own), np.full(bare.shape, 1e-6, np.float32)
    for sigma, trust in ((1.0, 1.0), (3.0, 1e-2), (10.0, 1e-4), (40.0, 1e-5)):
        total += trust * cv2.GaussianBlur(own * weight[..., None], (0, 0), sigma)
        share += trust * cv2.GaussianBlur(weight, (0, 0), sigma)
    cells = total / share[..., None] + (1e-6 / share * 1.0)[..., None] * own[bare].mean(0)
    size = (grid.columns * cell, grid.rows * cell)
    return np.asarray(cv2.resize(cells, size, interpolation=cv2.INTER_LINEAR), np.float32)
