"""A whole set for every maker: a sleeve or a skirt that was not photographed is drafted for the bodice's block."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from calibration.ground.errors import InputError, Note
from convert.block.compared.targets import WAIST_TO_HIP_MM, usual_ease
from convert.block.drafts.skirt import SkirtWanted, draft_skirt
from convert.block.drafts.sleeve import SleeveWanted, draft_sleeve
from convert.block.shape.landmarks import net
from convert.block.shape.shape import Shape, shape_of
from convert.body.card import Card
from convert.body.wording import format_body_mm, listed
from convert.piece.piece import Piece

DRAFTABLE = ("sleeve", "skirt")
SKIRT_LENGTH_MM = 600.0  # about to the knee, where nobody tells; common practice
_ELBOW_EASE_MM = 40.0  # to bend the arm, common practice
_SLEEVE_NEEDS = ("upper arm", "arm length", "wrist")
_SKIRT_NEEDS = ("waist", "hip")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drafts:
    """Pieces drafted, what they shall measure (mm, by level) with what ease, and what was assumed or is missing."""

    pieces: tuple[Piece, ...] = ()
    mm: Mapping[str, float] = field(default_factory=dict)
    ease: Mapping[str, float] = field(default_factory=dict)
    notes: tuple[Note, ...] = ()


def draft_missing(
    pieces: Sequence[Piece], card: Card, ease: Mapping[str, float], allowed: Sequence[str] = DRAFTABLE
) -> Drafts:
    """Drafts of what a set lacks, for pieces of a block (after all moves); nothing without both halves of a bodice.

    What cannot be drafted is told in a note: which measurement is missing, or which does not fit.
    """
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    out = Drafts()
    halves = next((pair for pair in _PAIRS if all(kind in shapes for kind in pair)), None)
    if halves is None:
        return out
    if "sleeve" in allowed and "sleeve" not in shapes:
        out = _joined(out, _sleeve(shapes, halves, card, ease))
    if "skirt" in allowed and halves == _PAIRS[0] and not any(kind.startswith("skirt") for kind in shapes):
        out = _joined(out, _skirt(shapes, card, ease))
    return out


_PAIRS = (("bodice front", "bodice back"), ("dress front", "dress back"))


def _joined(one: Drafts, other: Drafts) -> Drafts:
    return Drafts(
        pieces=(*one.pieces, *other.pieces),
        mm={**one.mm, **other.mm},
        ease={**one.ease, **other.ease},
        notes=(*one.notes, *other.notes),
    )


def _missing(what: str, needs: Sequence[str], card: Card) -> Drafts | None:
    names = [name for name in needs if card.mm(name) is None]
    if not names:
        return None
    text = f"No {what} was photographed. One can be drafted for this bodice: measure {listed(names, 'and')}."
    return Drafts(notes=(Note("draft-needs", text),))


def _eased(names: Sequence[str], card: Card, ease: Mapping[str, float]) -> tuple[dict[str, float], dict[str, float]]:
    eases = {name: float(ease.get(name, usual_ease(name))) for name in names}
    return {name: (card.mm(name) or 0.0) + eases[name] for name in names}, eases


def _unsure(shapes: Mapping[str, Shape]) -> tuple[float, float]:
    of = [shape.piece for shape in shapes.values()]
    return max(one.uncertainty_mm for one in of), max(one.scale_uncertainty for one in of)


def _sleeve(shapes: Mapping[str, Shape], halves: Sequence[str], card: Card, ease: Mapping[str, float]) -> Drafts:
    missing = _missing("sleeve", _SLEEVE_NEEDS, card)
    if missing is not None:
        return missing
    mm, eases = _eased(_SLEEVE_NEEDS, card, ease)
    elbow, (sure, scale) = card.mm("elbow"), _unsure(shapes)
    front, back = (net(shapes[kind], "armhole") for kind in halves)
    wanted = SleeveWanted(
        upper_arm=mm["upper arm"],
        length=mm["arm length"],
        wrist=mm["wrist"],
        elbow=None if elbow is None else elbow + _ELBOW_EASE_MM,
    )
    try:
        made = draft_sleeve(front, back, wanted, uncertainty_mm=sure, scale=scale)
    except InputError as err:
        return Drafts(notes=(Note("draft-refused", f"No sleeve is drafted: {err.problem} {err.remedy}"),))
    mm["cap ease"], eases["cap ease"] = wanted.cap_ease, 0.0
    return Drafts(pieces=(made,), mm=mm, ease=eases, notes=made.notes)


def _skirt(shapes: Mapping[str, Shape], card: Card, ease: Mapping[str, float]) -> Drafts:
    missing = _missing("skirt", _SKIRT_NEEDS, card)
    if missing is not None:
        return missing
    mm, eases = _eased(("hip",), card, ease)
    hip, length = card.mm("waist to hip"), card.mm("skirt length")
    notes = []
    for what, told, assumed in (("waist to hip", hip, WAIST_TO_HIP_MM), ("skirt length", length, SKIRT_LENGTH_MM)):
        if told is None:
            text = f"The {what} is not on the card: {format_body_mm(assumed, card.unit)} was assumed for the skirt."
            notes.append(Note("draft-assumed", text))
    halves = [shapes[kind] for kind in _PAIRS[0]]
    wanted = SkirtWanted(
        half_waists=(net(halves[0], "waist"), net(halves[1], "waist")),
        hip=mm["hip"],
        waist_to_hip=hip or WAIST_TO_HIP_MM,
        length=length or SKIRT_LENGTH_MM,
        dart_places=(_dart_place(halves[0]), _dart_place(halves[1])),
    )
    folds = [edge.name for shape in halves for edge in shape.piece.edges if edge.on_fold]
    sure, scale = _unsure(shapes)
    try:
        made = draft_skirt(wanted, folds=folds, uncertainty_mm=sure, scale=scale)
    except InputError as err:
        return Drafts(notes=(Note("draft-refused", f"No skirt is drafted: {err.problem} {err.remedy}"),))
    if length is not None:
        mm["skirt length"], eases["skirt length"] = length, 0.0
    return Drafts(pieces=made, mm=mm, ease=eases, notes=(*(note for one in made for note in one.notes), *notes))


def _dart_place(bodice: Shape) -> float | None:
    """Where the first waist dart of a bodice half meets the waist, as a share of the sewn waist."""
    run = bodice.run("waist", bodice.centre)
    mouths = bodice.mouths(run, "waist")
    return float(bodice.net_share(run, "waist")[mouths[0][1]]) if mouths else None
