"""Centre lines of printed strokes, to a fraction of a pixel: each dash, each unbroken piece of line, one stroke."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from calibration.ground.points import Points, as_points, length
from convert.trace.ink.ink import Ink

FAINT = 0.14  # share of full ink below which nothing counts as printing
_LINE_LIKE = 0.6  # curvature along a line at most this share of that across it
_STEP_PX = 1.9  # ridge points further apart are not neighbours
_TURN_DEG = 24.0  # between neighbouring ridge points; a sharper turn is a corner or a crossing
_SHORTEST_MM = 1.2  # of a stroke; specks of the paper are shorter
_CORNER_DEG = 38.0  # turn within a few millimetres that no curve of a pattern makes
_CORNER_MM = 1.8  # length on either side of a point over which the turn there is taken
_LETTER_MM = 8.0  # a winding stroke shorter than this is part of a letter, and its order of no matter
_INTERLEAVED = 0.2  # share of a line's steps that jump to and fro where its points are not in order
_HALF = 0.55  # of a stroke's ink, where a blurred stroke ends
_END_MM = 5.0  # length at a stroke's end that tells its direction


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """One unbroken piece of a printed line.

    Attributes
    ----------
    points : (N, 2)
        Centre line in mat mm, about a pixel apart, in order.
    ends : (2, 2)
        Its first and last point.
    outward : (2, 2)
        Unit directions in which the line would run on beyond them.
    ink : float
        Median ink share along it: how dark and wide the line is.
    """

    points: Points
    ends: Points
    outward: Points
    ink: float

    @property
    def length(self) -> float:
        """Between its ends along the line."""
        return length(self.points[:: max(1, len(self.points) // 12)])


def find_strokes(ink: Ink, *, faint: float = FAINT, shortest_mm: float = _SHORTEST_MM) -> tuple[Stroke, ...]:
    """Strokes of a piece, in no particular order.

    Lines are ridges of the ink; a ridge's place across itself comes from the parabola through its neighbours.

    Source: C. Steger, "An unbiased detector of curvilinear structures", IEEE PAMI 20(2), 1998.
    """
    at, along, strength = _ridge_points(ink.share, faint)
    if len(at) < 2:
        return ()
    graph, label = _linked(at, along)
    order = np.argsort(label, kind="stable")
    bounds = np.flatnonzero(np.diff(label[order])) + 1
    strokes = []
    for members in np.split(order, bounds):
        if len(members) * ink.mm_per_px < 0.5 * shortest_mm:
            continue
        run = _in_order(at, members, graph, ink.mm_per_px)
        run = _without_fading_ends(run, strength)
        for part in _split_at_corners(ink.to_mm(at[run]), ink.mm_per_px):
            if length(part[:: max(1, len(part) // 12)]) >= shortest_mm:
                strokes.append(_stroke(part, float(np.median(strength[run]))))
    return tuple(strokes)


def _ridge_points(share: npt.NDArray[np.float32], faint: float) -> tuple[Points, Points, npt.NDArray[np.float64]]:
    """Points (N, 2) px on the middle of lines, unit directions (N, 2) along them, ink there (N,)."""
    width = share.shape[1]
    inner = share[1:-1, 1:-1] > faint
    row, column = np.nonzero(inner)
    flat = (row + 1) * width + column + 1
    value = share.ravel()
    near = {(i, j): value[flat + j * width + i].astype(np.float64) for i in (-1, 0, 1) for j in (-1, 0, 1)}
    gx = sum(near[1, j] - near[-1, j] for j in (-1, 0, 1)) / 6.0
    gy = sum(near[i, 1] - near[i, -1] for i in (-1, 0, 1)) / 6.0
    gxx = sum(near[1, j] - 2 * near[0, j] + near[-1, j] for j in (-1, 0, 1)) / 3.0
    gyy = sum(near[i, 1] - 2 * near[i, 0] + near[i, -1] for i in (-1, 0, 1)) / 3.0
    gxy = (near[1, 1] - near[1, -1] - near[-1, 1] + near[-1, -1]) / 4.0
    half, spread = (gxx + gyy) / 2.0, np.hypot((gxx - gyy) / 2.0, gxy)
    sharpest, other = half - spread, half + spread  # curvature across the line (negative) and along it
    angle = 0.5 * np.arctan2(2 * gxy, gxx - gyy) + np.pi / 2  # of the direction across
    nx, ny = np.cos(angle), np.sin(angle)
    offset = -(gx * nx + gy * ny) / np.where(sharpest < 0, sharpest, -1.0)
    keep = (sharpest < -0.004) & (np.maximum(np.abs(offset * nx), np.abs(offset * ny)) <= 0.6)
    keep &= np.abs(other) < _LINE_LIKE * -sharpest
    at = np.column_stack([column + 1 + offset * nx, row + 1 + offset * ny])[keep]
    return at, np.column_stack([-ny, nx])[keep], near[0, 0][keep]


def _linked(at: Points, along: Points) -> tuple[coo_array, npt.NDArray[np.int64]]:
    """Graph of ridge points that follow one another on one line, and the line's number for each point (N,)."""
    pairs = cKDTree(at).query_pairs(_STEP_PX, output_type="ndarray")
    i, j = pairs[:, 0], pairs[:, 1]
    step = at[j] - at[i]
    agree = np.abs((along[i] * along[j]).sum(1)) > np.cos(np.radians(_TURN_DEG))
    lean = along[i] + np.sign((along[i] * along[j]).sum(1))[:, None] * along[j]
    lean /= np.maximum(np.hypot(*lean.T), 1e-9)[:, None]
    aside = np.abs(step[:, 0] * lean[:, 1] - step[:, 1] * lean[:, 0])
    keep = agree & (aside < 0.75)
    gap = np.maximum(np.hypot(*step[keep].T), 1e-3)
    graph = coo_array((gap, (i[keep], j[keep])), shape=(len(at), len(at))).tocsr()
    return graph, connected_components(graph, directed=False)[1].astype(np.int64)


def _in_order(at: Points, members: npt.NDArray[np.int64], graph: coo_array, mm_per_px: float) -> npt.NDArray[np.int64]:
    """``members`` in order along their line."""
    own = at[members] - at[members].mean(0)
    _, axes = np.linalg.eigh(own.T @ own)
    major, minor = own @ axes[:, 1], own @ axes[:, 0]
    run: npt.NDArray[np.int64] = members[np.argsort(major)]
    if len(members) < 6 or len(members) * mm_per_px < _LETTER_MM:
        return run
    if np.ptp(minor) < 0.15 * np.ptp(major) and np.hypot(*np.diff(at[run], axis=0).T).max() < 3.0:
        return run
    part = graph[members][:, members]
    order, gone = _from_end(part, int(np.argmax(major)))
    if np.mean(np.hypot(*np.diff(at[members[order]], axis=0).T) > 2 * _STEP_PX) > _INTERLEAVED:
        opened = order[gone[order] > 2 * _STEP_PX]  # two arms walked in turn: a ring, to be cut where the walk began
        again, gone = _from_end(part[opened][:, opened], 0)
        order = opened[again] if np.isfinite(gone).all() else order
    run = members[order]
    return run


def _from_end(graph: coo_array, somewhere: int) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    """Points in order of their way from the end that is furthest from ``somewhere``, and each one's way from it."""
    start = int(np.argmax(dijkstra(graph, directed=False, indices=somewhere)))
    gone = dijkstra(graph, directed=False, indices=start)
    return np.argsort(gone), gone


def _without_fading_ends(run: npt.NDArray[np.int64], strength: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    """The run from where its ink first reaches half its strength to where it last does: there a stroke ends."""
    strong = np.flatnonzero(strength[run] > _HALF * np.median(strength[run]))
    return run[strong[0] : strong[-1] + 1]


def _split_at_corners(points: Points, mm_per_px: float) -> list[Points]:
    """The line in parts between its corners; the rounding that blur leaves at a corner belongs to neither."""
    jumps = np.flatnonzero(np.hypot(*np.diff(points, axis=0).T) > 4.0 * mm_per_px)  # branches walked in turn
    if len(jumps):
        parts_of = np.split(points, jumps + 1)
        return [part for run in parts_of if len(run) >= 3 for part in _split_at_corners(run, mm_per_px)]
    reach = round(_CORNER_MM / mm_per_px)
    if len(points) < 2 * reach + 3:
        return [points]
    before = points[reach:-reach] - points[: -2 * reach]
    after = points[2 * reach :] - points[reach:-reach]
    turn = np.abs(np.arctan2(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], (before * after).sum(1)))
    parts, start = [], 0
    while len(turn) and turn.max() > np.radians(_CORNER_DEG):
        at = int(np.argmax(turn))
        turn[max(0, at - reach) : at + reach + 1] = 0.0
        parts.append(at + reach)
    cut = max(1, reach // 3)
    pieces = []
    for corner in sorted(parts):
        pieces.append(points[start : corner - cut])
        start = corner + cut
    return [part for part in [*pieces, points[start:]] if len(part) >= 3]


def _stroke(points: Points, ink: float) -> Stroke:
    first, last = end_direction(points[::-1]), end_direction(points)
    return Stroke(
        points=as_points(points),
        ends=np.array([points[0], points[-1]]),
        outward=np.array([first, last]),
        ink=ink,
    )


def end_direction(points: Points, reach_mm: float = _END_MM) -> Points:
    """Unit direction (2,) in which a line (N, 2) runs on beyond its last point, from the ``reach_mm`` before it."""
    tail = points[np.hypot(*(points - points[-1]).T) <= reach_mm]
    tail = tail[-max(2, len(tail)) :]
    off = tail - tail.mean(0)
    _, axes = np.linalg.eigh(off.T @ off)
    direction = axes[:, 1]
    return np.asarray(direction if direction @ (points[-1] - points[0]) >= 0 else -direction)
