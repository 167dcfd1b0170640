"""What makes a block sound, checked and listed with value, limit and place.

Limits: paired seams within a third of the trade's truing accuracy of 1/16 in (1.6 mm); cap ease 3/8 in on each half at
least, 1 1/2 in at most; a back shoulder eased by at most 1/2 in; the rest common practice.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from convert.block.block import Check, Level
from convert.block.measured.measure import measure_shapes
from convert.block.moves.change import outline_is_simple
from convert.block.shape.landmarks import net
from convert.block.shape.shape import Shape, shape_of
from convert.block.shape.truing import REACH_MM, direction_at
from convert.piece.piece import Piece

PAIR_MM = 0.5
LEGS_MM = 0.2
GIRTH_MM = 0.5
SQUARE_DEG = 3.0
SMOOTH_DEG = 5.0
AS_IT_WAS_DEG = 1.0  # a join counts as the pattern had it within this: what its traced ends are sure to
SHOULDER_EASE_MM = 13.0
CAP_EASE_MM = (10.0, 38.1)

Shapes = Mapping[str, Shape]
# edge that shall run smooth, the joined seam it crosses
_JOINS = (("neckline", "shoulder"), ("armhole", "shoulder"), ("armhole", "side seam"), ("waist", "side seam"))


def check_block(
    pieces: Sequence[Piece], before: Sequence[Piece] = (), levels: Sequence[Level] = ()
) -> tuple[Check, ...]:
    """All checks that these pieces allow.

    Parameters
    ----------
    pieces
        The block's.
    before
        The pattern's own: a join that was no smoother there counts as sound.
    levels
        Those with a target are checked against it.
    """
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    old: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in before}
    checks = _levels(levels) + _pairs(shapes) + _joins(shapes, old)
    for piece in pieces:
        checks += _of_piece(piece, shapes[piece.kind], old.get(piece.kind))
    return tuple(checks)


def _levels(levels: Sequence[Level]) -> list[Check]:
    return [
        _check("body and ease", level.block_mm - level.target_mm, GIRTH_MM, level.name)
        for level in levels
        if level.target_mm is not None
    ]


def _pairs(shapes: Shapes) -> list[Check]:
    out = []
    for what in ("bodice", "skirt", "dress"):
        front, back = shapes.get(f"{what} front"), shapes.get(f"{what} back")
        if front is None or back is None:
            continue
        gap = net(back, "side seam") - net(front, "side seam")
        out.append(_check("side seams equal", gap, PAIR_MM, f"{what} side seams"))
        if what != "skirt":
            longer = net(back, "shoulder") - net(front, "shoulder")
            out.append(
                _between("back shoulder eased on to the front", longer, -PAIR_MM, SHOULDER_EASE_MM, f"{what} shoulders")
            )
    found = measure_shapes(shapes)
    if "sleeve" in shapes:
        gap = net(shapes["sleeve"], "underarm seam back") - net(shapes["sleeve"], "underarm seam front")
        out.append(_check("underarm seams equal", gap, PAIR_MM, "sleeve"))
    if "cap ease" in found:
        out.append(_between("cap ease in the usual range", found["cap ease"], *CAP_EASE_MM, "sleeve cap"))
    if "waist" in found and "skirt waist" in found:
        out.append(_check("waists agree", found["skirt waist"] - found["waist"], 4 * PAIR_MM, "bodice and skirt"))
    return out


def _joins(shapes: Shapes, old: Shapes) -> list[Check]:
    """Edges that run on across a joined seam: how far from straight on, degrees."""
    out = []
    for what in ("bodice", "skirt", "dress"):
        kinds = [f"{what} {side}" for side in ("front", "back")]
        if not all(kind in shapes for kind in kinds):
            continue
        for edge, seam in _JOINS + (("hem", "side seam"),):
            if not all(_meets(shapes[kind], edge, seam) for kind in kinds):
                continue
            bend = sum(corner_deg(shapes[kind], edge, seam) for kind in kinds) - 180.0
            limit = SMOOTH_DEG
            if all(kind in old for kind in kinds):
                was = abs(sum(corner_deg(old[kind], edge, seam) for kind in kinds) - 180.0)
                limit = max(limit, was + AS_IT_WAS_DEG)
            out.append(_check(f"{edge} smooth across the {seam}", bend, limit, f"{what} {seam}", unit="degrees"))
    return out


def _of_piece(piece: Piece, shape: Shape, old: Shape | None) -> list[Check]:
    out = []
    for dart in piece.darts:
        if dart.on is not None:
            legs = np.hypot(*(dart.legs - dart.apexes[0]).T)
            out.append(_check("dart legs equal", float(legs[1] - legs[0]), LEGS_MM, f"{piece.kind}, {dart.on} dart"))
    for edge in ("neckline", "waist", "hem") if piece.kind != "sleeve" else ():
        if _meets(shape, edge, shape.centre):
            off, limit = corner_deg(shape, edge, shape.centre) - 90.0, SQUARE_DEG
            if old is not None:
                limit = max(limit, abs(corner_deg(old, edge, old.centre) - 90.0) + AS_IT_WAS_DEG)
            out.append(_check("centre meets square", off, limit, f"{piece.kind}, {edge}", unit="degrees"))
    crossings = 0.0 if outline_is_simple(piece) else 1.0
    out.append(_check("outline crosses itself nowhere", crossings, 0.0, piece.kind, unit="crossings"))
    return out


def _check(check: str, value: float, limit: float, where: str, *, unit: str = "mm") -> Check:
    value = float(value)
    return Check(check=check, value=value, limit=limit, where=where, sound=abs(value) <= limit, unit=unit)


def _between(check: str, value: float, least: float, most: float, where: str) -> Check:
    return Check(check=check, value=float(value), limit=most, where=where, sound=bool(least <= value <= most))


def _meets(shape: Shape, one: str, other: str) -> bool:
    if not (shape.has(one) and shape.has(other)):
        return False
    gap = abs(shape.names.index(one) - shape.names.index(other))
    return gap in (1, len(shape.names) - 1)


def corner_deg(shape: Shape, one: str, other: str) -> float:
    """Angle inside the piece where two edges meet, degrees; the centre line counts as its chord."""
    ways = []
    for edge, neighbour in ((one, other), (other, one)):
        reach = 1e9 if edge.startswith("centre") else REACH_MM
        ways.append(direction_at(shape.ring[shape.run(edge, neighbour)], reach))
    return float(np.degrees(np.arccos(np.clip(ways[0] @ ways[1], -1, 1))))
