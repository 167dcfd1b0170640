"""Where the points of a piece go between two states of it, in words that a hand can follow with a ruler."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from calibration.ground.points import Points, lengths_along
from calibration.ground.units import MM_PER_INCH
from convert.block.shape.shape import Frame, shape_of
from convert.body.card import LengthUnit
from convert.body.wording import format_fine_mm
from convert.piece.piece import Dart, Edge, Piece

LEAST_MM: Mapping[LengthUnit, float] = {"cm": 1.0, "in": MM_PER_INCH / 16}
"""The finest line of a ruler: what is less is neither marked nor said."""
Marked = Literal["all", "outline", "darts"]
_BEND_MM = 2.0  # an edge whose middle goes another way than its ends by more than this gets a point there
_CORNERS: Mapping[frozenset[str], str] = {
    frozenset(("neckline", "shoulder")): "side neck point",
    frozenset(("shoulder", "armhole")): "shoulder point",
    frozenset(("armhole", "side seam")): "underarm point",
    frozenset(("side seam", "waist")): "waist at the side",
    frozenset(("side seam", "hem")): "hem at the side",
    frozenset(("cap", "underarm seam front")): "front underarm point",
    frozenset(("cap", "underarm seam back")): "back underarm point",
    frozenset(("wrist", "underarm seam front")): "wrist at the front",
    frozenset(("wrist", "underarm seam back")): "wrist at the back",
    frozenset(("hem", "underarm seam front")): "hem at the front",
    frozenset(("hem", "underarm seam back")): "hem at the back",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shift:
    """A point that goes from ``start`` (2,) to ``end`` (2,) on the paper: which, and how far in words."""

    name: str
    start: Points
    end: Points
    words: str

    @property
    def sentence(self) -> str:
        """``Shoulder point: 0.5 cm out, 0.3 cm up.``"""
        return f"{self.name[:1].upper()}{self.name[1:]}: {self.words}."


def shifts(before: Piece, after: Piece, unit: LengthUnit = "cm", *, of: Marked = "all") -> tuple[Shift, ...]:
    """The corners of a piece, the middle of what bends between them, and its darts' points, as far as they go.

    ``of`` "outline" leaves out the darts; "darts" gives their points and the ends of their legs alone. ``after`` has
    the points of ``before``, one to one. Shifts of less than :data:`LEAST_MM` are left out.
    """
    frame = shape_of(before).frame
    found: list[tuple[str, Points, Points]] = []
    if of != "darts":
        found += [*_corners(before, after), *_between(before, after, unit)]
    if of != "outline":
        found += _dart_points(before, after, frame, unit, mouths=of == "darts")
    out: list[Shift] = []
    for name, start, end in found:
        words = way_words(start, end, frame, before.kind, unit)
        same = next((k for k, one in enumerate(out) if _one_thing(one, name, words)), None)
        if same is not None:
            out[same] = replace(out[same], name=f"{out[same].name} and {name.removeprefix('point of ')}")
        elif words and not any(np.hypot(*(one.start - start)) < 1.0 for one in out):
            out.append(Shift(name=name, start=start, end=end, words=words))
    return tuple(out)


def _one_thing(one: Shift, name: str, words: str) -> bool:
    """Whether two darts' points go the same way, as all that aim at the bust point do."""
    return one.words == words and all(said.startswith("point of the") for said in (one.name, name))


def way_words(start: Points, end: Points, frame: Frame, kind: str, unit: LengthUnit = "cm") -> str:
    """How far a point goes across and up, ``0.5 cm out, 0.3 cm up``; empty where neither can be marked."""
    old, new = frame.to_local(np.array([start, end]))
    across, up = (float(part) for part in new - old)
    if kind == "sleeve":
        ways = ("towards the front", "towards the back") if abs(old[0]) < 1.0 else ("out", "in")
        across = across if abs(old[0]) < 1.0 else across * float(np.sign(old[0]))
    else:
        ways = ("out", "in")
    parts = [
        f"{format_fine_mm(abs(amount), unit)} {words[0] if amount > 0 else words[1]}"
        for amount, words in ((across, ways), (up, ("up", "down")))
        if abs(amount) >= LEAST_MM[unit]
    ]
    return ", ".join(parts)


def largest_mm(before: Piece, after: Piece) -> float:
    """The farthest that any point of the outline or of a dart goes, mm; infinite where the points do not correspond."""
    pairs = [(one.points, other.points) for one, other in zip(before.edges, after.edges, strict=True)]
    pairs += [(one.apexes, other.apexes) for one, other in zip(before.darts, after.darts, strict=False)]
    if any(old.shape != new.shape for old, new in pairs):
        return float("inf")
    return max(float(np.hypot(*(new - old).T).max()) for old, new in pairs if len(old))


def dart_sentences(before: Piece, after: Piece, unit: LengthUnit = "cm") -> tuple[str, ...]:
    """The darts whose mouth changes: by how much each, and how wide it is then."""
    out = []
    for old, new in zip(before.darts, after.darts, strict=False):
        change = new.intake - old.intake
        if abs(change) >= LEAST_MM[unit]:
            name = dart_name(after, new)
            way = "wider" if change > 0 else "narrower"
            now = f"it is {format_fine_mm(new.intake, unit)} wide then" if new.intake > 1.0 else "it is closed then"
            out.append(f"{name[:1].upper()}{name[1:]}: {format_fine_mm(abs(change), unit)} {way}; {now}.")
    return tuple(out)


def dart_places(piece: Piece, unit: LengthUnit = "cm") -> tuple[str, ...]:
    """Where each dart is drawn: its legs' ends along their edge, and how far its point lies from both.

    Two lengths from the two ends, struck with a tape or compasses, meet in the point.
    """
    out, order = [], {edge.name: place for place, edge in enumerate(piece.edges)}
    darts = [(order[dart.on], dart_name(piece, dart), dart) for dart in piece.darts if dart.on is not None]
    for _, name, dart in sorted(darts, key=lambda one: one[:2]):
        near, corner = _from_corner(piece, dart)
        leg = float(np.hypot(*(dart.legs - dart.apexes[0]).T).mean())
        out.append(
            f"{name[:1].upper()}{name[1:]}: it begins {format_fine_mm(near, unit)} from the {corner} and is "
            f"{format_fine_mm(dart.intake, unit)} wide. Its point lies {format_fine_mm(leg, unit)} from both ends."
        )
    return tuple(out)


def _from_corner(piece: Piece, dart: Dart) -> tuple[float, str]:
    """How far along its edge a dart begins, mm, and from which corner: the nearer one."""
    at = next(k for k, edge in enumerate(piece.edges) if edge.name == dart.on)
    edge, following = piece.edges[at], piece.edges[(at + 1) % len(piece.edges)]
    along = lengths_along(edge.points)
    ends = sorted(float(along[int(np.hypot(*(edge.points - leg).T).argmin())]) for leg in dart.legs)
    if ends[0] <= along[-1] - ends[1]:
        return ends[0], corner_name(piece.edges[at - 1], edge)
    return float(along[-1] - ends[1]), corner_name(edge, following)


def dart_name(piece: Piece, dart: Dart) -> str:
    """``waist dart``; of several on one edge, counted from the centre: ``waist dart 1``."""
    on = "waist" if dart.on is None else dart.on.removesuffix(" seam")
    alike = [one for one in piece.darts if one.on == dart.on]
    if len(alike) < 2:
        return f"{on} dart"
    frame = shape_of(piece).frame
    order = sorted(alike, key=lambda one: abs(float(frame.to_local(one.legs).mean(0)[0])))
    which = next(k for k, one in enumerate(order, 1) if one is dart)
    return f"{on} dart {which}{' (nearest the centre)' if which == 1 else ''}"


def _corners(before: Piece, after: Piece) -> Iterator[tuple[str, Points, Points]]:
    for k, edge in enumerate(before.edges):
        previous = before.edges[k - 1]
        yield corner_name(previous, edge), edge.points[0], after.edges[k].points[0]


def corner_name(one: Edge, other: Edge) -> str:
    """The corner where two edges meet, by its trade name."""
    known = _CORNERS.get(frozenset((one.name, other.name)))
    if known is not None:
        return known
    centre, edge = (one, other) if one.name.startswith("centre") else (other, one)
    if centre.name.startswith("centre"):
        return f"{edge.name} at the {centre.name}"
    return f"corner of {one.name} and {other.name}"


def _between(before: Piece, after: Piece, unit: LengthUnit) -> Iterator[tuple[str, Points, Points]]:
    """On each edge the place that goes most differently from its ends, named by its distance from a corner."""
    for k, (old, new) in enumerate(zip(before.edges, after.edges, strict=True)):
        if old.points.shape != new.points.shape or len(old.points) < 3:
            continue
        way, along = new.points - old.points, lengths_along(old.points)
        share = along / max(float(along[-1]), 1e-9)
        bend = np.hypot(*(way - np.outer(1 - share, way[0]) - np.outer(share, way[-1])).T)
        legs = [leg for dart in before.darts for leg in dart.legs]
        inside = (along > 15.0) & (along < along[-1] - 15.0)
        for leg in legs:
            inside &= np.hypot(*(old.points - leg).T) > 15.0
        if not inside.any() or float(bend[inside].max()) < _BEND_MM:
            continue
        at = int(np.argmax(np.where(inside, bend, -1.0)))
        if np.hypot(*way[at]) < _BEND_MM:
            continue
        following = before.edges[(k + 1) % len(before.edges)]
        near = along[at] <= along[-1] / 2
        corner = corner_name(before.edges[k - 1], old) if near else corner_name(old, following)
        far = format_fine_mm(float(along[at] if near else along[-1] - along[at]), unit)
        yield f"{old.name}, {far} from the {corner}", old.points[at], new.points[at]


def _dart_points(
    before: Piece, after: Piece, frame: Frame, unit: LengthUnit, *, mouths: bool
) -> Iterator[tuple[str, Points, Points]]:
    """A dart that goes as a whole as one thing; else its points, and with ``mouths`` its legs' ends too."""
    for old, new in zip(before.darts, after.darts, strict=False):
        name = dart_name(before, old)
        tips = list(zip(old.apexes, new.apexes, strict=False))
        legs = list(zip(old.legs, new.legs, strict=True))
        ways = {way_words(start, end, frame, before.kind, unit) for start, end in (*tips, *legs)}
        if len(ways) == 1:
            yield f"whole {name}", *tips[0]
            continue
        for k, (start, end) in enumerate(tips):
            tip = "" if len(tips) < 2 else (" (one end)", " (other end)")[k]
            yield f"point of the {name}{tip}", start, end
        if mouths:
            for start, end in legs:
                yield f"leg of the {name}", start, end
