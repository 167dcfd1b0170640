"""The exercises: what to do with the card pieces, and what must come out, by our own moves on this block.

How each is done by hand is common practice.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import closed
from convert.block.block import Move
from convert.block.moves.darts import move_dart
from convert.block.shape.landmarks import bust_point
from convert.block.shape.shape import piece_of, shape_of
from convert.block.solved.dart_places import place_darts
from convert.body.card import LengthUnit
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import format_paper_mm
from convert.paper.draw.draw_piece import simplified, simplified_line
from convert.paper.practice.exercise import Exercise
from convert.paper.practice.figure import KEEP_MM, Stroke, figure
from convert.paper.practice.garments import allowance, garments
from convert.paper.practice.gathered import BESIDE_MM, gathered
from convert.paper.practice.how import svg_of
from convert.paper.practice.panels import in_panels
from convert.piece.piece import EdgeName, Piece

DART_SHORT_MM = 25.0  # a dart ends this far before the bust point, common practice (20 to 30)
_NEW_PLACES: tuple[EdgeName, ...] = ("shoulder", "armhole", "neckline", "side seam", "waist")


def exercises(
    pieces: Sequence[Piece], unit: LengthUnit = "cm", *, waist_to_hip: float | None = None
) -> tuple[Exercise, ...]:
    """Those that can be done with the pieces a block has: a bodice's, a skirt's.

    Raises
    ------
    InputError
        If there is nothing to practise with.
    """
    there: dict[str, Piece] = {piece.kind: piece for piece in pieces}
    found = [*_of_darts(there, unit), *allowance(there, unit), *garments(there, unit, waist_to_hip or WAIST_TO_HIP_MM)]
    if not found:
        raise InputError(
            "There is no exercise for a block of these pieces.", "A bodice front or a skirt is needed to practise with."
        )
    return tuple(found)


def _of_darts(there: dict[str, Piece], unit: LengthUnit) -> Iterator[Exercise]:
    front = there.get("bodice front")
    if front is None or not any(dart.on for dart in front.darts):
        return
    source = _source(front)
    free = [place for place in _NEW_PLACES if not any(dart.on == place for dart in front.darts)]
    for way, place in zip((_folded, _pivoted, _slashed), free, strict=False):
        moved, move = move_dart(front, source, place, unit=unit)
        yield way(str(front.darts[source].on), place, moved, move, unit)
    yield _split(front, free[0], unit)
    together, _ = place_darts(shape_of(front), "waist", unit=unit)
    yield _gathers(piece_of(together), unit)
    waist_and_shoulder = front if _is_on(front, "shoulder") else move_dart(front, source, "shoulder", unit=unit)[0]
    if _is_on(waist_and_shoulder, "waist"):
        yield _panels(waist_and_shoulder)


def _is_on(piece: Piece, edge: str) -> bool:
    return any(dart.on == edge for dart in piece.darts)


def _source(front: Piece) -> int:
    """The dart that is moved: one that is not at the waist, if there is one; the widest of these."""
    on_edges = [i for i, dart in enumerate(front.darts) if dart.on is not None]
    others = [i for i in on_edges if front.darts[i].on != "waist"] or on_edges
    return max(others, key=lambda i: front.darts[i].intake)


def _wide(piece: Piece, on: str, unit: LengthUnit) -> str:
    return format_paper_mm(max(dart.intake for dart in piece.darts if dart.on == on), unit)


def _checked(moved: Piece, place: str, unit: LengthUnit) -> tuple[str, ...]:
    return (
        f"The new dart is {_wide(moved, place, unit)} wide at the {place}, on the small ruler.",
        "The dart’s two legs are equally long.",
        "Every other line has kept its length: only the place of the dart has changed.",
    )


_DRAW_DART = (
    "Draw the new dart: from the two ends of the gap to a point {short} before the bust point, on the line through the "
    "middle. Fold the dart shut and draw the edge across it straight or in one curve."
)


def _dart_line(unit: LengthUnit) -> str:
    return _DRAW_DART.format(short=format_paper_mm(DART_SHORT_MM, unit))


def _folded(old: str, place: str, moved: Piece, move: Move, unit: LengthUnit) -> Exercise:
    return Exercise(
        title=f"Move a dart by folding: from the {old} to the {place}",
        aim="The dart shapes the bust wherever it lies. You choose where it is seen.",
        steps=(
            "Draw round the card front on thin paper. Mark its darts and the bust point. Cut it out.",
            f"Draw a straight line from the {place} to the bust point, as in the first picture. Cut along it up to the "
            "bust point, not through it.",
            f"Fold the dart at the {old} shut: lay one leg on the other and tape it. The cut opens by itself.",
            "Lay it in the box, as flat as it will lie, and draw round it.",
            _dart_line(unit),
        ),
        pictures=_before_and_after(move),
        results=(figure(moved, bust=True),),
        told=_checked(moved, place, unit),
    )


def _pivoted(old: str, place: str, moved: Piece, move: Move, unit: LengthUnit) -> Exercise:
    return Exercise(
        title=f"Move a dart by turning about a pin: from the {old} to the {place}",
        aim="The quickest way, and the paper stays whole. It needs the card, a pin and thick cardboard below the page.",
        steps=(
            "Lay the card front in the box, cardboard below the page. Put a pin upright through the bust point.",
            f"Mark the new place on the {place}, on the card’s edge and on the page, as in the first picture.",
            f"Start at that mark. Draw round the card on the side where the centre front lies, as far as the first leg "
            f"of the old dart at the {old}. Mark that leg on the page.",
            "Hold the pin and turn the card until the old dart’s other leg lies on that mark.",
            "Draw round the rest, from that mark back to the new place on the card. Mark it again. Take out the pin.",
            _dart_line(unit),
        ),
        pictures=_before_and_after(move, "1. Where the new dart begins"),
        results=(figure(moved),),
        told=_checked(moved, place, unit),
    )


def _slashed(old: str, place: str, moved: Piece, move: Move, unit: LengthUnit) -> Exercise:
    return Exercise(
        title=f"Move a dart by slashing: from the {old} to the {place}",
        aim="The surest way to see what happens. Every pattern can be changed by it.",
        steps=(
            "Draw round the card front on thin paper. Mark its darts and the bust point. Cut it out.",
            f"Draw a line from the {place} to the bust point and one from the middle of the dart at the {old} to the "
            "bust point. Cut both, and leave a thread’s width of paper at the bust point: it is the hinge.",
            f"Turn the part between the two cuts until the legs of the dart at the {old} meet. Tape them.",
            "Tape paper under the gap that has opened. Lay it in the box and draw round it.",
            _dart_line(unit),
        ),
        pictures=_before_and_after(move),
        results=(figure(moved),),
        told=_checked(moved, place, unit),
    )


def _split(front: Piece, free: EdgeName, unit: LengthUnit) -> Exercise:
    widest = max((i for i, dart in enumerate(front.darts) if dart.on), key=lambda i: front.darts[i].intake)
    old = str(front.darts[widest].on)
    moved, move = move_dart(front, widest, free, part=0.5, unit=unit)
    return Exercise(
        title=f"Split a dart: half of it stays at the {old}, half goes to the {free}",
        aim="Two small darts sit softer than one wide one.",
        steps=(
            "Draw round the card front on thin paper. Mark its darts and the bust point. Cut it out.",
            f"Mark the middle of the dart’s opening at the {old}. Draw the line from the {free} to the bust point and "
            "cut along it, not through the bust point.",
            f"Fold the dart at the {old} half shut: the first leg comes to the mark in the middle, not to the other "
            "leg. Tape it.",
            "Lay it in the box and draw round it. Draw both darts.",
            _dart_line(unit),
        ),
        pictures=_before_and_after(move),
        results=(figure(moved),),
        told=(
            f"The dart at the {old} is now {_wide(moved, old, unit)} wide, the new one at the {free} "
            f"{_wide(moved, free, unit)}.",
            "A wide opening is measured farther from the bust point than a narrow one: equal angles can be unequal "
            "widths.",
        ),
    )


def _gathers(piece: Piece, unit: LengthUnit) -> Exercise:
    found = gathered(piece, "waist")
    return Exercise(
        title="Turn a dart into gathers at the waist",
        aim="The same fullness, not sewn to a point: it is gathered into the waistband or the skirt.",
        steps=(
            "If the front has a dart elsewhere, close it as in the first exercise and let the waist dart open by it.",
            "Draw round it in the box, without the waist dart’s legs.",
            "Draw the waist across the dart’s opening in one curve, a little lower in the middle.",
            f"Put a notch {format_paper_mm(BESIDE_MM, unit)} outside each leg of the dart. Between the notches it is "
            "gathered.",
        ),
        pictures=(svg_of(figure(piece), "Before: the whole dart lies at the waist"),),
        results=(found.figure,),
        told=(
            f"Between the notches the waist is {format_paper_mm(found.flat_mm, unit)} long, and is gathered to "
            f"{format_paper_mm(found.sewn_mm, unit)}.",
            "Write that on the pattern: whoever sews it needs the number.",
        ),
    )


def _panels(piece: Piece) -> Exercise:
    centre, side = in_panels(piece)
    return Exercise(
        title="Turn two darts into a panel seam",
        aim="A seam from the shoulder over the bust to the waist takes up both darts, and can be shaped like none.",
        steps=(
            "Move the dart to the shoulder by any way you like; the waist dart stays.",
            "On thin paper draw both darts right up to the bust point, in pencil.",
            "Cut along both darts: the front falls into a centre and a side panel. The darts’ openings fall away.",
            "Draw round both panels in the box. Round the corner at the bust point a little: no more than a pencil’s "
            "width, on both panels alike.",
            "Put a notch on both panels at the bust level, so that they are sewn together right.",
        ),
        pictures=(svg_of(figure(piece, more=_darts_to_the_point(piece)), "Where to cut"),),
        results=(centre, side),
        told=(
            "Walk one panel’s seam along the other’s, from the shoulder down: the notches meet.",
            "If one seam is longer, trim the waist until both end together.",
        ),
    )


def _before_and_after(move: Move, first: str = "1. Where to cut") -> tuple[str, ...]:
    """Where to cut, and how the paper lies then: the old outline dotted."""
    cuts = tuple(Stroke(look="cut", points=simplified_line(cut)) for cut in move.cuts)
    old = Stroke(look="old", points=closed(simplified(move.before.seam_line, KEEP_MM)))
    return (
        svg_of(figure(move.before, more=cuts), first),
        svg_of(figure(move.after, more=(old,)), "2. As it lies then. Dotted: as it was"),
    )


def _darts_to_the_point(piece: Piece) -> tuple[Stroke, ...]:
    """The darts at shoulder and waist drawn on to the bust point, to be cut along."""
    shape = shape_of(piece)
    at = shape.frame.to_paper(bust_point(shape)[None])[0]
    legs = [dart.legs for dart in piece.darts if dart.on in ("shoulder", "waist")]
    return tuple(Stroke(look="cut", points=np.vstack([one[0], at, one[1]])) for one in legs)
