"""Truing of pieces, with the record of what it moved."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from convert.block.block import Move
from convert.block.compared.targets import PRIORITY, Row
from convert.block.moves.change import Change, Rule, recorded
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.block.trued.mouths import with_caps
from convert.block.trued.plan import drawable
from convert.block.trued.sharing import share_darts
from convert.block.trued.true import Wanted, true_set
from convert.body.card import LengthUnit
from convert.piece.piece import Piece

_SHOWN_MM = 0.5  # a smaller change is no line of the list
_WORDS = (
    "Fold the darts, lay the joined seams together and draw each line again as one curve, square at the centre: "
    "nothing moves more than {amount}."
)
TRUE_LINES = Rule(
    name="true the seams",
    where="every line, over folded darts and joined seams",
    more=_WORDS,
    less=_WORDS,
    make=lambda shape, _amount: Change(after=shape),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """What truing keeps: rows of the moves, what drafted pieces measure (mm), waist to hip (mm), darts' place asked."""

    rows: Sequence[Row]
    drafted: Mapping[str, float]
    hip_mm: float
    darts: str | None = None


def true_pieces(
    pieces: Sequence[Piece], asked: Asked, *, unit: LengthUnit = "cm"
) -> tuple[tuple[Piece, ...], tuple[Move, ...]]:
    """The pieces trued, wide darts shared first, and the moves: one for each dart shared and each piece redrawn."""
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    before = shapes
    shapes, moves = share_darts(before, asked.hip_mm, asked.darts, unit=unit)
    more = [Row(name=name, mm=mm, weight=PRIORITY.get(name, 0.5)) for name, mm in asked.drafted.items()]
    wanted = Wanted(rows=(*asked.rows, *more), hip_mm=asked.hip_mm)
    trued = true_set(shapes, wanted)
    if moves and any(trued[kind] is shape for kind, shape in shapes.items() if drawable(shape)):
        shapes, moves = before, ()  # no drawing with these darts: as wide as they were, and the checks say so
        trued = true_set(shapes, wanted)
    for kind, shape in shapes.items():
        far = float(np.hypot(*(trued[kind].ring - shape.ring).T).max())
        if far >= _SHOWN_MM:
            moves += (recorded(TRUE_LINES, far, shape, Change(after=trued[kind]), unit=unit),)
    return tuple(with_caps(piece_of(trued[piece.kind], dense=True)) for piece in pieces), moves
