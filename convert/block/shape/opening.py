"""Opening a new dart: two points at one place on an edge, an apex inside, no intake yet."""

from dataclasses import replace

import numpy as np

from calibration.ground.points import Points, as_points, lengths_along
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.piece.piece import Dart, EdgeName


def with_new_dart(shape: Shape, edge_name: EdgeName, at: Points, apex: Points) -> Shape:
    """The shape with a dart of no intake on an edge at the point nearest to ``at``, aiming at ``apex``."""
    piece = piece_of(shape)
    place, tip = shape.frame.to_paper(np.vstack([at, apex]))
    k = next(i for i, edge in enumerate(piece.edges) if edge.name == edge_name)
    points = np.array(piece.edges[k].points)
    inside = range(2, len(points) - 2)
    nearest = inside[int(np.argmin(np.hypot(*(points[2:-2] - place).T)))]
    doubled = np.insert(points, nearest, points[nearest], axis=0)
    edges = list(piece.edges)
    edges[k] = replace(edges[k], points=doubled, cut_points=doubled)
    dart = Dart(
        on=edge_name, apexes=as_points(tip), legs=as_points([points[nearest], points[nearest]]), evidence="deduced"
    )
    return shape_of(replace(piece, edges=tuple(edges), darts=(*piece.darts, dart)))


def share_point(shape: Shape, name: str, start: str, share: float) -> Points:
    """Point (2,) of an edge at a share of its length from its corner with ``start``."""
    line = shape.ring[shape.run(name, start)]
    along = lengths_along(line)
    return np.array([np.interp(share * along[-1], along, line[:, axis]) for axis in (0, 1)])
