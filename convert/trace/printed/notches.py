"""Notches printed as small triangles that stand on the cut line, or drawn as ticks across it."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points
from convert.trace.edge.ring import even_ring
from convert.trace.ink.chains import Chain
from convert.trace.ink.ink import Ink
from convert.trace.tracing import TracedMark

_STEP_MM = 0.25  # along the line: half a millimetre off, a thin side no longer lies under what is looked for
_ALONG_MM = 1.5  # to both sides, which tells how the line runs
_DEPTHS_MM = (3.5, 4.5, 5.5, 7.0, 9.0)
_WIDE = (0.9, 1.1, 1.35)  # mouth as a share of the depth
_INKED = 0.10  # ink share of a thin line's middle
_FULL = 0.93  # share of both sides that must be inked
_CROSSED = 0.5  # share of the paper beside them that may be inked, by lines that cross
_APART_MM = 3.0
_BESIDE_MM, _STANDS_OUT = 1.0, 0.05  # so far to both sides a side is compared, and by so much more ink it shows
_FILLED = 0.5  # ink all through a triangle that is printed solid
_SIDE_POINTS = 12
_TICK_MM, _TICK_STRAIGHT = (3.0, 14.0), 0.97  # to a tick's further end, and how straight it is
_FROM_LINE_MM = 1.2  # the line itself hides where a tick begins
_TICK_SURE = 0.8  # our choice: a short stroke may be something else
_SQUARE_DEG = 20.0  # a triangle's sides stand more aslant


def find_printed_notches(ink: Ink, outline: Points, *, nowhere_near: Points | None = None) -> tuple[TracedMark, ...]:
    """Triangles on a printed cut line (N, 2), counter-clockwise, pointing in or out: middle of the mouth, and tip.

    ``nowhere_near`` (K, 2) is given where lines of other sizes run through the triangles: a side is then told from
    those by standing out from what lies on both sides of it, and nothing is looked for near those places.
    """
    ring = even_ring(outline, _STEP_MM)
    reach = round(_ALONG_MM / _STEP_MM)
    along = np.roll(ring, -reach, axis=0) - np.roll(ring, reach, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    found: list[tuple[float, int, float, float]] = []
    for sense in (1.0, -1.0):
        for depth in _DEPTHS_MM:
            for wide in _WIDE:
                if nowhere_near is None:
                    score = _score(ink, ring, along, sense * inward, depth, wide * depth)
                else:
                    score = _score_among_lines(ink, ring, along, sense * inward, depth, wide * depth)
                    score[cKDTree(nowhere_near).query(ring)[0] < wide * depth] = 0.0
                for k in np.flatnonzero(score > _FULL):
                    found.append((float(score[k]) + 0.004 * depth, int(k), depth, sense))
    marks: list[TracedMark] = []
    for sure, index, high, side in sorted(found, reverse=True):
        if all(np.hypot(*(ring[index] - m.at)) > _APART_MM for m in marks):
            tip = ring[index] + side * high * inward[index]
            marks.append(TracedMark(kind="notch", at=ring[index], tip=tip, size_mm=high, confidence=min(0.95, sure)))
    return tuple(marks)


def _score(
    ink: Ink, ring: Points, along: Points, inward: Points, depth: float, mouth: float
) -> npt.NDArray[np.float64]:
    """How fully (N,) the two sides of a triangle on each ring point are inked; 0 where the paper beside them is too."""
    up = np.linspace(0.22, 1.0, _SIDE_POINTS)
    sides = []
    outside = []
    for sense in (1.0, -1.0):
        across = sense * mouth / 2 * (1 - up)
        at = ring[:, None] + across[None, :, None] * along[:, None] + depth * up[None, :, None] * inward[:, None]
        sides.append(ink.sample(at.reshape(-1, 2)).reshape(len(ring), -1))
        beside = at + sense * 1.3 * along[:, None]
        outside.append(ink.sample(beside.reshape(-1, 2)).reshape(len(ring), -1))
    beyond = ring + (depth + 1.6) * inward
    inked = np.minimum(*[(s > _INKED).mean(1) for s in sides])
    clear = (
        np.maximum(*[(o > 0.6 * np.minimum(s, 0.6)).mean(1) for o, s in zip(outside, sides, strict=True)]) < _CROSSED
    )
    clear &= ink.sample(beyond) < _INKED
    level = np.minimum(*[s.mean(1) for s in sides])
    return np.asarray(np.where(clear, inked + 0.05 * level, 0.0))


def _score_among_lines(
    ink: Ink, ring: Points, along: Points, inward: Points, depth: float, mouth: float
) -> npt.NDArray[np.float64]:
    """As ``_score`` where other lines cross the triangle: both sides must stand out from beside them, all along."""
    up = np.linspace(0.22, 1.0, _SIDE_POINTS)
    inked, clear = np.ones(len(ring)), np.full(len(ring), np.inf)
    middle = ring[:, None] + depth * np.linspace(0.15, 0.6, 6)[None, :, None] * inward[:, None]
    filled = ink.sample(middle.reshape(-1, 2)).reshape(len(ring), -1).min(1) > _FILLED
    for sense in (1.0, -1.0):
        across = sense * mouth / 2 * (1 - up)
        at = ring[:, None] + across[None, :, None] * along[:, None] + depth * up[None, :, None] * inward[:, None]
        side = ink.sample(at.reshape(-1, 2)).reshape(len(ring), -1)
        inked = np.minimum(inked, (side > _INKED).mean(1))
        for off in (sense * _BESIDE_MM, -sense * _BESIDE_MM):
            beside = ink.sample((at + off * along[:, None]).reshape(-1, 2)).reshape(len(ring), -1)
            stands = np.minimum(np.median(side - beside, axis=1), (side - beside).mean(1))
            clear = np.minimum(clear, np.where(filled & (off * sense < 0), np.inf, stands))
    return np.asarray(np.where(clear > _STANDS_OUT, inked + 0.05 * np.minimum(clear, 1.0), 0.0))


def find_ticks(chains: tuple[Chain, ...], outline: Points, known: tuple[TracedMark, ...]) -> tuple[TracedMark, ...]:
    """Short straight strokes that stand square on a drawn cut line (N, 2), none where a notch is ``known``."""
    tree = cKDTree(outline)
    marks: list[TracedMark] = []
    for chain in chains:
        gaps, near = tree.query(chain.points)
        first, tip = int(gaps.argmin()), chain.points[0 if gaps[0] > gaps[-1] else -1]
        at, ends = outline[near[first]], gaps[[0, -1]]
        if not _TICK_MM[0] < ends.max() < _TICK_MM[1] or chain.straightness < _TICK_STRAIGHT:
            continue
        along, way = outline[(near[first] + 3) % len(outline)] - outline[near[first] - 3], tip - at
        aslant = abs(float(along @ way)) / max(float(np.hypot(*along) * np.hypot(*way)), 1e-9)
        if gaps[first] > _FROM_LINE_MM or aslant > np.sin(np.radians(_SQUARE_DEG)):
            continue
        if all(np.hypot(*(at - mark.at)) > _APART_MM for mark in (*known, *marks)):
            size = float(np.hypot(*way))
            marks.append(TracedMark(kind="notch", at=at, tip=tip, size_mm=size, confidence=_TICK_SURE))
    return tuple(marks)
