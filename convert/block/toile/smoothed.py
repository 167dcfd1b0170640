"""After a fitting: lines that its moves left with a corner or a wave are drawn anew, every length as it was fitted."""

from collections.abc import Mapping, Sequence

from convert.block.block import Block, Check, Move
from convert.block.compared.targets import Row
from convert.block.measured.measure import measure_shapes
from convert.block.shape.shape import Shape, shape_of
from convert.block.solved.checks import check_block
from convert.block.solved.problem import half_girths, pairs
from convert.block.trued.pieces import redrawn
from convert.block.trued.true import GROUPS, Wanted
from convert.piece.piece import Piece

_STILL = 5.0  # times dearer than in a new block is it to move a corner: what fits the body stays there


def smoothed(
    block: Block, pieces: Mapping[str, Piece], touched: Sequence[str], hip_mm: float
) -> tuple[dict[str, Piece], tuple[Move, ...]]:
    """The pieces as they are, or with their lines drawn anew where a check of the shape held before and now does not.

    Parameters
    ----------
    block
        Before the fitting.
    pieces
        After its moves, by kind.
    touched
        Kinds of the pieces that it changed: only their lines, and those of their partners, are drawn anew.
    hip_mm
        Waist to hip.
    """
    old = _spoiled(list(block.pieces), hip_mm)
    new = _spoiled(list(pieces.values()), hip_mm) - old
    groups = {kind.split()[0] for kind in touched} & set(GROUPS)
    if not new or not groups:
        return dict(pieces), ()
    shapes = {kind: shape_of(piece) for kind, piece in pieces.items()}
    made, moves = redrawn(shapes, _as_fitted(shapes, hip_mm), sorted(groups), unit=block.maker.unit)
    out = {kind: made.get(kind, piece) for kind, piece in pieces.items()}
    better = len(_spoiled(list(out.values()), hip_mm) - old) < len(new)
    return (out, moves) if better else (dict(pieces), ())


def _spoiled(pieces: Sequence[Piece], hip_mm: float) -> set[tuple[str, str]]:
    """Checks of the shape that do not hold: what, and where."""
    return {(check.check, check.where) for check in check_block(pieces, waist_to_hip=hip_mm) if _is_lost(check)}


def _is_lost(check: Check) -> bool:
    return not check.sound and not check.check.endswith(("equal", "agree", "eased on to the front"))


def _as_fitted(shapes: Mapping[str, Shape], hip_mm: float) -> Wanted:
    """Every length, and every difference of paired seams, as the fitting left it."""
    found = {**measure_shapes(shapes, waist_to_hip=hip_mm), **pairs(shapes), **half_girths(shapes, hip_mm)}
    rows = [Row(name=name, mm=mm, weight=1.0) for name, mm in found.items() if mm == mm]
    return Wanted(rows=rows, hip_mm=hip_mm, cap_ease=found.get("cap ease"), still=_STILL)
