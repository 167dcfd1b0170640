"""What the toile's fitting showed, carried back into the block as moves; seams that are sewn to each other follow."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from calibration.ground.errors import InputError, Note
from convert.block.block import Block, Level, Move
from convert.block.measured.measure import measure
from convert.block.moves.change import Change, Rule, recorded, require_whole, undo
from convert.block.shape.shape import Shape, shape_of
from convert.block.solved.checks import check_block
from convert.block.toile.following import PAIRS, followers, following_amounts, lengths_to_keep, pair_differences, trued
from convert.block.toile.places import Part, Place, toile_places
from convert.block.toile.smoothed import smoothed
from convert.block.toile.words import Correction
from convert.block.trued.mouths import with_caps
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import format_paper_mm, listed
from convert.piece.piece import Piece

_TOLD_MM = 0.5  # a smaller difference of seams left unequal on purpose is not worth a word
_LEAST_MM = 5e-3  # a smaller following move is left out


def places() -> tuple[str, ...]:
    """Where a toile can be corrected."""
    return tuple(toile_places(WAIST_TO_HIP_MM))


def correct(block: Block, corrections: Sequence[Correction]) -> Block:
    """The block after a fitting: moves appended, partner seams following, measured and checked again.

    Parameters
    ----------
    block
        As it was sewn as a toile.
    corrections
        All that one fitting showed (:func:`convert.block.toile_words.understand`); made in this order, then every seam
        that is sewn to a changed one follows it, unless the correction stands ``alone``.

    Returns
    -------
    Block
        Its notes say which partner was left unequal.

    Raises
    ------
    InputError
        If a place is not known, the block has no such piece, or an outline would cross itself.
    """
    hip = _hip(block)
    known = toile_places(hip)
    before: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in block.pieces}
    pieces: dict[str, Piece] = {piece.kind: piece for piece in block.pieces}
    moves = list(block.moves)
    for correction in corrections:
        for part, amount in _parts(_known_place(known, correction), correction, block):
            pieces[part.kind], move = _corrected(pieces[part.kind], part.rule, amount, block)
            moves.append(move)
    moves += _follow(block, before, pieces, corrections, hip)
    touched = sorted({move.piece for move in moves[len(block.moves) :]})
    pieces, more = smoothed(block, pieces, touched, hip)
    moves += more
    notes = (*block.notes, *_left_unequal(block, before, pieces))
    ordered = tuple(pieces[piece.kind] for piece in block.pieces)
    return _measured_again(replace(block, notes=notes), ordered, tuple(moves), hip)


def tried(block: Block, correction: Correction) -> tuple[Move, ...]:
    """The moves of one correction as they would be made, for a picture: no partner follows, nothing is kept.

    Raises
    ------
    InputError
        As :func:`correct`.
    """
    pieces = {piece.kind: piece for piece in block.pieces}
    place = _known_place(toile_places(_hip(block)), correction)
    return tuple(
        _corrected(pieces[part.kind], part.rule, amount, block)[1] for part, amount in _parts(place, correction, block)
    )


def _hip(block: Block) -> float:
    return block.maker.mm("waist to hip") or WAIST_TO_HIP_MM


def _known_place(known: Mapping[str, Place], correction: Correction) -> Place:
    place = known.get(correction.place)
    if place is None:
        raise InputError(
            f"“{correction.place}” is no place where a toile is corrected.", f"Choose one of: {', '.join(known)}."
        )
    return place


def _parts(place: Place, correction: Correction, block: Block) -> list[tuple[Part, float]]:
    """The moves of a correction with the amount of each, on the pieces that the block has."""
    there = {piece.kind: piece for piece in block.pieces}
    wanted = correction.on or place.usual or place.kinds
    parts = [part for part in place.parts if part.kind in there and part.kind in wanted]
    if not parts:
        raise InputError(
            f"The block has no piece on which to correct “{correction.place}”.",
            f"It needs the {listed(place.kinds, 'or the')}.",
        )
    out = []
    for part in parts:
        amount = part.share * correction.amount_mm
        if place.counts == "every dart":
            amount *= sum(dart.on == "waist" for dart in there[part.kind].darts)
        if place.counts == "whole" and part.kind != "sleeve":
            garment = part.kind.split()[0]
            amount /= 2 * sum(other.kind.startswith(garment) for other in parts)
        if amount != 0.0:
            out.append((part, amount))
    if not out:
        raise InputError(
            f"The {listed([part.kind for part in parts])} has no dart at the waist.",
            "Take it in at the side seam, or leave this out.",
        )
    return out


def _corrected(piece: Piece, rule: Rule, amount: float, block: Block) -> tuple[Piece, Move]:
    """One move with its truing, so that taking it back takes the truing back too."""
    shape = shape_of(piece)
    change = rule.make(shape, amount)
    whole = Change(after=trued(shape, change.after), before=change.before, cuts=change.cuts, hinges=change.hinges)
    move = recorded(rule, amount, shape, whole, unit=block.maker.unit)
    require_whole(move.after, rule.name)
    return move.after, move


def _follow(
    block: Block,
    before: dict[str, Shape],
    pieces: dict[str, Piece],
    corrections: Sequence[Correction],
    hip: float,
) -> list[Move]:
    """Make the partners follow in ``pieces``; the moves that did."""
    after = {kind: shape_of(piece) for kind, piece in pieces.items()}
    told = {kind for correction in corrections for kind in _kinds_of(correction, hip)}
    left = {
        pair
        for correction in corrections
        for pair, kinds in PAIRS.items()
        if correction.alone and any(kind in kinds for kind in _kinds_of(correction, hip))
    }
    if any(correction.place == "crown" for correction in corrections):
        left.add("cap and armhole")  # its ease was changed on purpose
    following = followers(
        before,
        after,
        told=told,
        left=left,
        places={correction.place for correction in corrections},
        aims=_aims(before, corrections),
        hip=hip,
    )
    moves = []
    for one, amount in zip(following, following_amounts(after, following), strict=True):
        if abs(amount) >= _LEAST_MM:
            pieces[one.kind], move = _corrected(pieces[one.kind], one.rule, amount, block)
            moves.append(replace(move, sentence=f"{move.sentence} It follows its partner: {one.pair}."))
    return moves


def _aims(before: dict[str, Shape], corrections: Sequence[Correction]) -> dict[str, float]:
    """Half widths that were told and that the shoulder's following would change again, mm."""
    kept = lengths_to_keep(before)
    told = {name: kept[name] for name in ("across back", "across chest") if name in kept}
    for correction in corrections:
        if correction.place in told:
            told[correction.place] += correction.amount_mm / 2
    return {name: mm for name, mm in told.items() if any(correction.place == name for correction in corrections)}


def _kinds_of(correction: Correction, hip: float) -> tuple[str, ...]:
    place = toile_places(hip)[correction.place]
    return correction.on or place.usual or place.kinds


def _left_unequal(block: Block, before: dict[str, Shape], pieces: dict[str, Piece]) -> list[Note]:
    """Seams that fitted each other before and don't now: told, not mended, where they were to be left."""
    old = pair_differences(before)
    new = pair_differences({kind: shape_of(piece) for kind, piece in pieces.items()})
    return [
        Note(
            "partner-left",
            f"The {pair} no longer fit each other as before, as you asked: their lengths differ by "
            f"{format_paper_mm(abs(new[pair]), block.maker.unit)}, before by "
            f"{format_paper_mm(abs(old[pair]), block.maker.unit)}.",
        )
        for pair in new
        if abs(new[pair] - old[pair]) >= _TOLD_MM
    ]


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
    return _measured_again(block, pieces, block.moves[:-1], _hip(block))


def _same_points(one: Piece, other: Piece) -> bool:
    return [len(edge.points) for edge in one.edges] == [len(edge.points) for edge in other.edges]


def _measured_again(block: Block, pieces: tuple[Piece, ...], moves: tuple[Move, ...], hip: float) -> Block:
    pieces = tuple(with_caps(piece) for piece in pieces)
    found = {one.name: one for one in measure(pieces, waist_to_hip=hip)}

    def again(level: Level) -> Level:
        now = found[level.name]
        ease = level.ease_mm if level.body_mm is None else now.mm - level.body_mm
        return replace(level, block_mm=now.mm, uncertainty_mm=now.uncertainty_mm, ease_mm=ease, target_mm=None)

    levels = tuple(again(level) for level in block.levels if level.name in found)
    checks = check_block(pieces, levels, waist_to_hip=block.maker.mm("waist to hip"))
    return replace(block, pieces=pieces, levels=levels, moves=moves, checks=checks)
