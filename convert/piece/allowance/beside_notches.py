"""Small places where a traced outline can't be the cut line: beside notches, and where a pointed corner is cut short.

Notches are taken out of an outline by carrying the edge on across them. Where two stand close together on a bend, or
where a sharp corner is itself taken for a notch that stands out, a few millimetres of outline are wrong by several.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along, nearest_on_line, resample
from convert.piece.allowance.stitching import measure_stitching
from convert.piece.darts.darts import CutDart
from convert.piece.names.naming import NamedEdge, NamedPiece
from convert.piece.outline.meeting import meet, stretch, unit
from convert.trace.tracing import Tracing

OFF_MM = 0.7  # an edge that leaves its stitching line by more, for a short stretch beside a notch, is misread there
SHORT_MM, NEAR_NOTCH_MM, PAST_MM = 30.0, 16.0, 3.0
JOINT_MM = 1.0  # left straight at either end of what is led along, so that nothing runs back
TIP_MM = 14.0  # a corner taken for a notch is cut off no wider
LONGEST_TIP_MM = 30.0
DIRECTION_MM = (2.0, 14.0)  # of an edge beside a corner that gives its direction
STEP_MM = 0.4  # about between points of a traced outline
SHARPEST_DEG = 80.0  # a corner more open than this does not look like a notch


def with_tips(tracing: Tracing) -> Tracing:
    """The tracing with pointed corners that were taken for notches standing out, put back where their edges meet."""
    notches = [mark for mark in tracing.marks if mark.kind == "notch"]
    ring, kept = tracing, tracing.marks
    for mark in notches:
        tip = _tip(ring, mark.at)
        if tip is not None:
            ring = _put_back(ring, *tip)
            kept = tuple(one for one in kept if one is not mark)
    return replace(ring, marks=kept)


def _tip(tracing: Tracing, at: Points) -> tuple[int, int, Points] | None:
    """The two corners (indices) between which a tip was cut off at a notch, and where it was (2,)."""
    ring, n = tracing.outline, len(tracing.outline)
    for a, b in zip(tracing.corners, np.roll(tracing.corners, -1), strict=True):
        ends = ring[[a, b]]
        if max(np.hypot(*(ends - at).T)) > TIP_MM:
            continue
        before = ring[(int(a) - np.arange(*(np.array(DIRECTION_MM) / STEP_MM).astype(int))) % n]
        after = ring[(int(b) + np.arange(*(np.array(DIRECTION_MM) / STEP_MM).astype(int))) % n]
        u, v = unit(before[0] - before[-1]), unit(after[0] - after[-1])
        met = meet(before[0], u, after[0], v)
        open_deg = float(np.degrees(np.arccos(np.clip(u @ v, -1, 1))))
        ahead = met is not None and (met - before[0]) @ u > 0 and (met - after[0]) @ v > 0
        if met is not None and ahead and open_deg < SHARPEST_DEG and np.hypot(*(met - at)) < LONGEST_TIP_MM:
            return int(a), int(b), met
    return None


def _put_back(tracing: Tracing, a: int, b: int, tip: Points) -> Tracing:
    """The outline from corner a to corner b led over a tip."""
    n = len(tracing.outline)
    order = (b + np.arange((a - b) % n + 1)) % n
    kept = tracing.outline[order]
    way = np.vstack([resample(np.array([kept[-1], tip]), STEP_MM), resample(np.array([tip, kept[0]]), STEP_MM)[1:-1]])
    ring = np.vstack([kept[:-1], way])
    place = {int(old): new for new, old in enumerate(order)}
    peak = len(kept) - 1 + int(np.argmin(np.hypot(*(way - tip).T)))
    corners = sorted({place[int(c)] for c in tracing.corners if int(c) in place and int(c) not in (a, b)} | {peak})
    return replace(
        tracing,
        outline=ring,
        corners=np.array(corners),
        inferred=_flags(tracing.inferred, order, len(ring), True),
        told=None if tracing.told is None else _flags(tracing.told, order, len(ring), False),
    )


def _flags(flags: npt.NDArray[np.bool_], order: npt.NDArray[np.int64], count: int, rest: bool) -> npt.NDArray[np.bool_]:
    out = np.full(count, rest)
    out[: len(order)] = flags[order]
    return out


def evened(named: NamedPiece, darts: Sequence[CutDart] = ()) -> NamedPiece:
    """The piece with its edges led along their printed stitching line where, beside a notch, they leave it."""
    lines = [line.points for line in named.tracing.lines if line.kind == "stitching" and len(line.points) >= 2]
    notches = [mark.at for mark in named.tracing.marks if mark.kind == "notch"]
    if not lines or not notches:
        return named
    widths = {name: found.mm for name, found in measure_stitching(named, tuple(darts)).items()}
    edges = tuple(
        _evened(edge, widths[edge.name], lines, notches) if edge.name in widths else edge for edge in named.edges
    )
    return replace(named, edges=edges)


def _evened(edge: NamedEdge, width: float, lines: Sequence[Points], notches: Sequence[Points]) -> NamedEdge:
    along = lengths_along(edge.points)
    near = np.zeros(len(along), bool)
    for at in notches:
        _, s, off = nearest_on_line(edge.points, at)
        if off < NEAR_NOTCH_MM:
            near |= np.abs(along - s) < NEAR_NOTCH_MM + SHORT_MM
    if not near.any():
        return edge
    line = min(lines, key=lambda one: float(np.median([nearest_on_line(one, q)[2] for q in edge.points[near][::8]])))
    gap = np.full(len(along), width)
    for k in np.flatnonzero(near):
        gap[k] = nearest_on_line(line, edge.points[k])[2]
    wrong = np.abs(gap - width) > OFF_MM
    points = edge.points
    for first, last in _runs(wrong)[::-1]:
        a, b = along[first] - PAST_MM, along[last] + PAST_MM
        if b - a < SHORT_MM and a > 0 and b < along[-1] and _beside(edge.points, a, b, notches):
            points = _led_along(points, a, b, line, width)
    return replace(edge, points=points)


def _runs(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    steps = np.diff(np.concatenate([[0], flags.astype(int), [0]]))
    return list(zip(np.flatnonzero(steps == 1), np.flatnonzero(steps == -1) - 1, strict=True))


def _beside(points: Points, a: float, b: float, notches: Sequence[Points]) -> bool:
    """Whether a stretch lies beside a notch."""
    for at in notches:
        _, s, off = nearest_on_line(points, at)
        if off < NEAR_NOTCH_MM and a - NEAR_NOTCH_MM < s < b + NEAR_NOTCH_MM:
            return True
    return False


def _led_along(points: Points, a: float, b: float, line: Points, width: float) -> Points:
    """An edge whose stretch from a to b runs beside a line at a fixed distance."""
    size = float(lengths_along(points)[-1])
    before, after = stretch(points, 0.0, a), stretch(points, b, size)
    ends = [nearest_on_line(line, at)[1] for at in (before[-1], after[0])]
    inner = resample(stretch(line, min(ends) + JOINT_MM, max(ends) - JOINT_MM), STEP_MM)
    inner = inner if ends[0] <= ends[1] else inner[::-1]
    way = np.gradient(inner, axis=0)
    way /= np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    beside = inner + width * np.column_stack([way[:, 1], -way[:, 0]])  # outside is to the right of an edge
    return np.vstack([before, beside[1:-1], after])
