"""Each kind of piece as a value: its garment, side and part, and how its edges usually run.

The figures describe ordinary half pieces and are our choice, because nobody publishes them: they only rank guesses and
are wide on purpose.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from convert.piece.names.edge_shapes import EdgeShape, KindShape
from convert.piece.names.part_shapes import LOWERS, SIDES, SKIRT_SIDE, SLEEVE_PARTS, YOKES, centre_panels, skirt_centre
from convert.piece.names.whole_shapes import SLEEVE, bodice, dress, skirt, trousers
from convert.piece.piece import EdgeName, PieceKind

Garment = Literal["bodice", "sleeve", "skirt", "dress", "trousers"]
Side = Literal["front", "back"]
Part = Literal["centre", "side", "yoke", "lower", "upper", "under"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of piece.

    Attributes
    ----------
    part
        Which part of ``whole`` it is; None for a whole piece.
    shapes
        The ways it may be cut (a panel seam from shoulder, armhole or neckline), the usual one first.
    dart_edges
        Edges that darts open on, the likeliest first (trade usage).
    """

    name: PieceKind
    whole: PieceKind
    garment: Garment
    side: Side | None
    part: Part | None = None
    shapes: tuple[KindShape, ...]
    dart_edges: tuple[EdgeName, ...]

    @property
    def edges(self) -> tuple[EdgeName, ...]:
        """Every edge it can have, each once."""
        return tuple(dict.fromkeys(name for shape in self.shapes for name in shape.names))


_BODICE_DARTS: Mapping[Side, tuple[EdgeName, ...]] = {
    "front": ("waist", "side seam", "shoulder", "neckline", "armhole"),
    "back": ("waist", "shoulder", "neckline", "side seam", "armhole"),
}
_CENTRE: Mapping[Side, EdgeName] = {"front": "centre front", "back": "centre back"}
_SLEEVE_DARTS: tuple[EdgeName, ...] = ("underarm seam back", "underarm seam front", "cap", "wrist")


def _sided(side: Side) -> tuple[Kind, ...]:
    """Every kind that has a front and a back."""
    centre, back = _CENTRE[side], side == "back"
    whole: PieceKind = "bodice back" if back else "bodice front"
    under: PieceKind = "skirt back" if back else "skirt front"
    both: PieceKind = "dress back" if back else "dress front"
    leg: PieceKind = "trousers back" if back else "trousers front"
    names: Mapping[Part, PieceKind] = (
        {
            "centre": "bodice back, centre",
            "side": "bodice back, side",
            "yoke": "bodice back yoke",
            "lower": "bodice back, lower",
        }
        if back
        else {
            "centre": "bodice front, centre",
            "side": "bodice front, side",
            "yoke": "bodice front yoke",
            "lower": "bodice front, lower",
        }
    )
    shapes: Mapping[Part, tuple[KindShape, ...]] = {
        "centre": centre_panels(centre, back=back),
        "side": SIDES,
        "yoke": YOKES[centre],
        "lower": LOWERS[centre],
    }
    darts = _BODICE_DARTS[side]
    in_dress = tuple(name for name in darts if name != "waist")
    gores: Mapping[Part, tuple[PieceKind, KindShape]] = {
        "centre": ("skirt back, centre" if back else "skirt front, centre", skirt_centre(centre)),
        "side": ("skirt back, side" if back else "skirt front, side", SKIRT_SIDE),
    }
    return (
        Kind(
            name=whole,
            whole=whole,
            garment="bodice",
            side=side,
            shapes=(bodice(centre, back=back),),
            dart_edges=darts,
        ),
        Kind(name=under, whole=under, garment="skirt", side=side, shapes=(skirt(centre),), dart_edges=("waist",)),
        Kind(
            name=both,
            whole=both,
            garment="dress",
            side=side,
            shapes=(dress(centre, back=back),),
            dart_edges=in_dress,
        ),
        Kind(name=leg, whole=leg, garment="trousers", side=side, shapes=trousers(back=back), dart_edges=("waist",)),
        *(
            Kind(
                name=name,
                whole=whole,
                garment="bodice",
                side=side,
                part=part,
                shapes=shapes[part],
                dart_edges=darts,
            )
            for part, name in names.items()
        ),
        *(
            Kind(
                name=name,
                whole=under,
                garment="skirt",
                side=side,
                part=part,
                shapes=(shape,),
                dart_edges=("waist",),
            )
            for part, (name, shape) in gores.items()
        ),
    )


_SLEEVES = (
    Kind(name="sleeve", whole="sleeve", garment="sleeve", side=None, shapes=(SLEEVE,), dart_edges=_SLEEVE_DARTS),
    Kind(
        name="upper sleeve",
        whole="sleeve",
        garment="sleeve",
        side=None,
        part="upper",
        shapes=(SLEEVE_PARTS[0],),
        dart_edges=("cap", "wrist"),
    ),
    Kind(
        name="under sleeve",
        whole="sleeve",
        garment="sleeve",
        side=None,
        part="under",
        shapes=(SLEEVE_PARTS[1],),
        dart_edges=("wrist",),
    ),
)

KINDS: Mapping[PieceKind, Kind] = {kind.name: kind for kind in (*_sided("front"), *_sided("back"), *_SLEEVES)}
"""Every kind of piece by its name: the one place where a new one is added."""


def garments_of(kinds: Iterable[str | None]) -> set[str]:
    """The garments that pieces of some kinds belong to; what is no kind of piece is left out."""
    return {own.garment for own in KINDS.values() if own.name in set(kinds)}


def parts_of(whole: PieceKind) -> tuple[Kind, ...]:
    """The kinds of part that a whole piece may be cut into."""
    return tuple(kind for kind in KINDS.values() if kind.whole == whole and kind.part is not None)


_PARTNERS: Mapping[Part, Part] = {
    "centre": "side",
    "side": "centre",
    "yoke": "lower",
    "lower": "yoke",
    "upper": "under",
    "under": "upper",
}


def partner_of(kind: PieceKind) -> PieceKind | None:
    """The part that a part is sewn to to make a whole piece; None for a whole piece."""
    own = KINDS[kind]
    return next(
        (one.name for one in parts_of(own.whole) if own.part is not None and one.part == _PARTNERS[own.part]), None
    )


__all__ = ["KINDS", "EdgeShape", "Kind", "KindShape", "Part", "garments_of", "partner_of", "parts_of"]
