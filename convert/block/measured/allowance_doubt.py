"""How much a seam allowance that was not read makes every measurement unsure.

Each edge whose allowance was assumed or deduced is moved a little and everything is measured again; what changes, times
the edge's doubt, is the doubt of the measurement. Edges that were assumed together are probably wrong together, so
their effects add up as they are, or as if independent, whichever is more. An allowance read from a printed line adds
nothing: that line was seen as well as the paper's edge. Whether a centre lies on a fold is a question of yes or no; it
is asked, and is no part of an interval.
"""

from collections.abc import Callable, Mapping

import numpy as np

from calibration.ground.points import Points
from convert.block.shape.shape import Shape

_STEP_MM = 0.1  # small beside the 0.5 mm between points of an edge
_FLAT = 0.25  # sine of the angle at a corner below which two edges run on as one
_NEIGHBOURS, _APART_MM = 8, 0.2  # how far along, and away, a corner's other edge is looked at
_READ = ("measured", "told")


def allowance_doubts(
    shapes: Mapping[str, Shape], taken: Callable[[Mapping[str, Shape]], Mapping[str, float]]
) -> dict[str, float]:
    """Half-width (mm) of what unread allowances may do to each measurement that ``taken`` gives of the shapes."""
    now = taken(shapes)
    alone = dict.fromkeys(now, 0.0)
    together = dict.fromkeys(now, 0.0)
    for kind, shape in shapes.items():
        for k, edge in enumerate(shape.piece.edges):
            doubt = edge.allowance.uncertainty_mm
            if edge.on_fold or edge.allowance.evidence in _READ or doubt <= 0.0:
                continue
            then = taken({**shapes, kind: shape.moved(ring=nudged(shape, k, _STEP_MM))})
            for name in now:
                change = doubt * (then.get(name, now[name]) - now[name]) / _STEP_MM
                alone[name] += change**2
                together[name] += change if edge.allowance.evidence == "assumed" else 0.0
    return {name: max(float(np.sqrt(alone[name])), abs(together[name])) for name in now}


def nudged(shape: Shape, k: int, outward_mm: float) -> Points:
    """The ring (N, 2) with edge ``k`` moved outward by a little: corners slide along their other edge.

    The legs of a dart on it slide along themselves.
    """
    ring = shape.ring.copy()
    count = len(ring)
    first, last = shape.starts[k], shape.starts[(k + 1) % len(shape.starts)]
    run = np.arange(first, last + (count if last <= first else 0) + 1) % count
    side = _outward_side(shape)
    normal = side * _normals(shape.ring[run])
    moved = shape.ring[run] + outward_mm * normal
    for at, way in ((0, -1), (-1, 1)):
        corner = shape.ring[run[at]]
        beyond = shape.ring[(run[at] + way * np.arange(1, _NEIGHBOURS)) % count] - corner
        slide = beyond[int(np.argmax(np.hypot(*beyond.T) > _APART_MM))]  # a point may be there twice
        moved[at] = corner + _slid(slide, normal[at], outward_mm)
    for dart in shape.darts_on(shape.names[k]):
        for leg in shape.legs[dart]:
            (place,) = np.flatnonzero(run == leg)
            slide = shape.apexes[dart] - shape.ring[leg]
            moved[place] = shape.ring[leg] + _slid(slide, normal[place], outward_mm)
    ring[run] = moved
    return ring


def _slid(way: Points, normal: Points, outward_mm: float) -> Points:
    """The shift along ``way`` that lies ``outward_mm`` out along ``normal``; straight out where they are square."""
    along = np.asarray(way) / max(float(np.hypot(*way)), 1e-9)
    share = float(along @ normal)
    return outward_mm * (along / share if abs(share) > _FLAT else np.asarray(normal))


def _normals(line: Points) -> Points:
    """Unit normals (N, 2) to the right of the way."""
    way = np.gradient(line, axis=0)
    size = np.hypot(*way.T)
    known = np.flatnonzero(size > 1e-9)  # a point may be there twice: its neighbour's way will do
    nearest = known[np.argmin(np.abs(known[None, :] - np.arange(len(line))[:, None]), axis=1)]
    way = way[nearest] / size[nearest, None]
    return np.column_stack([way[:, 1], -way[:, 0]])


def _outward_side(shape: Shape) -> float:
    """1 where outward lies to the right along the ring (counter-clockwise in the shape's own frame), else -1."""
    x, y = shape.ring.T
    return 1.0 if float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) > 0 else -1.0
