"""What a job tells of a piece's seams, and of places on a picture, in the picture's own pixels."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, get_args

import numpy as np

from calibration.ground.errors import InputError
from convert.body.card import LengthUnit
from convert.body.definitions import closest, plain
from convert.body.typed import typed_length_mm
from convert.job.file import PictureTable
from convert.job.not_plain import not_plain
from convert.job.tellable import TELLABLE, Tellable
from convert.piece.names.kinds import KINDS
from convert.piece.names.told import DartTold, EdgeTold, HoleMeaning, HolesTold, Pixels
from convert.piece.piece import EdgeName, PieceKind

Pixel = tuple[float, float]
_FAR_PX = 1e6  # no picture is that large
_ALLOWANCE_HIGH_MM = 250.0
_ADDED = ("add_notches", "add_holes", "remove")  # nothing told is no point to add or to take out
_ALIASES: Mapping[str, EdgeName] = {
    "cf": "centre front",
    "center front": "centre front",
    "cb": "centre back",
    "center back": "centre back",
    "neck": "neckline",
    "side": "side seam",
    "shoulder seam": "shoulder",
    "scye": "armhole",
    "armscye": "armhole",
    "crown": "cap",
    "sleeve cap": "cap",
    "front underarm seam": "underarm seam front",
    "back underarm seam": "underarm seam back",
    "waistline": "waist",
    "cuff": "wrist",
    "crotch": "crotch seam",
    "crotch curve": "crotch seam",
    "seat seam": "crotch seam",
    "rise": "crotch seam",
    "outseam": "side seam",
    "inside leg": "inseam",
    "inside leg seam": "inseam",
    "inner seam": "inseam",
}
_UNDERARM: tuple[EdgeName, EdgeName] = ("underarm seam front", "underarm seam back")


def edges_of(kind: PieceKind) -> tuple[EdgeName, ...]:
    """The edges that a piece of this kind can have."""
    own = KINDS[kind].edges
    return (*own, "hem") if "wrist" in own else own


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamTold:
    """Seam allowance told, mm: ``mm`` for every edge that ``edges`` does not name; None where nothing was said."""

    mm: float | None = None
    edges: Mapping[EdgeName, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "edges", MappingProxyType(dict(self.edges)))

    def over(self, whole: "SeamTold") -> "SeamTold":
        """This piece's word over the whole pattern's. A width for every edge here ends what the pattern said of one."""
        if self.mm is not None:
            return self
        return SeamTold(mm=whole.mm, edges={**whole.edges, **self.edges})

    def for_kind(self, kind: PieceKind) -> "SeamTold":
        """Only what concerns a piece of this kind."""
        return SeamTold(mm=self.mm, edges={name: mm for name, mm in self.edges.items() if name in edges_of(kind)})


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureTold:
    """What is told or corrected by hand on one picture, in pixels of the upright picture (x right, y down).

    ``lattice`` pairs a pixel with its crossing's column and row. ``darts`` are all there are where ``no_darts`` is set,
    else some that were not read. Lists that are None were not told, so that what was read stands; ``add_...`` add to
    what was read, ``remove`` takes it out.
    """

    lattice: tuple[tuple[Pixel, tuple[int, int]], ...] = ()
    edges: tuple[EdgeTold[Pixels], ...] = ()
    darts: tuple[DartTold[Pixels], ...] = ()
    no_darts: bool = False
    centre_line: tuple[Pixel, ...] | None = None
    neck_line: tuple[Pixel, ...] | None = None
    tucks: tuple[tuple[Pixel, ...], ...] = ()
    grain: tuple[Pixel, ...] | None = None
    notches: tuple[Pixel, ...] | None = None
    add_notches: tuple[Pixel, ...] = ()
    holes: tuple[Pixel, ...] | None = None
    add_holes: tuple[Pixel, ...] = ()
    hole_meanings: tuple[HolesTold[Pixels], ...] = ()
    outline: tuple[Pixel, ...] | None = None
    outline_parts: tuple[tuple[Pixel, ...], ...] = ()
    corners: tuple[Pixel, ...] | None = None
    remove: tuple[Pixel, ...] = ()
    crop: tuple[Pixel, ...] | None = None


def piece_kind(text: str, *, where: str) -> PieceKind:
    """The kind of piece that a maker's words mean, in either order, with or without its comma.

    Raises
    ------
    InputError
        If there is no such piece.
    """
    wanted, kinds = plain(text), get_args(PieceKind)
    for kind in kinds:
        if wanted in (kind, kind.replace(",", ""), " ".join(reversed(kind.split()))):
            found: PieceKind = kind
            return found
    not_plain(wanted, where=where)
    near = closest(wanted, kinds)
    guess = f": did you mean {near}?" if near else "."
    raise InputError(f"{where}: unknown piece “{text}”{guess}", f"Pieces that are known: {', '.join(kinds)}.")


def edge_name(text: str, *, kind: PieceKind | None, where: str) -> EdgeName:
    """The edge that a maker's word means, checked against the piece's kind.

    Raises
    ------
    InputError
        If there is no such edge, or a piece of this kind has none.
    """
    wanted = plain(text)
    known: tuple[str, ...] = get_args(EdgeName)
    name = wanted if wanted in known else _ALIASES.get(wanted)
    own = edges_of(kind) if kind else get_args(EdgeName)
    if name is None:
        near = closest(wanted, (*own, *_ALIASES))
        guess = f": did you mean {_ALIASES.get(near, near)}?" if near else "."
        raise InputError(f"{where}: unknown edge “{text}”{guess}", f"Edges that are known: {', '.join(own)}.")
    found = next((one for one in own if one == name), None)
    if found is None:
        raise InputError(f"{where}: a {kind} has no edge called {name}.", f"Its edges are {', '.join(own)}.")
    return found


def seam_told(
    value: object, *, no_allowance: bool, unit: LengthUnit, where: str, kind: PieceKind | None = None
) -> SeamTold:
    """Seam allowance as told: a length for all edges, a table by edge, ``"none"`` or ``no_allowance``.

    Raises
    ------
    InputError
        If a width is no length, negative or wider than any hem, or an edge is not known.
    """
    if no_allowance:
        if value is not None:
            raise InputError(f"{where}: allowance and no_allowance are both there.", "Keep the one that is true.")
        return SeamTold(mm=0.0)
    if value is None:
        return SeamTold()
    if not isinstance(value, Mapping):
        return SeamTold(mm=_width(value, unit, f"{where}: allowance"))
    rest: float | None = None
    edges: dict[EdgeName, float] = {}
    for key, width in value.items():
        mm = _width(width, unit, f"{where}: allowance of {key}")
        if plain(str(key)) in ("all", "all edges", "rest", "others", "other edges"):
            rest = mm
        elif plain(str(key)) == "underarm seam" and kind in (None, "sleeve"):
            edges.update(dict.fromkeys(_UNDERARM, mm))
        else:
            edges[edge_name(str(key), kind=kind, where=f"{where}: allowance")] = mm
    return SeamTold(mm=rest, edges=edges)


def _width(value: object, unit: LengthUnit, where: str) -> float:
    if value is False or (isinstance(value, str) and plain(value) in ("none", "no", "no allowance", "not included")):
        return 0.0
    try:
        mm = typed_length_mm(value, unit=unit)
    except InputError as err:
        raise InputError(f"{where}: {err.problem}", err.remedy) from err
    if not 0 <= mm <= _ALLOWANCE_HIGH_MM:
        raise InputError(
            f"{where}: {value} can't be a seam allowance.",
            'Write how wide the paper is outside the stitching line, such as "15 mm", "1.5 cm" or "5/8 in".',
        )
    return mm


def picture_told(table: PictureTable, *, kind: PieceKind, where: str) -> PictureTold:
    """What is told on a picture.

    Raises
    ------
    InputError
        If a point is not two numbers, an edge is unknown, or a dart has not two legs and one or two apexes.
    """
    points: dict[str, Any] = {
        key: _all_there_are(getattr(table, key), where, key) if one.replaces else _maybe(table, one, where)
        for key, one in TELLABLE.items()
        if one.shape in ("points", "whole", "box")
    }
    return PictureTold(
        lattice=tuple(_crossing(one, where) for one in table.lattice),
        edges=tuple(
            EdgeTold(
                name=edge_name(name, kind=kind, where=where),
                points=np.array(_some(points_of, where, name, TELLABLE["edges"].counts)),
            )
            for name, points_of in table.edges.items()
        ),
        darts=tuple(
            _dart(one, where) for one in [*(table.darts if isinstance(table.darts, list) else []), *table.add_darts]
        ),
        no_darts=table.darts is False or isinstance(table.darts, list),
        hole_meanings=tuple(_holes(one, where) for one in table.hole_meanings),
        tucks=tuple(_some(tuck, where, "tucks", TELLABLE["tucks"].counts) for tuck in table.tucks),
        outline_parts=tuple(_some(part, where, "outline_parts") for part in table.outline_parts),
        **{key: () if told is None and key in _ADDED else told for key, told in points.items()},
    )


def _crossing(numbers: Sequence[float], where: str) -> tuple[Pixel, tuple[int, int]]:
    if len(numbers) != 4 or not all(_is_number(number) for number in numbers):
        raise InputError(f"{where}: a lattice point needs 4 numbers.", "Write [x, y, column, row].")
    return (float(numbers[0]), float(numbers[1])), (round(numbers[2]), round(numbers[3]))


def _dart(table: Mapping[str, object], where: str) -> DartTold[Pixels]:
    unknown = [key for key in table if key not in ("legs", "apexes", "apex", "on")]
    if unknown:
        raise InputError(f"{where}: unknown entry “{unknown[0]}” in a dart.", "A dart has legs and apexes.")
    legs = _some(table.get("legs"), where, "legs", (2,))
    apexes = _some(table.get("apexes", table.get("apex")), where, "apexes", (1, 2))
    return DartTold(legs=np.array(legs), apexes=np.array(apexes))


def _holes(table: Mapping[str, object], where: str) -> HolesTold[Pixels]:
    unknown = [key for key in table if key not in ("at", "means")]
    if unknown:
        raise InputError(f"{where}: unknown entry “{unknown[0]}” in hole_meanings.", "Write at and means.")
    wanted = plain(str(table.get("means", "")))
    known = get_args(HoleMeaning)
    means = next((one for one in known if plain(one) == wanted), None)
    if means is None:
        near = closest(wanted, known)
        raise InputError(
            f"{where}: holes can't mean “{table.get('means', '')}”{f': did you mean {near}?' if near else '.'}",
            f"They mean one of: {', '.join(known)}.",
        )
    return HolesTold(at=np.array(_some(table.get("at"), where, "at")), means=means)


def _all_there_are(points: object, where: str, name: str) -> tuple[Pixel, ...] | None:
    """All marks of a kind: ``false`` means that there are none, ``true`` says nothing."""
    if isinstance(points, bool):
        return None if points else ()
    return None if points is None else _some(points, where, name)


def _maybe(table: PictureTable, one: Tellable, where: str) -> tuple[Pixel, ...] | None:
    points = getattr(table, one.key)
    return None if points is None else _some(points, where, one.key, one.counts)


def _some(points: object, where: str, name: str, counts: tuple[int, ...] | None = None) -> tuple[Pixel, ...]:
    """Points as pairs of numbers; a single pair may stand alone."""
    listed = points if isinstance(points, list) else []
    if len(listed) == 2 and all(_is_number(one) for one in listed):
        listed = [listed]
    good = all(isinstance(one, list) and len(one) == 2 and all(_is_number(part) for part in one) for one in listed)
    if not good or (not listed and counts) or (counts and len(listed) not in counts):
        wanted = " or ".join(str(count) for count in counts) if counts else "some"
        raise InputError(
            f"{where}: “{name}” is not {wanted} point{'' if counts == (1,) else 's'}.",
            "Write points as [[x, y], [x, y]], in pixels of the upright picture.",
        )
    return tuple((float(one[0]), float(one[1])) for one in listed)


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < _FAR_PX
