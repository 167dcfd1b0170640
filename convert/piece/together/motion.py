"""Parts moved as paper is moved on a table: turned, shifted, and turned over; never stretched."""

from dataclasses import dataclass, field, replace

import numpy as np

from calibration.ground.points import Points, as_point
from convert.piece.piece import Piece


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Motion:
    """A turn about the origin by ``turn`` (radians, to the left), then a ``shift`` (2,)."""

    turn: float = 0.0
    shift: Points = field(default_factory=lambda: as_point([0.0, 0.0]))

    def __post_init__(self) -> None:
        object.__setattr__(self, "shift", as_point(self.shift))

    def of(self, points: Points) -> Points:
        """Points (N, 2), or one (2,), where the motion takes them."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        moved: Points = np.asarray(points, float) @ np.array([[c, s], [-s, c]]) + self.shift
        return moved


STILL = Motion()


def about(pivot: Points, turn: float) -> Motion:
    """A turn by ``turn`` radians about a point (2,)."""
    pivot = np.asarray(pivot, float)
    return Motion(turn=turn, shift=pivot - Motion(turn=turn).of(pivot))


def fitted(moving: Points, still: Points) -> Motion:
    """The motion that lays points (N, 2) on as many others with the least sum of squares.

    Source: W. Kabsch, Acta Crystallographica A32 (1976) 922, in the plane.
    """
    a, b = moving - moving.mean(0), still - still.mean(0)
    turn = float(np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum()))
    return Motion(turn=turn, shift=still.mean(0) - Motion(turn=turn).of(moving.mean(0)))


def carried(piece: Piece, motion: Motion) -> Piece:
    """The piece with everything on it where a motion takes it."""
    return replace(
        piece,
        edges=tuple(
            replace(edge, points=motion.of(edge.points), cut_points=motion.of(edge.cut_points)) for edge in piece.edges
        ),
        darts=tuple(replace(dart, apexes=motion.of(dart.apexes), legs=motion.of(dart.legs)) for dart in piece.darts),
        marks=tuple(
            replace(mark, at=motion.of(mark.at), seam_at=None if mark.seam_at is None else motion.of(mark.seam_at))
            for mark in piece.marks
        ),
        grainline=None if piece.grainline is None else motion.of(piece.grainline),
        inside=tuple(replace(line, points=motion.of(line.points)) for line in piece.inside),
    )


def turned_over(piece: Piece) -> Piece:
    """The piece's other side up: its mirror image, edges still counter-clockwise."""
    flip = np.array([-1.0, 1.0])
    edges = tuple(
        replace(edge, points=(edge.points * flip)[::-1], cut_points=(edge.cut_points * flip)[::-1])
        for edge in piece.edges[::-1]
    )
    return replace(
        piece,
        edges=(edges[-1], *edges[:-1]),
        darts=tuple(
            replace(dart, apexes=dart.apexes * flip, legs=(dart.legs * flip)[::-1]) for dart in piece.darts[::-1]
        ),
        marks=tuple(
            replace(mark, at=mark.at * flip, seam_at=None if mark.seam_at is None else mark.seam_at * flip)
            for mark in piece.marks
        ),
        grainline=None if piece.grainline is None else piece.grainline * flip,
        inside=tuple(replace(line, points=line.points * flip) for line in piece.inside),
        placement=None,
    )
