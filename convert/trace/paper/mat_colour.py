"""Where bare mat shows, and its colour everywhere.

Mat is told from paper without knowing either's colour: where the known lattice stands out at its full contrast there is
nothing on it. Thin paper lets the lattice through, but weaker.
"""

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import median
from scipy.spatial import cKDTree

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.lattice.mat import Lattice
from convert.trace.paper.raster import WorkRaster, sample

Field = npt.NDArray[np.float32]

LOG_OFFSET = 20.0  # added to pixel values before the logarithm, so that noise in the dark does not count for much
TILE_MM = 12.0  # the mat's colour is taken as constant over this
_STEP_MM = 1.5  # between samples along a lattice line
_ASIDE_MM = 1.6  # a line's contrast is taken against the mat this far to both sides
_FULL_CONTRAST = 0.65  # share of a line's own contrast above which nothing can lie on it
_FULL_IN_GLARE, _FAINT_IN_GLARE = 0.8, 0.35  # in glare, share of a line's own contrast in light, and in logarithms
_GLARE_MM, _GLARE_SHARE = 20.0, 0.3  # round a sample, and share of the lattice there
_SIDES, _SIDES_IN_GLARE = 0.35, 0.12  # log colour by which the mat may differ from one side of a line to the other
_GLARE_MISS, _GLARE_SHADE = 0.06, 0.5  # of the brightest channel, unexplained; the mat's own light there, at least
_NARROWING = (0.3, 0.15, 0.08, 0.05, 0.05)  # log colour: what lies plain underneath is all of one colour
_GAMMA = 2.2  # of pixel values to light, sRGB, IEC 61966-2-1
_RIM_MM = 12.0  # of the picture's edge that shows what lies underneath, where nothing is printed on it
_DENSE = 0.25  # share of the lattice in a tile that must be bare before the tile is believed
_ODD_TINT = 0.3  # a mat's tint (log colour less its mean) varies less than this in any light


def log_colour(pixels: npt.ArrayLike) -> Field:
    """Logarithm of pixel values: light and shade become a shift."""
    table = np.log(np.arange(256, dtype=np.float32) + LOG_OFFSET)
    return np.asarray(cv2.LUT(np.asarray(pixels, np.uint8), table), np.float32)


def mat_field(work: WorkRaster, lattice: Lattice) -> tuple[Field, Points]:
    """The mat's log colour (h, w, 3) all over the raster, and the points (N, 2) mm where bare mat was seen.

    Raises
    ------
    InputError
        If the lattice shows nowhere.
    """
    at, colour, bare, glary = _lattice_samples(work, lattice)
    if bare.sum() < 12:
        raise InputError(
            "No bare mat was found: its lines show nowhere in the picture.",
            "Take the picture again with a hand's breadth of mat showing round the paper.",
        )
    trusted = bare & _dense(work, at, bare) if lattice.kind == "lines" else bare
    trusted = trusted if trusted.sum() >= 12 else bare
    tint = colour - colour.mean(1, keepdims=True)
    odd = np.abs(tint - np.median(tint[trusted], axis=0)).max(1) > _ODD_TINT
    kept = trusted & (~odd | glary)
    return colour_field(work, at[kept], colour[kept]), at[kept]


def rim_field(work: WorkRaster, colour: Field) -> tuple[Field, Points]:
    """As :func:`mat_field` where nothing is printed underneath: the commonest colour along the picture's own rim.

    Raises
    ------
    InputError
        If the picture's rim has no one colour.
    """
    seen = np.pad(work.seen.astype(np.uint8), 1)
    deep = cv2.distanceTransform(seen, cv2.DIST_L2, 3)[1:-1, 1:-1] * work.mm_per_px
    rows, columns = np.nonzero((deep > 1.0) & (deep < _RIM_MM))
    pick = np.linspace(0, len(rows) - 1, min(len(rows), 40000)).astype(int)
    rows, columns = rows[pick], columns[pick]
    found = colour[rows, columns]
    middle, plain = np.median(found, axis=0), np.ones(len(found), bool)
    for within in _NARROWING:
        plain = np.abs(found - middle).max(1) < within
        middle = np.median(found[plain], axis=0)
    if plain.mean() < 0.25:
        raise InputError(
            "What lies under the paper has no one colour along the picture's edges.",
            "Lay the piece on something plain that shows all round it.",
        )
    at = work.to_mm(np.column_stack([columns, rows])[plain])
    return colour_field(work, at, found[plain]), at


def _dense(work: WorkRaster, at: Points, bare: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Whether enough of the lattice round each sample shows: print on paper is bare "mat" here and there only."""
    cell = np.floor((at - at.min(0)) / TILE_MM).astype(int)
    number = cell[:, 0] * (cell[:, 1].max() + 1) + cell[:, 1]
    seen, all_of_it = np.bincount(number, bare), np.bincount(number)
    enough: npt.NDArray[np.bool_] = (seen / np.maximum(all_of_it, 1))[number] > _DENSE
    return enough


def _lattice_samples(
    work: WorkRaster, lattice: Lattice
) -> tuple[Points, Field, npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Points (N, 2) mm on the lattice, the log colour beside each (N, 3), whether the mat is bare there, or glary."""
    at, across, line = _dots(lattice) if lattice.kind == "dots" else _line_samples(lattice)
    reach = _ASIDE_MM if lattice.kind == "lines" else 3.0
    ink = np.log(sample(work.pixels, work.to_px(at)) + LOG_OFFSET)
    beside = [np.log(sample(work.pixels, work.to_px(at + side * reach * across)) + LOG_OFFSET) for side in (-1, 1)]
    base = (beside[0] + beside[1]) / 2
    light = np.exp(ink), (np.exp(beside[0]) + np.exp(beside[1])) / 2
    # shade takes the same share off mat and line: their logarithms stay apart; glare adds the same: their light does
    share = _share_of_own(ink - base, line)
    glare = _share_of_own(light[0] ** _GAMMA - light[1] ** _GAMMA, line)
    if lattice.kind == "lines":  # a dash of print that happens to lie on a lattice line is shorter than three samples
        share, glare = (np.median([np.roll(s, 1), s, np.roll(s, -1)], axis=0) for s in (share, glare))
    height, width = work.seen.shape
    px = np.rint(work.to_px(at)).astype(int)
    inside = (px >= 0).all(1) & (px < [width, height]).all(1)
    shown = np.zeros(len(at), bool)
    shown[inside] = work.seen[px[inside, 1], px[inside, 0]]
    unlike = np.abs(beside[0] - beside[1]).max(1)  # on both sides of a line: by a paper's edge they are
    bare = shown & (share > _FULL_CONTRAST) & (unlike < _SIDES)
    glary = shown & (glare > _FULL_IN_GLARE) & (share > _FAINT_IN_GLARE) & (unlike < _SIDES_IN_GLARE)
    if bare.any():
        glary &= _glare_on(np.median(light[1][bare], axis=0), light[1])
    glary = _spread_out(at, np.asarray(glary, bool))
    return at, base.astype(np.float32), np.asarray(bare | glary, bool), glary


def _spread_out(at: Points, glary: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """The samples that make up a good part of the lattice round them: glare is wide, a strip of tape is not."""
    if not glary.any():
        return glary
    every, some = cKDTree(at), cKDTree(at[glary])
    there = at[glary]
    share = some.query_ball_point(there, _GLARE_MM, return_length=True) / every.query_ball_point(
        there, _GLARE_MM, return_length=True
    )
    out = glary.copy()
    out[glary] = share > _GLARE_SHARE
    return out


def _glare_on(mat: Field, seen: Field) -> npt.NDArray[np.bool_]:
    """Whether colours (N, 3) are the mat's (3,) in more or less light, with white light added; pixel values."""
    own, there = (np.maximum(c - LOG_OFFSET, 0.0) ** _GAMMA for c in (mat, seen))
    rows = np.column_stack([own, np.ones(3) * own.max()])
    parts = np.linalg.lstsq(rows, there.T, rcond=None)[0]
    miss = np.abs(rows @ parts - there.T).max(0)
    return np.asarray((miss < _GLARE_MISS * there.max(1)) & (parts[0] > _GLARE_SHADE) & (parts[1] > 0.0))


def _share_of_own(contrast: Field, line: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """How far (N,) each sample of a line's contrast (N, 3) comes up to the full one of that line."""
    strength = np.linalg.norm(contrast, axis=1)
    direction = np.median(contrast[strength >= 0.5 * np.percentile(strength, 95)], axis=0)
    along = contrast @ (direction / np.linalg.norm(direction))
    own = np.array([np.percentile(along[line == i], 90) for i in range(line[-1] + 1)])
    return np.asarray(along / np.clip(own, 0.6 * np.median(own), 1.7 * np.median(own))[line])


def _line_samples(lattice: Lattice) -> tuple[Points, Points, npt.NDArray[np.int64]]:
    """Points along every lattice line, the direction across the line, and the line's number."""
    pitch = np.array(lattice.pitches_mm)
    low = np.array([lattice.first_x, lattice.first_y]) * pitch
    high = np.array([lattice.last_x, lattice.last_y]) * pitch
    at: list[Points] = []
    across: list[Points] = []
    line: list[npt.NDArray[np.int64]] = []
    for axis, (first, last) in enumerate([(lattice.first_x, lattice.last_x), (lattice.first_y, lattice.last_y)]):
        along = np.arange(low[1 - axis] + 0.15 * pitch[1 - axis], high[1 - axis], _STEP_MM)
        for index in range(first, last + 1):
            here = np.empty((len(along), 2))
            here[:, axis], here[:, 1 - axis] = index * pitch[axis], along
            at.append(here)
            across.append(np.tile(np.eye(2)[axis], (len(along), 1)))
            line.append(np.full(len(along), len(line)))
    return np.vstack(at), np.vstack(across), np.concatenate(line)


def _dots(lattice: Lattice) -> tuple[Points, Points, npt.NDArray[np.int64]]:
    """Every dot of a lattice of dots, compared along the diagonal, where no arm of a cross lies."""
    x = np.arange(lattice.first_x, lattice.last_x + 1) * lattice.pitches_mm[0]
    y = np.arange(lattice.first_y, lattice.last_y + 1) * lattice.pitches_mm[1]
    at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return at, np.tile([np.sqrt(0.5), np.sqrt(0.5)], (len(at), 1)), np.zeros(len(at), np.int64)


def colour_field(work: WorkRaster, at: Points, colour: Field, *, tile_mm: float = TILE_MM) -> Field:
    """Log colour (h, w, 3) over the whole raster from scattered samples: tile medians, smoothly filled in between."""
    height, width = work.seen.shape
    tile = tile_mm / work.mm_per_px
    shape = (int(np.ceil(height / tile)), int(np.ceil(width / tile)))
    px = work.to_px(at)
    cell = np.clip((px / tile).astype(int), 0, [shape[1] - 1, shape[0] - 1])
    index = cell[:, 1] * shape[1] + cell[:, 0]
    numbers, counts = np.unique(index, return_counts=True)
    share = np.minimum(1.0, counts / 8).astype(np.float32)
    sums, weight = np.zeros((shape[0] * shape[1], 3), np.float32), np.zeros(shape[0] * shape[1], np.float32)
    for channel in range(3):
        sums[numbers, channel] = share * median(colour[:, channel], index, numbers)
    weight[numbers] = share
    filled = _fill(sums.reshape(*shape, 3), weight.reshape(shape))
    rows = (np.arange(height, dtype=np.float32) + 0.5) / tile - 0.5
    columns = (np.arange(width, dtype=np.float32) + 0.5) / tile - 0.5
    x, y = np.meshgrid(columns, rows)
    return np.asarray(cv2.remap(filled, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float32)


def _fill(sums: Field, weight: npt.NDArray[np.float32]) -> Field:
    """Weighted means over tiles, over ever wider neighbourhoods where nothing is known."""
    out = np.zeros_like(sums)
    left = np.ones(weight.shape, np.float32)
    for sigma in (0.7, 1.5, 3.0, 6.0, 12.0, 24.0, 96.0):
        near = cv2.GaussianBlur(weight, (0, 0), sigma)
        mean = cv2.GaussianBlur(sums, (0, 0), sigma) / np.maximum(near, 1e-9)[..., None]
        share = left * np.clip(near / 0.15, 0, 1) if sigma < 96 else left
        out += share[..., None] * mean
        left -= share
    return out
