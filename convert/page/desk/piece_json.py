"""A piece of a block as the page draws it."""

from typing import Any

import numpy as np

from convert.paper.draw.draw_piece import simplified, simplified_line
from convert.piece.piece import Piece


def block_piece(piece: Piece) -> dict[str, Any]:
    """Seam line, edges, darts, marks and grain in the piece's own frame, mm, y up; lines within 0.05 mm."""
    return {
        "kind": piece.kind,
        "seam_line": _pairs(simplified(piece.seam_line)),
        "edges": [
            {"name": edge.name, "on_fold": edge.on_fold, "points": _pairs(simplified_line(edge.points))}
            for edge in piece.edges
        ],
        "darts": [{"on": dart.on, "legs": _pairs(dart.legs), "apexes": _pairs(dart.apexes)} for dart in piece.darts],
        "marks": [{"kind": mark.kind, "at": _pairs(mark.at[None])[0], "on": mark.on} for mark in piece.marks],
        "grainline": None if piece.grainline is None else _pairs(piece.grainline),
    }


def _pairs(points: Any) -> list[list[float]]:
    pairs: list[list[float]] = np.round(np.asarray(points, float), 2).tolist()
    return pairs
