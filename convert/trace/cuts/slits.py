"""Slits snipped into the paper's edge: too narrow to show bare mat, dark or light threads that run in from the edge."""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import uniform_filter1d

from calibration.ground.points import Points, closed, resample
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.fairing import FairRing
from convert.trace.edge.outline import beside_lattice
from convert.trace.edge.ring import STEP_MM, outward_normals, smooth_ring, turns
from convert.trace.edge.running_median import running_median
from convert.trace.paper.mat_colour import LOG_OFFSET
from convert.trace.paper.raster import channel_dot, sample
from convert.trace.tracing import TracedMark

Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_STEP_MM = 0.2  # along the edge and across it
_DEEPEST_MM, _LOOK_MM = 9.5, 20.0  # a slit ends within the first; a printed line is looked for up to the second
_LEAST_MM, _SHOWN_MM = 2.5, 2.0  # from the edge; and so much of it shows, which a speck by the edge does not
_NEAR, _OF_PEAK = 13, 0.8  # samples from its beginning that tell how strong a slit is: this share of the strongest
_FIRST_MM = 2.0  # next to the edge, by which slits are found
_LEAD_MM = 1.0  # and so far inside it a slit may first show, where the edge is not quite where it was drawn
_LINE_MM = 3.2  # a line of the mat that crosses a slit is no wider, however it slants
_LEAN = tuple(np.tan(np.radians((-24.0, -16.0, -8.0, 0.0, 8.0, 16.0, 24.0))))
_FINER = np.linspace(-0.14, 0.14, 9)[[4, 3, 5, 2, 6, 1, 7, 0, 8]]  # leans tried about the best of those
_AROUND_MM = 8.0  # of edge, whose paper a slit is compared with
_WIDEST_MM = 3.2  # at half its strength, read at any lean; wider notches are read as such
_FAINTEST = 0.12  # share of the way from paper to mat
_CLEAR = 6.0  # times what the paper itself varies
_MOST = 1.3  # a line of print or of the mat may be further off than the mat; it counts no more than this
_OFF = 0.9  # what is further from the way between paper and mat, as a share of how far along it lies, is print
_LINE_OFF = 0.4  # so much more where a slit lies over a line of the mat and shows that line's colour
_ACROSS, _BROADEST_MM = 12, 2.2  # steps to both sides at which a slit's own width is taken, and what it is at most
_ASTRAY = (-4, -2, 0, 2, 4)  # steps to both sides at which a dash of a broken line may follow
_DASH, _DASHED = 15, 0.55  # steps along it, and their mean as a share of a slit's strength
_WANDER = 7  # steps to both sides within which a tear goes on where a slit would end
_GOES_ON = 0.35  # share of a slit's strength that beyond its end tells of a line
_MOUTH_MM = 7.0  # from the middle of a notch that is read already
_CORNER_MM = 5.0  # from a corner that turns so sharply that the other side's mat lies near
_SHARP_DEG = 25.0
_MAT_MM = (0.8, 3.0)


def find_slits(
    sheet: FlatSheet, ring: FairRing, rim_mm: float, known: tuple[TracedMark, ...]
) -> tuple[TracedMark, ...]:
    """Slits along an outline that are not among the notches ``known``; ``rim_mm`` of print along the edge is left out.

    A slit begins at the edge, stands steeply on it, shows the mat's colour and ends within a centimetre.
    """
    edge = resample(closed(ring.points), _STEP_MM)[:-1]
    normals = outward_normals(smooth_ring(edge, 1.5 / _STEP_MM))
    first = rim_mm + 0.5
    depth = np.arange(first, _LOOK_MM, _STEP_MM)
    strength, off, clear = _strength(sheet, edge, normals, depth)
    near = round(_FIRST_MM / _STEP_MM)
    best, lean = np.full(len(edge), -np.inf), np.zeros(len(edge))
    for slope in _LEAN:
        mean = _along(strength[:near], depth[:near], slope).mean(0)
        better = mean > best
        best[better], lean[better] = mean[better], slope
    spread = 1.4826 * float(np.median(np.abs(best - np.median(best))))
    least = max(_FAINTEST, _CLEAR * spread + float(np.median(best)))
    sharp = np.abs(turns(ring.points, round(4.0 / STEP_MM)))[ring.corners] > _SHARP_DEG
    taken = list(ring.points[ring.corners[sharp]])
    beside = [mark.at for mark in known]
    marks: list[TracedMark] = []
    for k in np.argsort(-best):
        if best[k] < least:
            break
        if any(np.hypot(*(edge[k] - at)) < _CORNER_MM for at in taken):
            continue
        if any(np.hypot(*(edge[k] - at)) < _MOUTH_MM for at in beside):
            continue
        taken.append(edge[k])
        mark = _slit(edge, normals, depth, strength, off, clear, best, int(k), float(lean[k]))
        if mark is not None:
            marks.append(mark)
    return tuple(marks)


def _strength(sheet: FlatSheet, edge: Points, normals: Points, depth: Values) -> tuple[Values, Values, Mask]:
    """How far (D, N) each place inside the edge lies from the paper round it towards the mat, and how far aside.

    And which lie clear of the mat's lines.
    """

    def colour(at: Points) -> Values:
        flat = sample(sheet.pixels, sheet.to_px(at.reshape(-1, 2))).reshape(*at.shape[:2], 3)
        return np.asarray(np.log(flat + np.float32(LOG_OFFSET)))

    at = edge[None] - depth[:, None, None] * normals[None]
    inside = colour(at)
    around = round(_AROUND_MM / _STEP_MM) | 1
    beyond = np.arange(_MAT_MM[0], _MAT_MM[1], 0.4)
    mat = np.median(colour(edge[None] + beyond[:, None, None] * normals[None]), axis=0)
    mat = running_median(mat, around)
    paper = running_median(inside, around // 2)
    gap = mat[None] - np.median(paper, axis=0)[None]
    size = np.maximum(channel_dot(gap, gap), 1e-4)
    rest = inside - paper
    share = channel_dot(rest, gap) / size
    off = rest - share[..., None] * gap
    aside = np.sqrt(channel_dot(off, off) / size)
    share = np.minimum(share, _MOST)
    if sheet.lattice is None:
        return np.asarray(share), np.asarray(aside), np.ones(share.shape, bool)
    clear = beside_lattice(at, sheet.lattice) > 0
    return _across_lines(share, clear), _across_lines(aside, clear), np.asarray(clear)


def _across_lines(values: Values, clear: Mask) -> Values:
    """Values (D, N) drawn straight over the lines of the mat that cross; a line that runs along with a slit stays."""
    count, columns = values.shape
    every = np.broadcast_to(np.arange(count)[:, None], values.shape)
    before = np.maximum.accumulate(np.where(clear, every, -1), axis=0)
    after = np.minimum.accumulate(np.where(clear, every, count)[::-1], axis=0)[::-1]
    gap = np.maximum(after - before, 1)
    crossed = ~clear & (before >= 0) & (after < count) & (gap * _STEP_MM <= _LINE_MM)
    column = np.arange(columns)
    low, high = values[np.maximum(before, 0), column], values[np.minimum(after, count - 1), column]
    return np.where(crossed, low + (high - low) * (every - before) / gap, values)


def _along(values: Values, depth: Values, slope: float) -> Values:
    """Values (D, N) read along lines that lean by ``slope`` from each place of the edge inwards."""
    shift = np.rint(slope * depth / _STEP_MM).astype(int)
    return np.stack([np.roll(row, -by) for row, by in zip(values, shift, strict=True)])


def _slit(
    edge: Points,
    normals: Points,
    depth: Values,
    strength: Values,
    off: Values,
    clear: Mask,
    best: Values,
    k: int,
    slope: float,
) -> TracedMark | None:
    """The slit at place ``k`` of the edge, if what begins there is one."""
    slope = _lean(strength, depth, k, slope, float(best[k]))
    columns = (k + np.rint(slope * depth / _STEP_MM).astype(int)) % len(edge)
    rows = np.arange(len(depth))
    sides = [(columns + by) % len(edge) for by in (-1, 0, 1)]
    line = uniform_filter1d(np.max([strength[rows, side] for side in sides], axis=0), 3)
    level = max(float(best[k]), _OF_PEAK * float(np.sort(line[:_NEAR])[-5:].mean()))
    begun = int((line >= 0.5 * level).argmax())
    ended = begun + np.flatnonzero(line[begun:] < 0.5 * level)
    if not len(ended) or begun * _STEP_MM > _LEAD_MM:
        return None
    stop = int(ended[0])
    size = float(depth[stop - 1]) if stop else 0.0
    if not _LEAST_MM <= size <= _DEEPEST_MM or (stop - begun) * _STEP_MM < _SHOWN_MM:
        return None
    if _goes_on(line, level, [strength[rows, (columns + by) % len(edge)] for by in _ASTRAY], stop):
        return None
    across = np.arange(-_ACROSS, _ACROSS + 1)[:, None]
    broad = (strength[rows[:stop], (columns[:stop] + across) % len(edge)] > 0.5 * level).sum(0) * _STEP_MM
    if float(broad.max()) > _BROADEST_MM:
        return None  # a cross of drafting paper, a letter
    wander = np.arange(-_WANDER, _WANDER + 1)[:, None]
    after = np.arange(min(stop + 3, len(depth) - 1), min(stop + 12, len(depth)))
    if float(np.sort(strength[after, (columns[after] + wander) % len(edge)].max(0))[1]) > _GOES_ON * level:
        return None  # a tear wanders on
    plain = float(clear[rows[:stop], columns[:stop]].mean())
    most_off = _OFF * (1.0 + _LINE_OFF * (1.0 - plain)) * level
    if float(np.median(off[rows[:stop], columns[:stop]])) > most_off:
        return None
    wide = best[np.arange(k - 12, k + 13) % len(edge)] > 0.5 * level
    if wide.sum() * _STEP_MM > _WIDEST_MM:
        return None
    tip = edge[columns[stop - 1]] - size * normals[columns[stop - 1]]
    return TracedMark(kind="notch", at=edge[k], tip=tip, size_mm=size, confidence=0.85)


def _lean(strength: Values, depth: Values, k: int, slope: float, level: float) -> float:
    """The lean near ``slope`` along which what begins at place ``k`` of the edge shows furthest."""
    rows, best = np.arange(len(depth)), (-1.0, slope)
    for lean in slope + _FINER:
        line = strength[rows, (k + np.rint(lean * depth / _STEP_MM).astype(int)) % strength.shape[1]]
        gone = np.flatnonzero(uniform_filter1d(line, 3)[_NEAR:] < 0.5 * level)
        shown = line[: _NEAR + (int(gone[0]) if len(gone) else len(depth))].clip(max=level).sum()
        if shown > best[0] + 1e-6:
            best = (float(shown), float(lean))
    return best[1]


def _goes_on(line: Values, level: float, astray: list[Values], stop: int) -> bool:
    """Whether a line of print goes on beyond where a slit would end: straight on, or a dash a little to one side."""
    straight = uniform_filter1d(line, _DASH)[stop + 5 :]
    dashes = uniform_filter1d(astray, _DASH, axis=1)[:, stop + 5 :]
    return bool(straight.size) and bool(max(straight.max(), dashes.max()) > _DASHED * level)
