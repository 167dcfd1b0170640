"""Holes punched in the paper: small round places where the mat shows through."""

from collections.abc import Iterator

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.outline import beside_lattice
from convert.trace.paper.mat_colour import LOG_OFFSET, log_colour
from convert.trace.paper.paper import Paper
from convert.trace.paper.raster import channel_dot, sample
from convert.trace.tracing import TracedMark

Values = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

SMALLEST_MM, LARGEST_MM = 2.0, 12.0  # diameter
_FROM_EDGE_MM = 1.5
_LINES_MM = (1.4, 2.6)  # the widest line of a mat parts a hole that it is seen through, two of them so far
_SEED_MM2 = 0.9  # so much mat must show for a hole to be looked for
_WAYS = 64  # directions in which a hole's rim is looked for
_STEP_MM = 0.1  # along each
_BEYOND_MM = 1.8  # of paper beyond the rim that is looked at
_SOLID_MM = 1.1  # so much paper on end lies beyond a rim
_ROUNDS = 6
_ABOUT = 0.75  # a hole's size is known to a few hundredths from the first round on; what is so much smaller is print
_ROUND_MM, _ROUND = 0.2, 0.09  # how far a rim may wander off the circle, and as a share of its radius
_TRUE_MM, _TRUE = 0.07, 0.02  # and how far half of it may at most
_WHOLE = 0.75  # least share of the rim seen that lies on the circle, also together with the share that stands free
_SEEN = 0.4  # and of the whole rim that is clear of the mat's lines
_OPEN, _SHUT = 0.3, 0.75  # share of paper in a hole at most, round it at least
_OPEN_IN_GLARE, _PLAIN = 0.5, 0.9  # where glare lies on the mat below; then its rim must be so plainly round
_NEXT = 0.36  # share of the way round that may be open to a hole that touches this one
_APART = 0.8  # of both radii lie between the middles of two holes, at least
_FREE = 0.75  # share of the way round with plain paper beyond: of two holes side by side each hides some
_FLAT = 0.3  # how much darker a hole's middle may be than round it, in shares: a blurred speck has no flat bottom
_BOTTOM = ((0.0, 0.35), (0.5, 0.7))  # shares of its radius: its middle, and round that
_SHADE = 0.5  # log colour by which a hole may be darker than the mat; what is darker is print
_TINT = 0.3  # and by which its tint may differ


def find_holes(sheet: FlatSheet, paper: Paper, mask: Mask) -> tuple[TracedMark, ...]:
    """The holes in one piece of paper, with their diameters.

    A hole is round: its rim lies on one circle wherever the mat's lines let it be seen, with mat inside and plain paper
    all round. Arrow heads, letters and crossing lines of print in a colour like the mat's are not.
    """
    marks: list[TracedMark] = []
    for place, reach in dict.fromkeys(_seeds(paper, mask)):  # what no line parts comes each time
        seed = np.array(place)
        if any(np.hypot(*(seed - mark.at)) < mark.size_mm / 2 for mark in marks):
            continue
        mark = _hole(sheet, paper, seed, reach)
        if mark is not None and not any(_too_near(mark, m) for m in marks):
            marks.append(mark)
    return tuple(marks)


def _too_near(one: TracedMark, other: TracedMark) -> bool:
    """Whether two holes would lie in one another."""
    return float(np.hypot(*(one.at - other.at))) < _APART * (one.size_mm + other.size_mm) / 2


def _seeds(paper: Paper, mask: Mask) -> Iterator[tuple[tuple[float, float], float]]:
    """Where mat shows inside the paper, most of it first: the middle, and how far it may reach."""
    work = paper.work
    deep = np.asarray(cv2.erode(mask.astype(np.uint8), work.disc(_FROM_EDGE_MM)), bool)
    gap = paper.paper - paper.mat
    unfiltered = log_colour(work.pixels) - paper.mat  # what takes out thin print takes out small holes as well
    raw = channel_dot(unfiltered, gap) < 0.5 * channel_dot(gap, gap)
    through = (((paper.share < 0.5) | raw) & deep).astype(np.uint8)
    bridged = [cv2.morphologyEx(through, cv2.MORPH_CLOSE, work.disc(line / 2)) for line in _LINES_MM]
    for shown in (*bridged, through):  # holes side by side are one where what lies between is bridged
        count, labels, stats, centres = cv2.connectedComponentsWithStats(shown, connectivity=4)
        area = np.bincount(labels[through > 0], minlength=count) * work.mm_per_px**2
        wide = stats[:, [cv2.CC_STAT_WIDTH, cv2.CC_STAT_HEIGHT]].max(1) * work.mm_per_px
        for label in np.argsort(-area):
            if label > 0 and area[label] >= _SEED_MM2 and wide[label] <= LARGEST_MM + _LINES_MM[0]:
                x, y = work.to_mm([centres[label]])[0].tolist()
                yield (x, y), float(wide[label])
    inside = cv2.distanceTransform(through, cv2.DIST_L2, 5) * work.mm_per_px  # of holes that touch, each has its middle
    peak = (inside >= cv2.dilate(inside, work.disc(SMALLEST_MM / 2))) & (inside > 0.4 * SMALLEST_MM)
    rows, columns = np.nonzero(peak & (inside < LARGEST_MM / 2))
    for row, column in zip(rows, columns, strict=True):
        x, y = work.to_mm([[column, row]])[0].tolist()
        yield (x, y), 2.0 * float(inside[row, column])


def _hole(sheet: FlatSheet, paper: Paper, at: Points, reach: float) -> TracedMark | None:
    """The hole about a place, if there is one."""
    turn = np.linspace(0, 2 * np.pi, _WAYS, endpoint=False)
    way = np.column_stack([np.cos(turn), np.sin(turn)])
    far = np.arange(_STEP_MM / 2, max(reach, SMALLEST_MM) + _BEYOND_MM + 1.0, _STEP_MM)
    radius = 0.0
    for _ in range(_ROUNDS):
        share, off, clear = _looked(sheet, paper, at + far[:, None, None] * way)
        edge, seen = _rim(share, clear, far)
        if seen.mean() < _SEEN:
            return None
        shift, radius = _circle(way, edge, seen)
        if not _ABOUT * SMALLEST_MM <= 2 * radius <= LARGEST_MM / _ABOUT:
            return None
        at = at + shift
        if np.hypot(*shift) < 0.02:
            break
    if not SMALLEST_MM <= 2 * radius <= LARGEST_MM:
        return None
    onward = _into_the_next(edge > 1.5 * radius, seen)
    seen &= ~onward
    if seen.mean() < _SEEN:
        return None
    astray = np.abs(edge - radius)[seen]
    if np.median(astray) > _TRUE_MM + _TRUE * radius:
        return None
    whole = float((astray < _ROUND_MM + _ROUND * radius).mean())
    if whole < _WHOLE:
        return None
    inner = (far < 0.7 * radius)[:, None] & clear
    outer = ((far > radius + 0.4) & (far < radius + 1.4))[:, None] & clear
    if not inner.any() or not outer[:, seen].any():
        return None
    filled = float(np.median(share[inner]))
    core, round_it = (((far > low * radius) & (far < high * radius))[:, None] & clear for low, high in _BOTTOM)
    if core.any() and round_it.any() and np.median(share[round_it]) - np.median(share[core]) > _FLAT:
        return None
    tint = np.median(off[inner], axis=0)
    if tint.mean() < -_SHADE or np.abs(tint - tint.mean()).max() > _TINT:
        return None
    free = [np.median(share[outer[:, k], k]) > _SHUT for k in np.flatnonzero(seen & outer.any(0))]
    shut = float(np.mean(free))
    if shut < _FREE or whole * shut < _WHOLE or filled > (_OPEN if whole * shut < _PLAIN else _OPEN_IN_GLARE):
        return None
    sure = float(np.clip(whole * shut * (1.0 - max(0.0, filled)), 0.3, 1.0))
    return TracedMark(kind="hole", at=at, size_mm=2 * radius, confidence=sure)


def _into_the_next(beyond: Mask, seen: Mask) -> Mask:
    """Which ways (W,) lead on into a hole that touches this one: all of them side by side, a third of the way round."""
    far = beyond | ~seen
    runs = np.flatnonzero(far & ~np.roll(far, 1))
    into = beyond & seen
    starts = np.searchsorted(runs, np.flatnonzero(into), side="right") - 1
    alone = len(runs) > 0 and len(np.unique(starts % len(runs))) == 1 and into.mean() <= _NEXT
    return into if alone else np.zeros_like(into)


def _looked(sheet: FlatSheet, paper: Paper, at: Values) -> tuple[Values, Values, Mask]:
    """Over places (R, W, 2): 0 on mat to 1 on paper, log colour less the mat's, and what lies clear of the lattice."""
    flat = sample(sheet.pixels, sheet.to_px(at.reshape(-1, 2))).reshape(*at.shape[:2], 3)
    colour = np.log(flat.astype(float) + LOG_OFFSET)
    clear = np.ones(at.shape[:2], bool) if sheet.lattice is None else beside_lattice(at, sheet.lattice) > 0
    row, column = np.clip(
        np.rint(paper.work.to_px(at[0].mean(0))).astype(int)[0, ::-1], 0, np.array(paper.share.shape) - 1
    )
    mat, far = paper.mat[row, column].astype(float), len(at) * 2 // 3
    about = colour[far:][clear[far:]] if clear[far:].any() else colour[far:].reshape(-1, 3)
    gap = np.median(about, axis=0) - mat
    off = colour - mat
    return np.asarray((off @ gap) / max(float(gap @ gap), 1e-3)), np.asarray(off), np.asarray(clear)


def _rim(share: Values, clear: Mask, far: Values) -> tuple[Values, Mask]:
    """Distance (W,) at which each way first meets paper for good, and whether that is seen there."""
    shut = np.where(clear, share > 0.5, False)
    run = round(_SOLID_MM / _STEP_MM)
    ahead = np.lib.stride_tricks.sliding_window_view(shut | ~clear, run, axis=0).all(2) & shut[: len(far) - run + 1]
    first = ahead.argmax(0)
    columns = np.arange(share.shape[1])
    before = clear[np.maximum(first - 1, 0), columns] & clear[np.maximum(first - 2, 0), columns]
    seen = ahead.any(0) & before & (first > 0)
    high, low = share[first, columns], share[np.maximum(first - 1, 0), columns]
    part = np.clip((0.5 - low) / np.where(np.abs(high - low) < 1e-6, 1.0, high - low), 0, 1)
    return far[np.maximum(first - 1, 0)] + part * _STEP_MM, np.asarray(seen)


def _circle(way: Points, edge: Values, seen: Mask) -> tuple[Points, float]:
    """Shift (2,) and radius of the circle on which most of a rim lies."""
    rows = np.column_stack([way, np.ones(len(way))])[seen]
    size, weight = edge[seen], np.ones(int(seen.sum()))
    found = np.array([0.0, 0.0, float(np.median(size))])
    for _ in range(8):
        weighed = rows.T * weight
        found = np.linalg.solve(weighed @ rows, weighed @ size)
        weight = 1.0 / (1.0 + ((size - rows @ found) / (_ROUND_MM / 2)) ** 2)
    return found[:2], float(found[2])
