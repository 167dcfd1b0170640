"""What makes a block sound, checked and listed with value, limit and place."""

from collections.abc import Mapping, Sequence

import numpy as np

from convert.block.block import Check
from convert.block.landmarks import net
from convert.block.moves.change import outline_is_simple
from convert.block.moves.shape import Shape, shape_of
from convert.piece.piece import Piece

PAIR_MM = 0.5
LEGS_MM = 0.2
SQUARE_DEG = 3.0
SMOOTH_DEG = 5.0
SHOULDER_EASE_MM = 13.0  # a back shoulder eased on to the front: up to half an inch, common practice
_REACH_MM = 6.0


def check_block(pieces: Sequence[Piece], before: Sequence[Piece] = ()) -> tuple[Check, ...]:
    """All checks that these pieces allow; ``before`` are the pattern's own, whose joins count as they are."""
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    checks = _pairs(shapes)
    for piece in pieces:
        checks += _of_piece(piece, shapes[piece.kind])
    return tuple(checks)


def _pairs(shapes: Mapping[str, Shape]) -> list[Check]:
    out = []
    for what in ("bodice", "skirt"):
        front, back = shapes.get(f"{what} front"), shapes.get(f"{what} back")
        if front is None or back is None:
            continue
        gap = net(back, "side seam") - net(front, "side seam")
        out.append(_check("side seams equal", gap, PAIR_MM, f"{what} side seams"))
        if what == "bodice":
            longer = net(back, "shoulder") - net(front, "shoulder")
            sound = -PAIR_MM <= longer <= SHOULDER_EASE_MM
            out.append(
                Check(
                    check="back shoulder eased on to the front",
                    value=longer,
                    limit=SHOULDER_EASE_MM,
                    where="shoulders",
                    sound=sound,
                )
            )
    return out


def _of_piece(piece: Piece, shape: Shape) -> list[Check]:
    out = []
    for dart in piece.darts:
        if dart.on is not None:
            legs = np.hypot(*(dart.legs - dart.apexes[0]).T)
            out.append(_check("dart legs equal", float(legs[1] - legs[0]), LEGS_MM, f"{piece.kind}, {dart.on} dart"))
    if not piece.kind.startswith("sleeve"):
        for edge in ("neckline", "waist"):
            if shape.has(edge) and _meets(shape, shape.centre, edge):
                off = _corner_deg(shape, shape.centre, edge) - 90.0
                out.append(_check("centre meets square", off, SQUARE_DEG, f"{piece.kind}, {edge}", unit="degrees"))
    out.append(
        Check(
            check="outline crosses itself nowhere",
            value=0.0 if outline_is_simple(piece) else 1.0,
            limit=0.0,
            where=piece.kind,
            sound=outline_is_simple(piece),
            unit="crossings",
        )
    )
    return out


def _check(check: str, value: float, limit: float, where: str, *, unit: str = "mm") -> Check:
    return Check(check=check, value=value, limit=limit, where=where, sound=abs(value) <= limit, unit=unit)


def _meets(shape: Shape, one: str, other: str) -> bool:
    gap = abs(shape.names.index(one) - shape.names.index(other))
    return gap in (1, len(shape.names) - 1)


def _corner_deg(shape: Shape, one: str, other: str) -> float:
    """Angle inside the piece where two edges meet."""
    first, second = shape.run(one, other), shape.run(other, one)
    here = shape.ring[first[0]]
    ways = []
    for run in (first, second):
        along = np.hypot(*(shape.ring[run] - here).T)
        ways.append(shape.ring[run[int(np.searchsorted(along, min(_REACH_MM, along.max())))]] - here)
    u, v = (way / np.hypot(*way) for way in ways)
    return float(np.degrees(np.arccos(np.clip(u @ v, -1, 1))))
