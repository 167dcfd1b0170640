"""What the toile's fitting showed, carried back into the block as moves; the block keeps all its moves as a history."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from calibration.errors import InputError
from convert.block.block import Block, Level, Move
from convert.block.checks import check_block
from convert.block.measure import measure
from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.change import Change, Rule, recorded, require_whole, undo
from convert.block.moves.shape import shape_of
from convert.block.moves.skirt import skirt_rules
from convert.block.targets import WAIST_TO_HIP_MM
from convert.block.truing import corner_angles, true_corners, true_dart_legs
from convert.piece.piece import Piece

_BOTH, _BACK, _FRONT = ("bodice front", "bodice back"), ("bodice back",), ("bodice front",)
_SKIRT = ("skirt front", "skirt back")


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One thing pinned or cut on the toile.

    ``place`` is one of :func:`places`; ``amount_mm`` is how much longer, wider, lower or rounder it is to be on each
    piece, negative for the other way; ``on`` restricts it to some pieces.
    """

    place: str
    amount_mm: float
    on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    rule: Rule
    kinds: tuple[str, ...]
    signs: tuple[float, ...]


def _place(rule: Rule, kinds: tuple[str, ...], signs: tuple[float, ...] = ()) -> _Place:
    return _Place(rule=rule, kinds=kinds, signs=signs or (1.0,) * len(kinds))


def _places(hip: float) -> Mapping[str, _Place]:
    waist, wide, long, _ = skirt_rules(hip)
    return {
        "side seam at the underarm": _place(bodice.WIDEN_AT_UNDERARM, _BOTH),
        "side seam at the waist": _place(bodice.WIDEN_AT_WAIST, _BOTH),
        "waist darts": _place(bodice.TAKE_IN_DARTS, _BOTH),
        "length above the waist": _place(bodice.LENGTHEN_BELOW, _BOTH),
        "length above the underarm": _place(bodice.LENGTHEN_ABOVE, _BOTH),
        "across back": _place(bodice.BROADEN_ACROSS, _BACK),
        "across chest": _place(bodice.BROADEN_ACROSS, _FRONT),
        "shoulder length": _place(bodice.LENGTHEN_SHOULDER, _BOTH),
        "shoulder slope": _place(bodice.SLOPE_SHOULDER, _BOTH),
        "forward shoulder": _place(bodice.SLOPE_SHOULDER, _BOTH, (1.0, -1.0)),
        "neck width": _place(bodice.WIDEN_NECK, _BOTH),
        "front neck depth": _place(bodice.DEEPEN_NECK, _FRONT),
        "armhole": _place(bodice.LOWER_ARMHOLE, _BOTH),
        "sway back": _place(posture.SWAY_BACK, _BACK),
        "round back": _place(posture.ROUND_BACK, _BACK),
        "bust point down": _place(bodice.BUST_POINT_DOWN, _FRONT),
        "bust point out": _place(bodice.BUST_POINT_OUT, _FRONT),
        "upper arm": _place(sleeve.WIDEN_UPPER_ARM, ("sleeve",)),
        "wrist": _place(sleeve.WIDEN_WRIST, ("sleeve",)),
        "sleeve length": _place(sleeve.LENGTHEN_SLEEVE, ("sleeve",)),
        "crown": _place(sleeve.RAISE_CROWN, ("sleeve",)),
        "skirt waist": _place(waist, _SKIRT),
        "hip": _place(wide, _SKIRT),
        "skirt length": _place(long, _SKIRT),
    }


def places() -> tuple[str, ...]:
    """Where a toile can be corrected."""
    return tuple(_places(WAIST_TO_HIP_MM))


def correct(block: Block, corrections: Sequence[Correction]) -> Block:
    """The block after the fitting: moves appended, measured and checked again.

    Raises
    ------
    InputError
        If a place is not known, the block has no such piece, or an outline would cross itself.
    """
    hip = block.maker.mm("waist to hip") or WAIST_TO_HIP_MM
    known = _places(hip)
    pieces, moves = {piece.kind: piece for piece in block.pieces}, list(block.moves)
    for correction in corrections:
        place = known.get(correction.place)
        if place is None:
            raise InputError(
                f"“{correction.place}” is no place where a toile is corrected.", f"Choose one of: {', '.join(known)}."
            )
        kinds = [k for k in place.kinds if k in pieces and (not correction.on or k in correction.on)]
        if not kinds:
            raise InputError(
                f"The block has no piece on which to correct “{correction.place}”.",
                f"It needs the {' or the '.join(place.kinds)}.",
            )
        for kind, sign in zip(place.kinds, place.signs, strict=True):
            if kind in kinds:
                piece = next(p for k, p in pieces.items() if k == kind)
                made, move = _corrected(piece, place.rule, sign * correction.amount_mm, block)
                pieces[made.kind] = made
                moves.append(move)
    return _measured_again(block, tuple(pieces[piece.kind] for piece in block.pieces), tuple(moves), hip)


def _corrected(piece: Piece, rule: Rule, amount: float, block: Block) -> tuple[Piece, Move]:
    """One move with its truing, so that taking it back takes the truing back too."""
    shape = shape_of(piece)
    change = rule.make(shape, amount)
    after = true_corners(true_dart_legs(change.after), corner_angles(shape))
    whole = Change(after=after, before=change.before, cuts=change.cuts, hinges=change.hinges)
    move = recorded(rule, amount, shape, whole, unit=block.maker.unit)
    require_whole(move.after, rule.name)
    return move.after, move


def take_back(block: Block) -> Block:
    """The block without its last move.

    Raises
    ------
    InputError
        If there is none to take back.
    """
    if not block.moves:
        raise InputError("This block has no move to take back.", "Nothing needs to be done.")
    last = block.moves[-1]
    if not any(piece.kind == last.piece and _same_points(piece, last.after) for piece in block.pieces):
        raise InputError(
            "The last move was made before the block was written out, and can't be taken back by itself.",
            "Make the block anew from the pattern.",
        )
    pieces = tuple(undo(piece, last) if piece.kind == last.piece else piece for piece in block.pieces)
    hip = block.maker.mm("waist to hip") or WAIST_TO_HIP_MM
    return _measured_again(block, pieces, block.moves[:-1], hip)


def _same_points(one: Piece, other: Piece) -> bool:
    return [len(edge.points) for edge in one.edges] == [len(edge.points) for edge in other.edges]


def _measured_again(block: Block, pieces: tuple[Piece, ...], moves: tuple[Move, ...], hip: float) -> Block:
    found = {one.name: one for one in measure(pieces, waist_to_hip=hip)}

    def again(level: Level) -> Level:
        now = found[level.name]
        ease = level.ease_mm if level.body_mm is None else now.mm - level.body_mm
        return replace(level, block_mm=now.mm, uncertainty_mm=now.uncertainty_mm, ease_mm=ease, target_mm=None)

    levels = tuple(again(level) for level in block.levels if level.name in found)
    checks = check_block(pieces, block.pieces, levels)
    return replace(block, pieces=pieces, levels=levels, moves=moves, checks=checks)
