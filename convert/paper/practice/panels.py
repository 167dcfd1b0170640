"""A front cut in two through its darts: a centre and a side panel, whose seam takes up both."""

import numpy as np
from shapely import Polygon, maximum_inscribed_circle

from calibration.ground.points import Points, closed, lengths_along
from convert.block.shape.landmarks import bust_point
from convert.block.shape.shape import Indices, Shape, shape_of
from convert.block.shape.truing import true_dart_legs
from convert.paper.draw.draw_piece import simplified
from convert.paper.practice.figure import KEEP_MM, Figure, Stroke, set_down
from convert.piece.piece import Piece

ROUNDED_MM = 20.0  # of the seam on each side of the bust point: within it the corner is rounded (our choice)
NOTCH_MM = 12.0
GRAIN_MM = 60.0  # as long as the grain is drawn


def in_panels(piece: Piece) -> tuple[Figure, Figure]:
    """Centre and side panel of a front that has a dart at the shoulder and one at the waist.

    Raises
    ------
    ValueError
        If it has not.
    """
    shape = true_dart_legs(shape_of(piece))
    upper, lower = shape.darts_on("shoulder"), shape.darts_on("waist")
    if not upper or not lower:
        raise ValueError("panels need a dart at the shoulder and one at the waist")
    pivot = bust_point(shape)
    above, below = (shape.legs[darts[0]] for darts in (upper, lower))
    one, other = _arc(shape, int(above[1]), int(below[0])), _arc(shape, int(below[1]), int(above[0]))
    corner = shape.starts[shape.names.index(shape.centre)]
    centre, side = (one, other) if corner in one else (other, one)
    return _panel(shape, centre, pivot, "Front,\ncentre"), _panel(shape, side, pivot, "Front,\nside")


def _arc(shape: Shape, first: int, last: int) -> Indices:
    count = len(shape.ring)
    return np.arange(first, last + (count if last < first else 0) + 1) % count


def _panel(shape: Shape, arc: Indices, pivot: Points, name: str) -> Figure:
    """The paper inside an arc of the outline and the seam from its ends over the bust point; grain upright."""
    line = shape.ring[arc]
    seam = _rounded(np.vstack([line[-1], pivot, line[0]]))
    ring = np.vstack([line, seam[1:-1]])
    middle = seam[len(seam) // 2]
    outward = 1.0 if middle[0] > line.mean(0)[0] else -1.0
    notch = middle + np.array([[0.0, 0.0], [-outward * NOTCH_MM, 0.0]])
    at = np.array(maximum_inscribed_circle(Polygon(ring), tolerance=2.0).coords[0])
    grain = at + np.array([[0.0, -GRAIN_MM / 2], [0.0, GRAIN_MM / 2]])
    k = shape.names.index(shape.centre)
    centre = shape.ring[_arc(shape, shape.starts[k], shape.starts[(k + 1) % len(shape.starts)])]
    folded = shape.piece.edges[k].on_fold and bool((np.isin(arc, shape.starts[k])).any())
    strokes = (
        Stroke(look="outline", points=closed(simplified(ring, KEEP_MM))),
        Stroke(look="dart", points=notch),
        Stroke(look="grain", points=grain),
        *((Stroke(look="fold", points=centre),) if folded else ()),
    )
    return set_down(Figure(name=name, strokes=strokes))


def _rounded(corner: Points) -> Points:
    """A line of two straight parts (3, 2), its corner a parabola over :data:`ROUNDED_MM` of each."""
    first, at, last = corner
    reach = min(ROUNDED_MM, 0.4 * float(lengths_along(corner)[1]), 0.4 * float(np.hypot(*(last - at))))
    start, end = (at + (one - at) / np.hypot(*(one - at)) * reach for one in (first, last))
    t = np.linspace(0.0, 1.0, 21)[:, None]
    return np.vstack([first, (1 - t) ** 2 * start + 2 * t * (1 - t) * at + t**2 * end, last])
