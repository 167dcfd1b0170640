"""All pieces of one pattern looked at together: what one piece shows of its allowances speaks for the others.

The two sides of one seam are cut with one allowance, so a side that was read tells its partner's; edges of one sort
(both necklines, all hems of a skirt) are likely treated alike; what every seam read on the pattern has is the best
guess for the rest. *Common practice*; a piece may differ, so nothing here is called measured.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from calibration.ground.errors import Note
from convert.piece.names.kinds import KINDS
from convert.piece.piece import Allowance, Edge, EdgeName, Piece, PieceKind
from convert.piece.width_words import Unit, format_paper_mm

SAME_SEAM_DOUBT_MM, SAME_SORT_DOUBT_MM, SAME_PATTERN_DOUBT_MM = 2.0, 3.0, 4.0
_AGREE_MM = 1.6  # 1/16 in: values that differ by no more are one value
_SIDES = ("side seam", "underarm seam front", "underarm seam back")  # where old patterns leave more, to let out
_OTHERS = ("shoulder", "armhole", "cap", "waist", "panel seam", "yoke seam", "front seam", "back seam")
_PARTNERS: Mapping[EdgeName, tuple[EdgeName, ...]] = {
    "side seam": ("side seam",),
    "shoulder": ("shoulder",),
    "inseam": ("inseam",),
    "waist": ("waist",),
    "armhole": ("cap",),
    "cap": ("armhole",),
    "underarm seam front": ("underarm seam back",),
    "underarm seam back": ("underarm seam front",),
    "panel seam": ("panel seam",),
    "yoke seam": ("yoke seam",),
    "front seam": ("front seam",),
    "back seam": ("back seam",),
}
_PART_SEAMS = ("panel seam", "yoke seam", "front seam", "back seam")
_SORTS: Mapping[EdgeName, tuple[EdgeName, ...]] = {
    "neckline": ("neckline",),
    "armhole": ("armhole",),
    "hem": ("hem",),
    "waist": ("waist",),
    "centre back": ("centre front", "centre back"),
}


def alike_of(piece: Piece, pieces: Sequence[Piece], *, unit: Unit = "cm") -> dict[EdgeName, Allowance]:
    """What the other pieces of the pattern say of those allowances of ``piece`` that were only assumed."""
    read = [(other, edge) for other in pieces for edge in other.edges if _is_read(edge)]
    found: dict[EdgeName, Allowance] = {}
    for edge in piece.edges:
        if edge.allowance.evidence == "assumed" and not edge.on_fold:
            said = _said(piece.kind, edge.name, read, unit)
            if said is not None:
                found[edge.name] = said
    return found


def _is_read(edge: Edge) -> bool:
    return edge.allowance.evidence in ("measured", "told", "deduced") and not edge.on_fold and edge.allowance.mm > 0


def _said(kind: PieceKind, name: EdgeName, read: Sequence[tuple[Piece, Edge]], unit: Unit) -> Allowance | None:
    partners = [(p, e) for p, e in read if e.name in _PARTNERS.get(name, ()) and _sewn_together(kind, name, p.kind)]
    mm = _one_value([edge for _, edge in partners])
    if mm is not None:
        other, edge = partners[0]
        why = f"Nothing was read along this edge; the {edge.name} of the {other.kind}, to which it is sewn, has "
        return Allowance(
            mm=mm, evidence="deduced", uncertainty_mm=SAME_SEAM_DOUBT_MM, why=f"{why}{format_paper_mm(mm, unit)}."
        )
    sort = [(p, e) for p, e in read if e.name in _SORTS.get(name, ()) and _of_a_kind(kind, p.kind)]
    mm = _one_value([edge for _, edge in sort])
    if mm is not None:
        other, edge = sort[0]
        why = f"Nothing was read along this edge; the {edge.name} of the {other.kind} has {format_paper_mm(mm, unit)}."
        return Allowance(mm=mm, evidence="assumed", uncertainty_mm=SAME_SORT_DOUBT_MM, why=why)
    group = next((names for names in (_SIDES, _OTHERS) if name in names), ())
    seams = [edge for _, edge in read if edge.name in group]
    mm = _one_value(seams) if len(seams) >= 2 else None
    if mm is None:
        return None
    why = (
        f"Nothing was read along this edge; the seams that were read on this pattern have {format_paper_mm(mm, unit)}."
    )
    return Allowance(mm=mm, evidence="assumed", uncertainty_mm=SAME_PATTERN_DOUBT_MM, why=why)


def _sewn_together(kind: PieceKind, name: EdgeName, other: PieceKind) -> bool:
    one, two = KINDS[kind], KINDS[other]
    if name in _PART_SEAMS:
        return one.whole == two.whole and kind != other
    if name in ("side seam", "shoulder", "inseam"):
        return one.garment == two.garment and one.side != two.side
    if name == "waist":
        return {one.garment, two.garment} == {"bodice", "skirt"}
    if name in ("armhole", "cap"):
        return (one.garment == "sleeve") != (two.garment == "sleeve")
    return other == kind  # the two underarm seams of one sleeve


def _of_a_kind(kind: PieceKind, other: PieceKind) -> bool:
    return KINDS[kind].garment == KINDS[other].garment


def _one_value(edges: Sequence[Edge]) -> float | None:
    """The allowance these edges agree on, or None."""
    widths = [edge.allowance.mm for edge in edges]
    return float(np.median(widths)) if widths and np.ptp(widths) <= _AGREE_MM else None


def seams_apart(pieces: Sequence[Piece], *, unit: Unit = "cm") -> tuple[Note, ...]:
    """Doubts about seams whose two sides were read with allowances that differ by more than both are unsure."""
    sides = [(piece, edge) for piece in pieces for edge in piece.edges if _is_read(edge)]
    notes = []
    for i, (piece, edge) in enumerate(sides):
        for other, partner in sides[i + 1 :]:
            if partner.name in _PARTNERS.get(edge.name, ()) and _sewn_together(piece.kind, edge.name, other.kind):
                a, b = edge.allowance, partner.allowance
                if abs(a.mm - b.mm) > _AGREE_MM + a.uncertainty_mm + b.uncertainty_mm:
                    text = (
                        f"The {edge.name} of the {piece.kind} has {format_paper_mm(a.mm, unit)} of seam allowance, the "
                        f"{partner.name} of the {other.kind} {format_paper_mm(b.mm, unit)}. They are sewn together: "
                        "look at both."
                    )
                    notes.append(Note("allowances-apart", text))
    return tuple(notes)
