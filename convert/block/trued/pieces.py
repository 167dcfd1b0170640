"""Truing of pieces, with the record of what it moved."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from convert.block.block import Move
from convert.block.compared.targets import PRIORITY, Row
from convert.block.moves.change import Change, Rule, recorded
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.block.trued.mouths import with_caps
from convert.block.trued.plan import drawable
from convert.block.trued.sharing import share_darts
from convert.block.trued.true import GROUPS, Wanted, true_set
from convert.body.card import LengthUnit
from convert.piece.piece import Piece

_SKIRT_SIDES = "skirt side, back longer"
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TruedPieces:
    """Pieces after truing, the moves of it, and the groups of pieces that could not be drawn anew."""

    pieces: tuple[Piece, ...]
    moves: tuple[Move, ...]
    left: frozenset[str]


def true_pieces(
    pieces: Sequence[Piece], asked: Asked, groups: Collection[str] = GROUPS, *, unit: LengthUnit = "cm"
) -> TruedPieces:
    """The pieces trued, wide darts shared first: a move for each dart shared and each piece redrawn."""
    before: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    free = {kind: shape for kind, shape in before.items() if kind.split()[0] in groups and drawable(shape)}
    shared, moves = share_darts(free, asked.hip_mm, asked.darts, unit=unit)
    wanted = _wanted(asked, before)
    shapes = {**before, **shared}
    trued = true_set(shapes, wanted, groups)
    if moves and not set(free) <= set(trued):
        shapes, moves = before, ()  # no drawing with these darts: as wide as they were, and the checks say so
        trued = true_set(shapes, wanted, groups)
    moves += _recorded(shapes, trued, unit)
    made = tuple(with_caps(piece_of(trued.get(piece.kind, shapes[piece.kind]), dense=True)) for piece in pieces)
    return TruedPieces(pieces=made, moves=moves, left=frozenset(kind.split()[0] for kind in set(free) - set(trued)))


def redrawn(
    shapes: Mapping[str, Shape], wanted: Wanted, groups: Collection[str], *, unit: LengthUnit
) -> tuple[dict[str, Piece], tuple[Move, ...]]:
    """Those pieces, by kind, whose lines could be drawn anew with these lengths, and a move for each."""
    trued = true_set(shapes, wanted, groups)
    return {kind: piece_of(shape) for kind, shape in trued.items()}, _recorded(shapes, trued, unit, least=0.0)


def _recorded(
    shapes: Mapping[str, Shape], trued: Mapping[str, Shape], unit: LengthUnit, least: float = _SHOWN_MM
) -> tuple[Move, ...]:
    far = {kind: float(np.hypot(*(after.ring - shapes[kind].ring).T).max()) for kind, after in trued.items()}
    return tuple(
        recorded(TRUE_LINES, mm, shapes[kind], Change(after=trued[kind]), unit=unit)
        for kind, mm in far.items()
        if mm >= least
    )


def _wanted(asked: Asked, shapes: Mapping[str, Shape]) -> Wanted:
    """What truing keeps of a set with its drafted pieces, whose seams fit each other."""
    more = [Row(name=name, mm=mm, weight=PRIORITY.get(name, 0.5)) for name, mm in asked.drafted.items()]
    told = {row.name: row.mm for row in asked.rows if row.weight >= 1.0}
    if {"skirt front", "skirt back"} <= set(shapes) and _SKIRT_SIDES not in told:
        more.append(Row(name=_SKIRT_SIDES, mm=0.0, weight=1.0))
    return Wanted(rows=(*asked.rows, *more), hip_mm=asked.hip_mm, cap_ease=told.get("cap ease"))
