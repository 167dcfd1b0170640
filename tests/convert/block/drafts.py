"""Pieces drawn from a draft's points, for tests that measure them."""

from collections.abc import Mapping, Sequence

import numpy as np

from convert.piece.piece import Allowance, Dart, Edge, Piece, PieceKind
from tests.lab_pieces import dense

NONE = Allowance(mm=0.0, evidence="told")
Line = Sequence[tuple[float, float]]


def drafted(kind: PieceKind, edges: Mapping[str, Line], darts: Sequence[tuple[str, Line]] = ()) -> Piece:
    """A piece from its edges, each beginning where the last one ended; a dart is leg, apex, leg."""
    return Piece(
        kind=kind,
        edges=tuple(
            Edge(name=name, points=dense(np.array(line, float)), cut_points=np.array(line, float), allowance=NONE)  # type: ignore[arg-type]
            for name, line in edges.items()
        ),
        darts=tuple(
            Dart(on=name, apexes=[line[1]], legs=[line[0], line[2]])  # type: ignore[arg-type]
            for name, line in darts
        ),
    )
