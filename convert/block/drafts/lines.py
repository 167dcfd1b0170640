"""Curves and pieces of a draft: cubics sampled finely, edges joined round a piece."""

from collections.abc import Mapping, Sequence

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points, as_points
from convert.block.shape.shape import NO_ALLOWANCE, STEP, densified
from convert.piece.piece import Dart, Edge, EdgeName, Mark, Piece, PieceKind

_SAMPLES = 400  # of a cubic: chords of a curve as long as a sleeve's cap fall short by less than 1e-3 mm


def cubic(nodes: Sequence[Points | Sequence[float]]) -> Points:
    """Points (N, 2) along a cubic from its four nodes."""
    a, b, c, d = np.asarray(nodes, float)
    t = np.linspace(0.0, 1.0, _SAMPLES + 1)[:, None]
    return np.asarray((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)


def length_of(line: Points) -> float:
    """Length of a polyline (N, 2)."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def drafted_piece(
    kind: PieceKind,
    edges: Mapping[EdgeName, Points],
    *,
    note: Note,
    fold: str = "",
    darts: Sequence[Dart] = (),
    marks: Sequence[Mark] = (),
    grainline: Points | None = None,
    uncertainty_mm: float = 0.0,
    scale_uncertainty: float = 0.0,
) -> Piece:
    """A piece without allowance from its edges, counter-clockwise, each beginning where the last one ended."""
    made = []
    for name, line in edges.items():
        points = as_points(densified(np.asarray(line, float), STEP))
        made.append(Edge(name=name, points=points, cut_points=points, allowance=NO_ALLOWANCE, on_fold=name == fold))
    return Piece(
        kind=kind,
        edges=tuple(made),
        darts=tuple(darts),
        marks=tuple(marks),
        grainline=grainline,
        uncertainty_mm=uncertainty_mm,
        scale_uncertainty=scale_uncertainty,
        notes=(note,),
    )
