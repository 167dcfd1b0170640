"""Panels whose edges were named as if their seam began on different edges, named again so that they agree."""

from collections.abc import Callable, Sequence

from calibration.ground.errors import InputError
from calibration.ground.points import length
from convert.piece.names.kinds import KINDS
from convert.piece.piece import EdgeName, Piece

Named = Callable[[int, EdgeName], Piece]
"""A piece, by its place among all, read anew with its panel seam beginning on an edge."""


def seams_from(pieces: Sequence[Piece], named: Named) -> dict[int, EdgeName]:
    """Where the panel seam begins, for each panel (by its place) that has to be named again.

    The two sides of a seam are equally long, so of the edges on which it may begin that one is taken which makes them
    most nearly so.
    """
    out: dict[int, EdgeName] = {}
    panels = [(k, piece) for k, piece in enumerate(pieces) if piece.has("panel seam")]
    for k, centre in panels:
        for j, side in panels:
            if KINDS[centre.kind].part != "centre" or KINDS[side.kind].part != "side":
                continue
            if KINDS[centre.kind].whole != KINDS[side.kind].whole or _begins(centre) == _begins(side):
                continue
            found = {at: _apart(named, k, j, at) for at in _ways(centre)}
            best = min(found, key=lambda at: found[at])
            if found[best] < float("inf"):
                out |= {k: best, j: best}
    return out


def _ways(piece: Piece) -> list[EdgeName]:
    return [shape.seam_from for shape in KINDS[piece.kind].shapes if shape.seam_from is not None]


def _begins(piece: Piece) -> EdgeName | None:
    names = {edge.name for edge in piece.edges}
    return next((shape.seam_from for shape in KINDS[piece.kind].shapes if set(shape.names) == names), None)


def _apart(named: Named, k: int, j: int, at: EdgeName) -> float:
    """By how much the two sides of the seam differ, if it begins on an edge; infinite if it can't."""
    try:
        sides = [length(named(place, at).edge("panel seam").points) for place in (k, j)]
    except InputError:
        return float("inf")
    return abs(sides[0] - sides[1])
