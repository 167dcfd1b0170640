"""Dotted lines: round specks of ink at even steps, strung together."""

import cv2
import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from calibration.ground.points import Points, as_points
from convert.trace.ink.ink import Ink
from convert.trace.ink.strokes import Stroke, end_direction

_FAINT = 0.12  # share of full ink of a speck
_LARGEST_MM = 1.6  # across a speck
_NEAREST_MM, _FURTHEST_MM = 0.9, 4.0  # from speck to speck
_STRAIGHT_DEG = 28.0  # turn from step to step
_UNEVEN = 1.45  # ratio of neighbouring steps
_FEWEST = 6


def find_dotted(ink: Ink) -> tuple[Stroke, ...]:
    """Dotted lines, each as one stroke through its dots."""
    at, level = _specks(ink)
    if len(at) < _FEWEST:
        return ()
    pairs = _mutual(at, _both_neighbours(at))
    graph = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(at), len(at))).tocsr()
    label = connected_components(graph, directed=False)[1]
    graph = graph + graph.T
    out = []
    for k in np.flatnonzero(np.bincount(label) >= _FEWEST):
        run = _walk(graph, np.flatnonzero(label == k))
        points = as_points(at[run])
        ends = np.array([end_direction(points[::-1], 8.0), end_direction(points, 8.0)])
        out.append(Stroke(points=points, ends=points[[0, -1]], outward=ends, ink=float(np.median(level[run]))))
    return tuple(out)


def _specks(ink: Ink) -> tuple[Points, npt.NDArray[np.float64]]:
    """Centres (N, 2) mm of small round specks of ink and the ink there (N,)."""
    reach = max(1, round(0.5 / ink.mm_per_px))
    around = cv2.dilate(ink.share, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))
    row, column = np.nonzero((ink.share >= around) & (ink.share > _FAINT))
    peak = ink.share[row, column].astype(float)
    centre = ink.to_mm(np.column_stack([column, row]))
    turn = np.linspace(0, 2 * np.pi, 16, endpoint=False)
    ring = _LARGEST_MM / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
    rim = ink.sample((centre[:, None] + ring).reshape(-1, 2)).reshape(len(centre), len(ring))
    alone = rim.max(1) < 0.6 * peak
    return _centred(ink, centre[alone]), peak[alone]


def _centred(ink: Ink, centre: Points) -> Points:
    """Centres of gravity of the ink within 0.6 mm."""
    steps = np.arange(-0.6, 0.61, 0.15)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    weight = np.maximum(ink.sample((centre[:, None] + grid).reshape(-1, 2)).reshape(len(centre), len(grid)), 0.0)
    return np.asarray(centre + (weight[..., None] * grid).sum(1) / np.maximum(weight.sum(1), 1e-9)[:, None])


def _both_neighbours(at: Points) -> npt.NDArray[np.int64]:
    """The two specks (N, 2) between which each lies on an even straight line; -1 where there are none."""
    gap, near = cKDTree(at).query(at, k=min(8, len(at)), distance_upper_bound=_FURTHEST_MM)
    out = np.full((len(at), 2), -1)
    for k in range(len(at)):
        fits = np.isfinite(gap[k]) & (gap[k] > _NEAREST_MM)
        others, steps = near[k][fits], gap[k][fits]
        if len(others) < 2:
            continue
        ways = (at[others] - at[k]) / steps[:, None]
        opposite = -(ways @ ways.T)
        ratio = np.maximum(steps[:, None], steps) / np.minimum(steps[:, None], steps)
        cost = steps[:, None] + steps + 4.0 * (1.0 - opposite)
        cost[(opposite < np.cos(np.radians(_STRAIGHT_DEG))) | (ratio > _UNEVEN)] = np.inf
        i, j = np.unravel_index(np.argmin(cost), cost.shape)
        if np.isfinite(cost[i, j]):
            out[k] = others[i], others[j]
    return out


def _mutual(at: Points, neighbours: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
    """Pairs (M, 2) of specks that choose each other; a speck at a line's end chooses none and is chosen."""
    pairs = set()
    for k, (i, j) in enumerate(neighbours):
        for other in (i, j):
            if other >= 0 and (k in neighbours[other] or neighbours[other][0] < 0):
                pairs.add((min(k, int(other)), max(k, int(other))))
    return np.array(sorted(pairs), int).reshape(-1, 2)


def _walk(graph: coo_array, members: npt.NDArray[np.int64]) -> list[int]:
    """The specks of one line from end to end."""
    degree = {int(k): len(graph[[k]].indices) for k in members}
    run = [min(degree, key=lambda k: degree[k])]
    seen = set(run)
    while True:
        ahead = [int(k) for k in graph[[run[-1]]].indices if int(k) not in seen]
        if not ahead:
            return run
        run.append(ahead[0])
        seen.add(ahead[0])
