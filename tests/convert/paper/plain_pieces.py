"""A plain front and back to draw, their lengths known."""

from itertools import pairwise

import numpy as np

from calibration.ground.points import Points, as_points, resample
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Mark, Piece, PieceKind

NONE = Allowance(mm=0.0, evidence="told", why="a block has none")


def _edge(name: EdgeName, points: Points, on_fold: bool = False) -> Edge:
    return Edge(name=name, points=points, cut_points=points, allowance=NONE, on_fold=on_fold)


def _line(*corners: tuple[float, float]) -> Points:
    parts = [resample(np.array(pair, float), 0.5) for pair in pairwise(corners)]
    return as_points(np.vstack([part[:-1] for part in parts] + [parts[-1][-1:]]))


def _curve(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> Points:
    t = np.linspace(0, 1, 600)[:, None]
    return as_points((1 - t) ** 2 * np.array(a) + 2 * t * (1 - t) * np.array(b) + t**2 * np.array(c))


def bodice(kind: PieceKind = "bodice front", *, fold: bool = True, wider: float = 0.0) -> Piece:
    """A half bodice 250 mm wide (or wider at the side), 420 mm high, with a straight centre of exactly 342 mm."""
    centre: EdgeName = "centre front" if kind == "bodice front" else "centre back"
    edges = (
        _edge("waist", _line((0, 0), (80, 0), (119, 0), (238 + wider, 6))),
        _edge("side seam", _line((238 + wider, 6), (250 + wider, 194))),
        _edge("armhole", _curve((250 + wider, 194), (165, 220), (190, 372))),
        _edge("shoulder", _line((190, 372), (72, 420))),
        _edge("neckline", _curve((72, 420), (60, 342), (0, 342))),
        _edge(centre, _line((0, 342), (0, 0)), on_fold=fold),
    )
    return Piece(
        kind=kind,
        edges=edges,
        darts=(Dart(on="waist", apexes=as_points([[97, 138]]), legs=as_points([[80, 0], [119, 0]])),),
        marks=(
            Mark(kind="notch", at=as_points([[244, 100]])[0], on="side seam"),
            Mark(kind="notch", at=as_points([[192, 255]])[0], on="armhole"),
        ),
        grainline=as_points([[55, 60], [55, 290]]),
        uncertainty_mm=0.3,
        scale_uncertainty=0.0005,
    )
