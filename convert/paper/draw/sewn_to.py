"""What each edge of a block is sewn to, and by how much it is eased in; a further garment is a further row."""

from collections.abc import Mapping, Sequence

from convert.block.shape.landmarks import net
from convert.block.shape.shape import shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.piece.piece import Piece

_FELT_MM = 2.0  # a smaller difference of two seams is no ease that anybody sews in on purpose (common practice)
_PARTNERS: Mapping[str, Mapping[str, tuple[tuple[str, str], ...]]] = {
    "bodice front": {
        "side seam": (("bodice back", "side seam"),),
        "shoulder": (("bodice back", "shoulder"),),
        "armhole": (("sleeve", "cap"),),
        "waist": (("skirt front", "waist"),),
    },
    "bodice back": {
        "side seam": (("bodice front", "side seam"),),
        "shoulder": (("bodice front", "shoulder"),),
        "armhole": (("sleeve", "cap"),),
        "waist": (("skirt back", "waist"),),
    },
    "sleeve": {
        "cap": (("bodice front", "armhole"), ("bodice back", "armhole")),
        "underarm seam front": (("sleeve", "underarm seam back"),),
        "underarm seam back": (("sleeve", "underarm seam front"),),
    },
    "skirt front": {"side seam": (("skirt back", "side seam"),), "waist": (("bodice front", "waist"),)},
    "skirt back": {"side seam": (("skirt front", "side seam"),), "waist": (("bodice back", "waist"),)},
    "dress front": {"side seam": (("dress back", "side seam"),), "shoulder": (("dress back", "shoulder"),)},
    "dress back": {"side seam": (("dress front", "side seam"),), "shoulder": (("dress front", "shoulder"),)},
}
_EASED = (("sleeve", "cap"), ("bodice back", "shoulder"))  # the longer one is eased into the other, by the trade


def edge_words(pieces: Sequence[Piece], unit: LengthUnit = "cm") -> dict[str, dict[str, str]]:
    """By kind of piece and edge what is written along it: its name, its partner, its ease."""
    there: dict[str, Piece] = {piece.kind: piece for piece in pieces}
    out: dict[str, dict[str, str]] = {}
    for kind, piece in there.items():
        partners = _PARTNERS.get(kind, {})
        out[kind] = {
            edge.name: _said(piece, edge.name, partners.get(edge.name, ()), there, unit) for edge in piece.edges
        }
    return out


def _said(
    piece: Piece, edge: str, partners: Sequence[tuple[str, str]], there: Mapping[str, Piece], unit: LengthUnit
) -> str:
    found = [(there[kind], other) for kind, other in partners if kind in there and there[kind].has(other)]
    name = edge.removesuffix(" front").removesuffix(" back") if piece.kind == "sleeve" else edge
    if piece.kind == "sleeve" and edge != name:
        name = f"{edge.split()[-1]}: {name}"
    if not found or len(found) < len(partners):
        return name
    whole = " and ".join(dict.fromkeys(_partner_words(piece, one, other) for one, other in found))
    return f"{name}, sewn to the {whole}{_ease(piece, edge, found, unit)}"


def _partner_words(piece: Piece, other: Piece, edge: str) -> str:
    if other is piece:
        return f"{edge.split()[-1]} seam"
    same = other.kind.split()[0] == piece.kind.split()[0]
    if edge in ("armhole", "cap"):
        return "armhole" if edge == "armhole" else "sleeve"
    return other.kind.split()[-1] if same else other.kind


def _ease(piece: Piece, edge: str, found: Sequence[tuple[Piece, str]], unit: LengthUnit) -> str:
    if (piece.kind, edge) not in _EASED:
        return ""
    over = net(shape_of(piece), edge) - sum(net(shape_of(one), other) for one, other in found)
    if over < _FELT_MM:
        return ""
    where = ", most of it above the notches" if edge == "cap" else ""
    return f", {format_paper_mm(over, unit)} eased in{where}"
