"""The pieces of a pattern as they are before any move: parts laid together, tucks folded out."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from calibration.ground.errors import InputError, Note
from convert.piece.names.kinds import KINDS, Part, parts_of
from convert.piece.piece import Piece, PieceKind
from convert.piece.together.doubts import doubts_of
from convert.piece.together.gores import gores_laid
from convert.piece.together.laid import Laid
from convert.piece.together.motion import turned_over
from convert.piece.together.panels import panels_laid
from convert.piece.together.sleeves import sleeve_laid
from convert.piece.together.tucks import tucks_folded_out
from convert.piece.together.yokes import yoke_laid
from convert.piece.width_words import Unit

_WAYS: tuple[tuple[tuple[Part, Part], str, Callable[[Piece, Piece, Unit], Laid]], ...] = (
    (("centre", "side"), "bodice", panels_laid),
    (("centre", "side"), "skirt", gores_laid),
    (("lower", "yoke"), "bodice", yoke_laid),
    (("upper", "under"), "sleeve", sleeve_laid),
)
"""Which two parts make a whole piece of which garment, and how they are laid together; the first one lies still."""


def together(
    pieces: Sequence[Piece], *, unit: Unit = "cm", darts_above: Mapping[PieceKind, float] | None = None
) -> tuple[Laid, ...]:
    """Every piece of a pattern as a plain one, in the order of its first part.

    A whole piece comes back as it is, its tucks folded out. ``darts_above`` tells, by the whole piece, how wide a dart
    is left at the upper end of a bodice's panel seam, mm; else all of it is left below.

    Raises
    ------
    InputError
        If a part is missing or there twice, or parts can't be laid together.
    """
    wholes: dict[PieceKind, list[Piece]] = {}
    for piece in pieces:
        wholes.setdefault(KINDS[piece.kind].whole, []).append(piece)
    above = darts_above or {}
    return tuple(_one(whole, parts, unit, above.get(whole, 0.0)) for whole, parts in wholes.items())


def _one(whole: PieceKind, parts: Sequence[Piece], unit: Unit, above_mm: float) -> Laid:
    kinds = [part.kind for part in parts]
    twice = next((kind for kind in kinds if kinds.count(kind) > 1), None)
    if twice is not None:
        raise InputError(f"The {twice} is there twice.", "Take one of the two out, or say which part the other one is.")
    if kinds == [whole]:
        plain = tucks_folded_out(parts[0], unit)
        return Laid(piece=plain, parts=(plain,), seams=(), read=tuple(parts))
    if whole in kinds:
        raise InputError(
            f"The {whole} is there whole and in parts ({', '.join(kind for kind in kinds if kind != whole)}).",
            "Keep the whole piece, or its parts.",
        )
    by_part = {KINDS[part.kind].part: part for part in parts}
    for pair, garment, way in _WAYS:
        if garment == KINDS[whole].garment and set(by_part) == set(pair):
            if above_mm and way is panels_laid:
                way = partial(panels_laid, opens_above_mm=above_mm)
            return _laid(by_part[pair[0]], by_part[pair[1]], way, unit)
    raise InputError(_missing(whole, by_part), "Add the pictures of that part; its piece is named in the job as above.")


def _missing(whole: PieceKind, by_part: dict[Part | None, Piece]) -> str:
    """One sentence on the parts that are there, and the one that is not."""
    there = " and the ".join(part.kind for part in by_part.values())
    for pair, garment, _ in _WAYS:
        lone = set(by_part) & set(pair)
        if garment == KINDS[whole].garment and len(lone) == 1 and len(by_part) == 1:
            wanted = next(part for part in pair if part not in lone)
            name = next(kind.name for kind in parts_of(whole) if kind.part == wanted)
            return f"The {there} is there, but not the {name} that it is sewn to."
    return f"The {there} can't be laid together into one {whole}."


def _laid(first: Piece, second: Piece, way: Callable[[Piece, Piece, Unit], Laid], unit: Unit) -> Laid:
    """Two parts laid together, both turned to lie the same way round; the piece lies as the first part did."""
    turned = [is_turned_over(part) for part in (first, second)]
    upright = [tucks_folded_out(turned_over(p) if t else p, unit) for p, t in zip((first, second), turned, strict=True)]
    laid = way(upright[0], upright[1], unit)
    notes = (*laid.piece.notes, *laid.notes, *doubts_of(laid, unit))
    if turned[0] != turned[1]:
        notes = (*notes, _other_side(first, second))
    piece, parts = replace(laid.piece, notes=tuple(dict.fromkeys(notes))), laid.parts
    if turned[0]:
        piece, parts = turned_over(piece), tuple(turned_over(part) for part in parts)
    return replace(laid, piece=piece, parts=parts, read=(first, second))


def is_turned_over(piece: Piece) -> bool:
    """Whether a part's edges run the other way round than those of its kind, printed side up, left half."""
    names = [edge.name for edge in piece.edges]
    for shape in KINDS[piece.kind].shapes:
        if set(shape.names) == set(names) and len(names) > 2:
            k = names.index(shape.names[0])
            return (names[k:] + names[:k]) != list(shape.names)
    return False


def _other_side(first: Piece, second: Piece) -> Note:
    text = (
        f"The {first.kind} and the {second.kind} lie the opposite way round: one of them lay printed side down, or is "
        "of the other half. The second was turned over to lie beside the first."
    )
    return Note("part-turned-over", text)
