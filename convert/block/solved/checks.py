"""What makes a block sound, checked and listed with value, limit and place.

Limits: paired seams within a third of the trade's truing accuracy of 1/16 in (1.6 mm); a back shoulder eased by at most
1/2 in; the shape as a cutter sees it (:mod:`convert.block.trued.looks`), with limits that are the same for every block.
No limit is taken from the pattern the block came from.
"""

from collections.abc import Mapping, Sequence

from convert.block.block import Check, Level
from convert.block.measured.measure import measure_shapes
from convert.block.moves.change import outline_is_simple
from convert.block.shape.landmarks import net
from convert.block.shape.shape import Shape, shape_of
from convert.block.trued.looks import bust_checks, hip_checks, shape_checks, sleeve_checks
from convert.block.trued.mouths import mouth_checks
from convert.piece.piece import Piece

PAIR_MM = 0.5
GIRTH_MM = 0.5
SHOULDER_EASE_MM = 12.5

Shapes = Mapping[str, Shape]


def check_block(
    pieces: Sequence[Piece], levels: Sequence[Level] = (), *, waist_to_hip: float | None = None
) -> tuple[Check, ...]:
    """All checks that these pieces allow.

    Parameters
    ----------
    pieces
        The block's.
    levels
        Those with a target are checked against it; where the darts shall aim is taken from their bodies.
    waist_to_hip
        Where the hip lies below the waist, mm.
    """
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    checks = _levels(levels) + _pairs(shapes) + shape_checks(shapes)
    checks += sleeve_checks(shapes, {piece.kind: piece for piece in pieces})
    if waist_to_hip:
        checks += hip_checks(shapes, waist_to_hip)
    body = {level.name: level.body_mm for level in levels}
    apart, height = body.get("bust point distance"), body.get("bust height")
    if "bodice front" in shapes and apart is not None and height is not None:
        checks += bust_checks(shapes["bodice front"], apart / 2.0, height)
    for piece in pieces:
        checks += mouth_checks(piece)
        crossings = 0.0 if outline_is_simple(piece) else 1.0
        checks.append(_check("outline crosses itself nowhere", crossings, 0.0, piece.kind, unit="crossings"))
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
    if "waist" in found and "skirt waist" in found:
        out.append(_check("waists agree", found["skirt waist"] - found["waist"], 4 * PAIR_MM, "bodice and skirt"))
    return out


def _check(check: str, value: float, limit: float, where: str, *, unit: str = "mm") -> Check:
    value = float(value)
    return Check(check=check, value=value, limit=limit, where=where, sound=abs(value) <= limit, unit=unit)


def _between(check: str, value: float, least: float, most: float, where: str) -> Check:
    return Check(check=check, value=float(value), limit=most, where=where, sound=bool(least <= value <= most))
