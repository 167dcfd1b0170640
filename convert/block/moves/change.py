"""What every move is made of: a rule, the change it makes to a shape, the record of it, and its undoing."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from shapely import remove_repeated_points
from shapely.geometry import LinearRing

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_points
from convert.block.block import Move
from convert.block.shape.shape import Shape, Weights, piece_of, shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm
from convert.piece.piece import Dart, Piece

_ONE_POINT_MM = 1e-4  # points nearer together are one, however they came about


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """A shape after a move, with what to draw: ``cuts`` (each (N, 2)) and ``hinges`` (M, 2) in the shape's frame.

    ``before`` is given where the move had to put points into the outline first (a new dart): the same paper, point for
    point with ``after``.
    """

    after: Shape
    before: Shape | None = None
    cuts: tuple[Points, ...] = ()
    hinges: Points = field(default_factory=lambda: np.zeros((0, 2)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A move of the trade, ready for any amount in mm.

    ``more`` and ``less`` say in a few words what is done for a positive and a negative amount, with ``{amount}`` in it.
    """

    name: str
    where: str
    more: str
    less: str
    make: Callable[[Shape, float], Change]

    def sentence(self, amount_mm: float, unit: LengthUnit = "cm") -> str:
        """What the cutter does, in one sentence."""
        words = self.more if amount_mm >= 0 else self.less
        return words.format(amount=format_fine_mm(abs(amount_mm), unit))


def displaced(
    shape: Shape,
    weights: Weights,
    vector: Points,
    *,
    apexes: Weights | float = 0.0,
    inner: Weights | float = 0.0,
) -> Shape:
    """Every point moved by its own share of one vector (2,): 0 on the side that stays, 1 on the side that moves."""
    vector = np.asarray(vector, float)
    return shape.moved(
        ring=shape.ring + np.outer(weights, vector),
        apexes=shape.apexes + np.broadcast_to(np.asarray(apexes, float), len(shape.apexes))[:, None] * vector,
        inner=shape.inner + np.broadcast_to(np.asarray(inner, float), len(shape.inner))[:, None] * vector,
    )


def perform(piece: Piece, rule: Rule, amount_mm: float, *, unit: LengthUnit = "cm") -> tuple[Piece, Move]:
    """Make a move on a piece.

    Returns
    -------
    piece, move
        The piece after it, on its seam line without allowance, and the record with both states.

    Raises
    ------
    InputError
        If the outline would cross itself.
    """
    shape = shape_of(piece)
    change = rule.make(shape, amount_mm)
    move = recorded(rule, amount_mm, shape, change, unit=unit)
    require_whole(move.after, rule.name)
    return move.after, move


def recorded(rule: Rule, amount_mm: float, before: Shape, change: Change, *, unit: LengthUnit = "cm") -> Move:
    """The record of a change; the points of ``before`` and ``after`` correspond one to one."""
    frame = before.frame
    return Move(
        move=rule.name,
        piece=before.piece.kind,
        amount_mm=float(amount_mm),
        where=rule.where,
        sentence=rule.sentence(amount_mm, unit),
        before=piece_of(before if change.before is None else change.before),
        after=piece_of(change.after),
        cuts=tuple(as_points(frame.to_paper(cut)) for cut in change.cuts),
        hinges=as_points(frame.to_paper(change.hinges)) if len(change.hinges) else as_points([]),
    )


def undo(piece: Piece, move: Move) -> Piece:
    """Take a move back: every point returns by as much as the move had moved it.

    Works on the piece as the move left it, and on one that later moves have changed.

    Raises
    ------
    ValueError
        If the piece is not the move's, point for point.
    """
    if len(move.before.edges) != len(piece.edges) or any(
        len(now.points) != len(after.points) for now, after in zip(piece.edges, move.after.edges, strict=True)
    ):
        raise ValueError(f"the {piece.kind} does not have the points of this move: {move.move}")
    edges = tuple(
        replace(
            now,
            points=now.points + old.points - new.points,
            cut_points=now.cut_points + old.cut_points - new.cut_points,
        )
        for now, old, new in zip(piece.edges, move.before.edges, move.after.edges, strict=True)
    )
    back = (
        replace(now, apexes=now.apexes + old.apexes - new.apexes, legs=now.legs + old.legs - new.legs)
        for now, old, new in zip(_darts_at(piece, move), move.before.darts, move.after.darts, strict=True)
    )
    darts = tuple(dart for dart in back if dart.on is None or dart.intake > 1e-9)  # a dart opened by the move is gone
    marks = tuple(
        replace(now, at=now.at + old.at - new.at)
        for now, old, new in zip(piece.marks, move.before.marks, move.after.marks, strict=True)
    )
    return replace(piece, edges=edges, darts=darts, marks=marks, grainline=move.before.grainline)


def _darts_at(piece: Piece, move: Move) -> tuple[Dart, ...]:
    """The piece's darts, those that the move has closed put back in their places."""
    left = list(piece.darts)
    return tuple(left.pop(0) if after.on is None or after.intake > 1e-6 else after for after in move.after.darts)


def require_whole(piece: Piece, what: str) -> None:
    """Refuse an outline that crosses itself.

    Raises
    ------
    InputError
        Naming the move and what to check.
    """
    if not outline_is_simple(piece):
        raise InputError(
            f"After the move “{what}” the outline of the {piece.kind} crosses itself.",
            "Check the measurements that this move serves, and whether every edge of the piece has its right name.",
        )


def outline_is_simple(piece: Piece) -> bool:
    """Whether the seam line nowhere crosses itself."""
    return is_simple(piece.seam_line)


def is_simple(ring: Points) -> bool:
    """Whether a closed line (N, 2) nowhere crosses itself.

    Points that lie on one another count as one: a dart's mouth that has been closed leaves a run of them, in no order.
    """
    return bool(remove_repeated_points(LinearRing(ring), _ONE_POINT_MM).is_simple)
