"""Printed buttonholes: short straight strokes with a tick across either end."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from convert.trace.ink.chains import Chain
from convert.trace.ink.ink import Ink

_INKED = 0.35
_LONG_MM = (9.0, 50.0)  # a button's width and a little
_TICK_MM = (2.0, 12.0)
_SLENDER = 1.6  # so many times as long as its ticks, or it is a letter
_THIN_MM = 1.6  # of its stroke between the ticks, blurred
_END_MM = 1.8  # within which a tick stands at its end
_AROUND_MM = 1.0
_MOSTLY = 0.8  # of a line's points


def find_buttonholes(ink: Ink) -> tuple[Points, ...]:
    """The two ends (2, 2) of each buttonhole, in mat mm."""
    inked = (ink.share > _INKED).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(inked, connectivity=8)
    found = []
    for k in range(1, count):
        x, y, w, h = (int(v) for v in stats[k, :4])
        if not _LONG_MM[0] < float(np.hypot(w, h)) * ink.mm_per_px < 1.3 * _LONG_MM[1]:
            continue
        rows, columns = np.nonzero(labels[y : y + h, x : x + w] == k)
        ends = _ends(ink.to_mm(np.column_stack([columns + x, rows + y])))
        if ends is not None:
            found.append(ends)
    return tuple(found)


def _ends(points: Points) -> Points | None:
    """The ends of the stroke that ink at places (N, 2) makes, if it is thin but for a tick across either end."""
    if len(points) < 20:
        return None
    middle = points.mean(0)
    way, across = np.linalg.svd(points - middle, full_matrices=False)[2]
    along, off = (points - middle) @ way, (points - middle) @ across
    low, high = float(along.min()), float(along.max())
    if not _LONG_MM[0] < high - low < _LONG_MM[1]:
        return None
    ends = [along < low + _END_MM, along > high - _END_MM]
    ticks = [np.ptp(off[end]) for end in ends]
    between = off[~(ends[0] | ends[1])]
    inner = along[~(ends[0] | ends[1])]
    if not len(between) or np.ptp(between) > _THIN_MM or np.diff(np.sort(inner)).max(initial=0.0) > 1.0:
        return None
    if min(ticks) < _TICK_MM[0] or max(ticks) > _TICK_MM[1] or high - low < _SLENDER * max(ticks):
        return None
    centred = max(abs(off[end].max() + off[end].min()) / 2 for end in ends)
    if centred > 0.25 * max(ticks) or max(ticks) > 1.5 * min(ticks):
        return None
    return np.array([middle + low * way, middle + high * way])


def beside_buttonholes(chains: tuple[Chain, ...], buttonholes: tuple[Points, ...]) -> tuple[Chain, ...]:
    """The lines that are no part of buttonholes; those of a row may have been strung together."""
    if not buttonholes:
        return chains
    return tuple(
        chain for chain in chains if np.any([_within(chain.points, e) for e in buttonholes], axis=0).mean() < _MOSTLY
    )


def _within(points: Points, ends: Points) -> npt.NDArray[np.bool_]:
    way = ends[1] - ends[0]
    long = float(np.hypot(*way))
    gap = points - ends[0]
    along, off = gap @ way / long, np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0]) / long
    return np.asarray((along > -_AROUND_MM) & (along < long + _AROUND_MM) & (off < _TICK_MM[1] / 2 + _AROUND_MM))
