"""Notches read along the measured outline, laid out straight: what is cut into it and what stands out of it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.fairing import FairRing
from convert.trace.edge.outline import beside_lattice
from convert.trace.edge.ring import STEP_MM, outward_normals, smooth_ring
from convert.trace.edge.running_median import running_median
from convert.trace.paper.mat_colour import LOG_OFFSET
from convert.trace.paper.raster import channel_dot, sample
from convert.trace.tracing import TracedMark

Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_REACH_MM = 10.0  # of the laid out strip to both sides
_ROW_MM = 0.25
_SHALLOWEST_MM = 2.1
_LEAST_OUT_MM = 3.0  # lines of the mat that cross at the edge make smaller ones
_BASE_MM = 3.0
_DEEPEST_MM = 9.5
_WIDEST_MM = 14.0
_LINE_MM = 1.3  # print on the mat is thinner than this; what stands out is wider
_PARTED_MM = 2.2  # a line of the mat that runs behind what stands out is no wider, however it slants
_SLIT_MM = 0.5
_NARROW_MM = 1.25  # on the mean: slits are read more closely
_FILLED = 0.36  # least share of its length times width that a notch fills: a triangle fills half
_CLEAR = 0.6  # how clearly a notch is mat, or paper where it stands out
_PAPER_TINT = 0.06  # off the way from mat to paper by more than this, what stands out is print on the mat
_TIMES_NOISE = 2.5  # and by this many times what the paper itself is off
_AFTER_MM, _NO_PAPER = (0.7, 2.5), 0.4  # beyond a notch's end lies paper: off it by less than this, in shares
_PRINT = 0.35  # log colour by which print is darker than paper, at least
_PRINTED_SURE, _APART_MM = 0.85, 6.0  # a triangle printed at the edge, unless another notch was read so near
_DARKER, _DEEP = 0.1, 1.0  # log colour by which ink is darker than both; a mat so much darker than paper is like ink
_INK = 0.35  # further than this from mat and paper, in shares of their distance, is print


def read_notches(sheet: FlatSheet, ring: FairRing, rim_mm: float) -> tuple[TracedMark, ...]:
    """Every notch along an outline but slits: V cuts inwards, triangles outwards, triangles printed on the edge.

    ``rim_mm`` is the width of the printed line's remainder along the edge, which looks like neither mat nor paper.
    """
    rows = np.asarray(np.arange(-round(_REACH_MM / _ROW_MM), round(_REACH_MM / _ROW_MM) + 1) * _ROW_MM, float)
    normals = outward_normals(smooth_ring(ring.points, 3.0))
    at = ring.points[None] + rows[:, None, None] * normals[None]
    seen = _looked(sheet, at, rows)
    noise = float(np.median(seen.tint[(rows > -4.5) & (rows < -1.5)]))
    limit = _PAPER_TINT + _TIMES_NOISE * noise
    through = (seen.share < 0.5) & ~(seen.ink & seen.clear)
    through = _joined(through, 1.2, 1.5) | (_joined(through, _PARTED_MM, _PARTED_MM) & ~seen.clear)
    inside, beyond = (rows < -rim_mm - 0.4)[:, None], (rows > 0.4)[:, None]
    stands_out = (seen.share > 0.5) | ~beyond
    stands_out |= _joined(stands_out, 1.6, STEP_MM) | (_joined(stands_out, _PARTED_MM, _PARTED_MM) & ~seen.clear)
    printed = _joined(seen.darker > _PRINT, STEP_MM, STEP_MM)
    known = np.where(seen.clear, seen.share, np.nan)
    marks: list[TracedMark] = []
    for kind, mask, sure in (
        ("cut", through & inside, 1 - known),
        ("out", stands_out & beyond, known),
        ("printed", printed & inside, (seen.darker > _PRINT).astype(float)),
    ):
        outward = kind == "out"
        thick = _thick(mask, _LINE_MM if outward else _SLIT_MM)
        edge, least = (0.4, _LEAST_OUT_MM) if outward else (rim_mm + 0.4, _SHALLOWEST_MM)
        found = _components(thick, sure, rows, edge=edge, least=least, outward=outward)
        for blob, columns, depth in found:
            if kind != "cut" and not _upright(blob[:, columns], rows):
                continue
            if not outward and _goes_on(seen, rows, columns, depth):
                continue
            if outward and float(np.median(seen.tint[blob & (known > _CLEAR)])) > limit:
                continue
            mark = _mark(ring.points, at, rows, thick, columns, depth, outward=outward)
            if kind != "printed":
                marks.append(mark)
            elif all(np.hypot(*(mark.at - other.at)) > _APART_MM for other in marks):
                marks.append(replace(mark, confidence=_PRINTED_SURE))
    return tuple(marks)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Strip:
    """What is seen over the strip, each (R, N).

    ``share`` is 0 on mat, 1 on paper, by the colours on either side of the outline; ``tint`` how far off both, in
    shares of their own distance: large on ink; ``ink`` where that can't be a blurred edge, since it is darker than both
    colours (or the mat is too dark to tell); ``darker`` how much darker than the paper, log colour; ``clear`` where
    no line of the mat lies. Beyond the outline, mat is taken for granted on those.
    """

    share: Values
    tint: Values
    darker: Values
    ink: Mask
    clear: Mask


def _looked(sheet: FlatSheet, at: Values, rows: Values) -> _Strip:
    """The strip's colours told apart."""
    shape = at.shape[:2]
    flat = sample(sheet.pixels, sheet.to_px(at.reshape(-1, 2))).reshape(*shape, 3)
    colour = np.log(flat.astype(float) + LOG_OFFSET)
    mat, paper = (
        running_median(np.median(colour[(rows >= a) & (rows <= b)], axis=0)[None], round(12.0 / STEP_MM))
        for a, b in ((0.8, 4.0), (-4.5, -1.5))
    )
    gap = paper - mat
    share = channel_dot(colour - mat, gap) / np.maximum(channel_dot(gap, gap), 1e-6)
    clear = np.ones(shape, bool)
    if sheet.lattice is not None:
        clear = beside_lattice(at, sheet.lattice) > 0
        share[~clear & (rows > 0)[:, None]] = 0.0
    off = colour - mat - share[..., None] * gap
    tint = np.sqrt(channel_dot(off, off) / np.maximum(channel_dot(gap, gap), 1e-6))
    darker, deep = (paper - colour).mean(2), gap.mean(2)
    ink = (tint >= _INK) & ((darker > np.maximum(deep, 0.0) + _DARKER) | (deep > _DEEP))
    return _Strip(share=share, tint=tint, darker=darker, ink=ink, clear=clear)


def _joined(mask: Mask, across_mm: float, along_mm: float) -> Mask:
    """A mask closed over the mat's lines that part a notch, ``across_mm`` and ``along_mm`` the edge wide."""
    pad = 8
    wide = cv2.copyMakeBorder(mask.astype(np.uint8), pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    kernel = np.ones((round(across_mm / _ROW_MM), round(along_mm / STEP_MM)), np.uint8)
    return np.asarray(cv2.morphologyEx(wide, cv2.MORPH_CLOSE, kernel)[pad:-pad, pad:-pad] > 0)


def _thick(mask: Mask, width_mm: float) -> Mask:
    """What of a mask is at least ``width_mm`` wide along the outline."""
    size = max(1, round(width_mm / STEP_MM))
    kernel = np.ones((2, size), np.uint8)
    wide = cv2.copyMakeBorder(mask.astype(np.uint8), 0, 0, size, size, cv2.BORDER_WRAP)
    return np.asarray(cv2.morphologyEx(wide, cv2.MORPH_OPEN, kernel)[:, size:-size] > 0)


def _components(
    mask: Mask, sure: Values, rows: Values, *, edge: float, least: float, outward: bool
) -> Iterator[tuple[Mask, npt.NDArray[np.int64], float]]:
    """Each blob of a strip that begins at the outline and has the shape of a notch, its columns and depth."""
    n = mask.shape[1]
    turn = int(np.argmin(mask.any(0))) if not mask.any(0).all() else 0
    rolled = np.roll(mask, -turn, axis=1)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(rolled.astype(np.uint8), connectivity=8)
    for label in range(1, count):
        width = stats[label, cv2.CC_STAT_WIDTH] * STEP_MM
        top, height = stats[label, cv2.CC_STAT_TOP], stats[label, cv2.CC_STAT_HEIGHT]
        span = np.abs(rows[[top, top + height - 1]])
        depth = float(span.max()) + _ROW_MM / 2
        area = stats[label, cv2.CC_STAT_AREA] * STEP_MM * _ROW_MM
        if span.min() > edge + 0.6 or not least <= depth <= _DEEPEST_MM or width > _WIDEST_MM:
            continue
        if not outward and area < _NARROW_MM * (depth - edge):  # a slit, or a stroke of print that ends at the edge
            continue
        if area < _FILLED * width * (depth - edge) or width > 3.5 * depth:
            continue
        blob = np.roll(labels == label, turn, axis=1)
        shown = sure[blob]
        if np.isnan(shown).all() or np.nanmean(shown) < _CLEAR:
            continue
        first = stats[label, cv2.CC_STAT_LEFT]
        columns = np.flatnonzero((labels[:, first : first + stats[label, cv2.CC_STAT_WIDTH]] == label).any(0)) + first
        yield blob, (columns + turn) % n, depth


def _upright(blob: Mask, rows: Values) -> bool:
    """Whether what stands out is a triangle on its base, and no line of the mat that runs up to the edge aslant."""
    on = np.flatnonzero(blob.any(1))
    base = np.flatnonzero(blob[np.abs(rows) <= np.abs(rows[on]).min() + 0.6].any(0))
    tip = np.flatnonzero(blob[on[np.abs(rows[on]).argmax()]])
    wide = len(base) * STEP_MM
    return wide >= _BASE_MM and abs(float(tip.mean() - base.mean())) * STEP_MM < 0.35 * wide + 0.5


def _goes_on(seen: _Strip, rows: Values, columns: npt.NDArray[np.int64], depth: float) -> bool:
    """Whether beyond the end of what is cut in there is no paper: a tear that runs on under tape."""
    middle = columns[len(columns) // 4 : -(len(columns) // 4) or None]
    part = np.ix_(np.flatnonzero((rows < -depth - _AFTER_MM[0]) & (rows > -depth - _AFTER_MM[1])), middle)
    off = np.hypot(1 - seen.share, seen.tint)
    usual = float(np.median(off[(rows > -4.5) & (rows < -1.5)]))
    after = off[part][seen.clear[part]]
    return bool(after.size) and float(np.median(after)) > _NO_PAPER + _TIMES_NOISE * usual


def _mark(
    ring: Points,
    at: Values,
    rows: Values,
    mask: Mask,
    columns: npt.NDArray[np.int64],
    depth: float,
    *,
    outward: bool,
) -> TracedMark:
    """The notch in these columns of the strip: its mouth's middle on the outline, its point, its depth."""
    sign = 1.0 if outward else -1.0
    inside = mask[:, columns] & ((sign * rows) > 0)[:, None]
    deep = np.abs(rows)[:, None] * inside
    tip = int(deep.max(0).argmax())
    level = np.abs(rows) <= max(2.0, 0.5 * depth)
    position = np.arange(len(columns))
    weight = inside[level].sum(0).astype(float)
    middle = float((weight * position).sum() / weight.sum())
    row = int(deep[:, tip].argmax())
    low = int(np.floor(middle))
    a, b = ring[columns[low]], ring[columns[min(low + 1, len(columns) - 1)]]
    return TracedMark(
        kind="notch",
        at=a + (middle - low) * (b - a),
        tip=at[row, columns[tip]],
        size_mm=depth,
        confidence=0.95,
    )
