"""The amounts of all moves together: the block, measured again, is the maker's measurement plus the block's ease."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.errors import InputError, Note
from convert.block.block import Block, Level, Measured, Move
from convert.block.checks import check_block
from convert.block.measure import measure, measure_shapes, net
from convert.block.moves import bodice
from convert.block.moves.change import Rule, perform, recorded, require_whole
from convert.block.moves.shape import Shape, piece_of, shape_of
from convert.body.card import Card
from convert.body.wording import format_body_mm, format_paper_mm
from convert.piece.piece import Piece, PieceKind

_ROUNDS = 12
_STEP_MM = 0.5  # of a difference quotient
_MET_MM = 0.05  # a target is met
_SHOWN_MM = 0.25  # a smaller move is no move
_WIDEST_MOVE_MM = 160.0

# what a change of one level may move, and how dear a millimetre of it is: dear moves serve only what nothing else can
_BODICE_RULES: tuple[tuple[Rule, float], ...] = (
    (bodice.LENGTHEN_ABOVE, 1.0),
    (bodice.LENGTHEN_BELOW, 1.0),
    (bodice.BROADEN_ACROSS, 1.0),
    (bodice.LENGTHEN_SHOULDER, 1.0),
    (bodice.WIDEN_NECK, 1.0),
    (bodice.DEEPEN_NECK, 2.0),
    (bodice.WIDEN_AT_UNDERARM, 1.0),
    (bodice.WIDEN_AT_WAIST, 1.5),
    (bodice.TAKE_IN_DARTS, 1.0),
    (bodice.LOWER_ARMHOLE, 1.0),
)
_EASED = ("bust", "waist", "hip", "upper arm", "across back", "across chest", "neck", "wrist", "armhole depth")
_BODICE_LEVELS = (
    "bust",
    "waist",
    "neck",
    "back waist length",
    "front waist length",
    "shoulder length",
    "across back",
    "across chest",
    "armhole depth",
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """Pieces, the rules that may change them, and what is to come out."""

    shapes: Mapping[str, Shape]
    rules: tuple[tuple[str, Rule, float], ...]
    targets: Mapping[str, float]
    pairs: Mapping[str, float]

    def moved(self, amounts: npt.NDArray[np.float64]) -> dict[str, Shape]:
        """The shapes after all moves, in order."""
        now = dict(self.shapes)
        for (kind, rule, _), amount in zip(self.rules, amounts, strict=True):
            if amount != 0.0:
                now[kind] = rule.make(now[kind], float(amount)).after
        return now

    def misses(self, amounts: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Each target's and pair's miss, mm."""
        shapes = self.moved(amounts)
        found = {**measure_shapes(shapes), **_pairs(shapes)}
        return np.array([found[name] - wanted for name, wanted in {**self.targets, **self.pairs}.items()])


def suggest(
    pieces: Sequence[Piece],
    *,
    card: Card,
    drafted_for: Mapping[str, float] | None,
    ease: Mapping[str, float],
) -> Block:
    """A starting block: the pattern's pieces after the smallest moves that make them fit.

    Parameters
    ----------
    pieces
        Whole pieces on their seam line, at most one of each kind.
    card
        The maker. Levels she has not told keep the pattern's shape.
    drafted_for
        The body (mm) that the pattern's size was drafted for; None if not known. A level without an ease of the block
        keeps the ease that the pattern has there.
    ease
        The block's ease by level, mm.

    Raises
    ------
    InputError
        If a piece is not whole, or no moves reach the measurements; it names what to check.
    """
    for piece in pieces:
        if not piece.complete:
            raise InputError(
                f"The {piece.kind} was not read whole, so no block is made of it.",
                "Photograph it again, all of it in view.",
            )
    pattern = {one.name: one for one in measure(pieces)}
    wanted = _targets(pattern, card, drafted_for or {}, ease)
    problem = _problem(pieces, wanted)
    amounts = _solve(problem)
    made, moves = _perform(pieces, problem, amounts, card)
    block = {one.name: one for one in measure(made)}
    levels = tuple(
        _level(pattern[name], block[name], card, drafted_for or {}, wanted.get(name))
        for name in pattern
        if name in block
    )
    return Block(
        maker=card,
        pieces=made,
        levels=levels,
        moves=moves,
        checks=check_block(made, pieces),
        notes=_missed(levels, card),
    )


def _targets(
    pattern: Mapping[str, Measured], card: Card, drafted_for: Mapping[str, float], ease: Mapping[str, float]
) -> dict[str, float]:
    """What each level of the block is to measure: body and ease; levels that nobody told are left out."""
    out = {}
    for name in _BODICE_LEVELS:
        body = card.mm(name)
        if name not in pattern or body is None:
            continue
        if name in ease:
            out[name] = body + ease[name]
        elif name in drafted_for:
            out[name] = body + pattern[name].mm - drafted_for[name]
    return out


def _problem(pieces: Sequence[Piece], targets: Mapping[str, float]) -> _Problem:
    shapes = {piece.kind: shape_of(piece) for piece in pieces}
    bodices = [kind for kind in ("bodice front", "bodice back") if kind in shapes]
    rules = tuple((kind, rule, cost) for rule, cost in _BODICE_RULES for kind in bodices)
    return _Problem(shapes=shapes, rules=rules, targets=targets, pairs=_pairs(shapes))


def _pairs(shapes: Mapping[str, Shape]) -> dict[str, float]:
    """How much longer the back's paired seams are than the front's: kept as the pattern has it."""
    if "bodice front" not in shapes or "bodice back" not in shapes:
        return {}
    front, back = shapes["bodice front"], shapes["bodice back"]
    return {
        "shoulder, back longer": net(back, "shoulder") - net(front, "shoulder"),
        "side seam, back longer": net(back, "side seam") - net(front, "side seam"),
    }


def _solve(problem: _Problem) -> npt.NDArray[np.float64]:
    """Smallest amounts (by their costs) that meet every target: Gauss-Newton with least-norm steps."""
    cost = np.array([cost for _, _, cost in problem.rules])
    amounts = np.zeros(len(cost))
    if not len(cost) or not problem.targets:
        return amounts
    miss = problem.misses(amounts)
    for _ in range(_ROUNDS):
        if np.abs(miss).max() < _MET_MM / 10:
            break
        slope = np.empty((len(miss), len(cost)))
        for k in range(len(cost)):
            step = amounts.copy()
            step[k] += _STEP_MM
            slope[:, k] = (problem.misses(step) - miss) / _STEP_MM
        scaled = slope / cost
        wanted = scaled @ (amounts * cost) - miss
        amounts = np.linalg.lstsq(scaled, wanted, rcond=1e-6)[0] / cost
        amounts = np.clip(amounts, -_WIDEST_MOVE_MM, _WIDEST_MOVE_MM)
        miss = problem.misses(amounts)
    if not np.isfinite(miss).all():
        raise InputError(
            "No moves lead from this pattern to these measurements.", "Check the card against the tape, row by row."
        )
    return np.where(np.abs(amounts) < 1e-9, 0.0, amounts)


def _perform(
    pieces: Sequence[Piece], problem: _Problem, amounts: npt.NDArray[np.float64], card: Card
) -> tuple[tuple[Piece, ...], tuple[Move, ...]]:
    """The pieces after all moves, and the moves large enough to show."""
    shapes, moves = dict(problem.shapes), []
    for (kind, rule, _), amount in zip(problem.rules, amounts, strict=True):
        if amount == 0.0:
            continue
        change = rule.make(shapes[kind], float(amount))
        if abs(amount) >= _SHOWN_MM:
            moves.append(recorded(rule, float(amount), shapes[kind], change, unit=card.unit))
        shapes[kind] = change.after
    made = tuple(piece_of(shapes[piece.kind], dense=True) for piece in pieces)
    for piece in made:
        require_whole(piece, "all moves together")
    return made, tuple(moves)


def _level(
    pattern: Measured, block: Measured, card: Card, drafted_for: Mapping[str, float], target: float | None
) -> Level:
    body = card.measurements.get(pattern.name)
    size = drafted_for.get(pattern.name)
    return Level(
        name=pattern.name,
        pattern_mm=pattern.mm,
        pattern_uncertainty_mm=pattern.uncertainty_mm,
        drafted_for_mm=size,
        pattern_ease_mm=None if size is None else pattern.mm - size,
        body_mm=None if body is None else body.mm,
        body_is_estimated=body is not None and body.source == "estimated",
        ease_mm=0.0 if body is None else block.mm - body.mm,
        target_mm=target,
        block_mm=block.mm,
        uncertainty_mm=block.uncertainty_mm,
    )


def _missed(levels: Sequence[Level], card: Card) -> tuple[Note, ...]:
    return tuple(
        Note(
            "target-missed",
            f"The {level.name} of the block is {format_body_mm(level.block_mm, card.unit)}, "
            f"{format_paper_mm(abs(level.block_mm - level.target_mm), card.unit)} away from what was wanted.",
        )
        for level in levels
        if level.target_mm is not None and abs(level.block_mm - level.target_mm) > 2 * _MET_MM
    )


__all__ = ["PieceKind", "perform", "suggest"]
