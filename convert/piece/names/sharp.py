"""True corners: where two edges, carried straight on, meet."""

from dataclasses import replace

import numpy as np

from calibration.ground.points import Points, lengths_along, resample
from convert.piece.names.naming import NamedEdge
from convert.piece.outline.meeting import meet, stretch

STEP_MM = 0.4
DULL_MM = 1.6
"""So near a corner a traced outline may be rounded, or its points belong to the other edge."""
TAKEN_FROM_MM = 9.0
MOST_MM = 2.5
"""A corner is moved at most so far; farther off it is rounded on purpose."""


def sharpened(edges: tuple[NamedEdge, ...]) -> tuple[NamedEdge, ...]:
    """The same edges with their common ends where the edges meet when carried on over their last few tenths."""
    ends = [_carried_on(edge.points) for edge in edges]
    starts = [_carried_on(edge.points[::-1]) for edge in edges]
    corners = []
    for k, edge in enumerate(edges):
        after = (k + 1) % len(edges)
        at = meet(*ends[k], *starts[after])
        corner = edge.points[-1]
        corners.append(corner if at is None or np.hypot(*(at - corner)) > MOST_MM else at)
    out = []
    for k, edge in enumerate(edges):
        size = lengths_along(edge.points)[-1]
        inner = stretch(edge.points, min(DULL_MM, 0.2 * size), max(size - DULL_MM, 0.8 * size))
        head, tail = np.array([corners[k - 1], inner[0]]), np.array([inner[-1], corners[k]])
        points = [resample(head, STEP_MM), inner[1:-1], resample(tail, STEP_MM)]
        out.append(replace(edge, points=np.vstack(points)))
    return tuple(out)


def _carried_on(line: Points) -> tuple[Points, Points]:
    """A point of an edge near its end, and the direction in which it runs on from there."""
    size = lengths_along(line)[-1]
    part = stretch(line, max(size - TAKEN_FROM_MM, 0.3 * size), max(size - DULL_MM, 0.8 * size))
    back = lengths_along(part) - lengths_along(part)[-1]
    start, slope = np.polynomial.polynomial.polyfit(back, part, 2 if len(part) > 6 else 1)[:2]
    return start, slope / max(float(np.hypot(*slope)), 1e-12)
