"""A piece's outlines as few lines and cubics, so that a drawing program shows true curves with handles."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from calibration.ground.points import Points
from convert.piece.outline.fit import fit_path
from convert.piece.outline.path import Path
from convert.piece.piece import Piece
from convert.piece.record import edge_path

CURVE_KEEP_MM = 0.03
"""A curve runs at most this far from the points that it stands for, at full size."""
CORNER_DEG = 6.0
"""A ring of points a quarter to half a millimetre apart that turns this far at one point has a corner there."""


@lru_cache(maxsize=32)
def seam_curve(piece: Piece) -> tuple[Points, ...]:
    """The seam line as straight pieces (2, 2) and cubics (4, 2), in order round the piece from its first edge on."""
    parts: list[Points] = []
    for edge in piece.edges:
        legs = [dart.legs for dart in piece.darts if dart.on == edge.name]
        points = _thinned(edge.points, legs)
        parts += _nodes(edge_path(points, kinks=legs, tolerance_mm=CURVE_KEEP_MM))
    return tuple(parts)


def _thinned(line: Points, legs: Sequence[Points]) -> Points:
    """Every third point, with the ends and the darts' leg ends: still about a millimetre apart, and fitted faster."""
    kept = set(range(0, len(line), 3)) | {len(line) - 1}
    kept |= {int(np.argmin(np.hypot(*(line - leg).T))) for pair in legs for leg in pair}
    return line[sorted(kept)]


def ring_curve(ring: Points) -> tuple[Points, ...]:
    """Any closed outline of close points (N, 2), first not repeated, in the same way; it turns where the points do."""
    ahead, behind = np.roll(ring, -1, axis=0) - ring, ring - np.roll(ring, 1, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    turn = np.degrees(np.arctan2(cross, (behind * ahead).sum(1)))
    corners = np.flatnonzero(np.abs(turn) > CORNER_DEG)
    return tuple(_nodes(fit_path(ring, corners, tolerance_mm=CURVE_KEEP_MM)))


def _nodes(path: Path) -> list[Points]:
    return [np.asarray(segment.nodes) for segment in path.segments]
