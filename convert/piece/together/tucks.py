"""Tucks and pleats folded out: what they take up becomes one dart in their middle."""

import itertools
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.plane import meet, point_at, unit
from calibration.ground.points import Points, length, lengths_along, nearest_on_line
from convert.piece.names.kinds import KINDS
from convert.piece.outline.meeting import ray_crossings
from convert.piece.piece import Dart, Edge, InsideLine, Piece
from convert.piece.width_words import Unit, format_paper_mm

STARTS_MM = 8.0  # a tuck's line ends so near the seam line
PARALLEL_DEG = 3.0
SQUARE_DEG = 35.0  # tucks run into a piece at most so far from square to its edge
LONG_MM = (15.0, 300.0)
APART_MM = (3.0, 60.0)  # the two lines of a tuck or pleat that come to lie on one another
ALIKE_MM = 1.5  # lines of one tuck are evenly spaced to this, and tucks alike
STRAIGHT_MM = 1.0
SHORT_OF_MM = 25.0
"""A sewn dart stops so far short of the bust point: 20 to 30 mm, common practice."""
BUST_POINT_SHARE = 0.8  # of the underarm's height over the waist: about where a bust point lies (common practice)
SKIRT_DART_MM = 100.0  # a usual length of a skirt's waist dart, common practice
APEX_DOUBT_MM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Foot:
    """A line of a tuck on an edge: the arc length where it meets the seam line, and its direction inward."""

    along: float
    way: Points
    size: float


def tucks_folded_out(piece: Piece, unit: Unit = "cm") -> Piece:
    """The piece with a dart for each edge that has tucks, in the middle of them and as wide as they take up.

    Lines in threes are stitching, fold, stitching; lines in pairs come to lie on one another. Nothing is moved: a dart
    takes at the seam what the tucks took. A piece without tucks comes back as it is.
    """
    notes: list[Note] = []
    darts = list(piece.darts)
    for edge in piece.edges:
        if edge.name not in KINDS[piece.kind].dart_edges:
            continue
        feet = _feet(piece, edge)
        taken = _taken(feet)
        if taken is None:
            continue
        middle = (feet[0].along + feet[-1].along) / 2
        legs = np.array([point_at(edge.points, middle - taken / 2), point_at(edge.points, middle + taken / 2)])
        point = _point(piece, edge, legs.mean(0), feet)
        darts.append(Dart(on=edge.name, apexes=point, legs=legs, evidence="deduced"))
        notes.append(_note(piece, edge, len(feet), taken, unit))
    if not notes:
        return piece
    order = {edge.name: k for k, edge in enumerate(piece.edges)}
    darts.sort(key=lambda d: (order.get(d.on, len(order)) if d.on else len(order), _where(piece, d)))
    return replace(piece, darts=tuple(darts), notes=(*piece.notes, *notes), inside=())


def _where(piece: Piece, dart: Dart) -> float:
    return 0.0 if dart.on is None else nearest_on_line(piece.edge(dart.on).points, dart.legs[0])[1]


def _note(piece: Piece, edge: Edge, lines: int, taken: float, unit: Unit) -> Note:
    text = (
        f"The {edge.name} of the {piece.kind} has tucks or pleats ({lines} lines): together they take up "
        f"{format_paper_mm(taken, unit)}. They are folded out into one dart in their middle. Where its point lies "
        f"is a guess, to about {format_paper_mm(APEX_DOUBT_MM, unit)}: tell the dart if you know better."
    )
    return Note("tucks-folded-out", text)


def _feet(piece: Piece, edge: Edge) -> list[_Foot]:
    """Straight lines that run inward from an edge, alike in length and direction, in order along it."""
    found = [foot for line in piece.inside for foot in [_foot(edge, line)] if foot is not None]
    clear = [foot for foot in found if not _in_dart(piece, edge, foot.along)]
    if len(clear) < 2:
        return []
    usual = np.median([foot.size for foot in clear])
    way = unit(np.median([foot.way for foot in clear], axis=0))
    alike = [
        foot
        for foot in clear
        if abs(foot.size / usual - 1) < 0.2 and np.degrees(np.arccos(np.clip(foot.way @ way, -1, 1))) < PARALLEL_DEG
    ]
    return sorted(alike, key=lambda foot: foot.along)


def _in_dart(piece: Piece, edge: Edge, along: float) -> bool:
    spans = [[nearest_on_line(edge.points, leg)[1] for leg in d.legs] for d in piece.darts if d.on == edge.name]
    return any(a - ALIKE_MM < along < b + ALIKE_MM for a, b in spans)


def _foot(edge: Edge, line: InsideLine) -> _Foot | None:
    """A line that starts at an edge and runs inward about square to it; None if it does not."""
    points = line.points
    ends = points[[0, -1]]
    size = length(points)
    if not LONG_MM[0] < size < LONG_MM[1] or size - float(np.hypot(*(ends[1] - ends[0]))) > STRAIGHT_MM:
        return None
    gaps = [nearest_on_line(edge.points, end) for end in ends]
    start = int(np.argmin([gap for *_, gap in gaps]))
    _, along, gap = gaps[start]
    total = float(lengths_along(edge.points)[-1])
    if gap > STARTS_MM or not STARTS_MM < along < total - STARTS_MM:
        return None
    way = unit(ends[1 - start] - ends[start])
    run = unit(point_at(edge.points, along + 4.0) - point_at(edge.points, along - 4.0))
    inward = np.array([-run[1], run[0]])
    if way @ inward < np.cos(np.radians(SQUARE_DEG)):
        return None
    far, crossed = ray_crossings(edge.points, ends[start] + 5.0 * way, -way)
    return _Foot(along=float(crossed[0]) if len(far) else along, way=way, size=size)


def _taken(feet: list[_Foot]) -> float | None:
    """What the tucks take up at the seam line; None if the lines make no tucks."""
    at = [foot.along for foot in feet]
    gaps = np.diff(at)
    for count in (3, 2):
        if len(at) < count or len(at) % count:
            continue
        groups = [at[k : k + count] for k in range(0, len(at), count)]
        inner = [b - a for group in groups for a, b in itertools.pairwise(group)]
        wide = [group[-1] - group[0] for group in groups]
        even = np.ptp(inner) < ALIKE_MM and APART_MM[0] < min(inner) and max(inner) < APART_MM[1]
        between = gaps[count - 1 :: count]
        if even and (len(between) == 0 or min(between) > max(inner) + ALIKE_MM or count == 2):
            return float(sum(wide))
    return None


def _point(piece: Piece, edge: Edge, middle: Points, feet: list[_Foot]) -> Points:
    """Where the dart's point lies: short of the bust point, if something shows that, or on the tucks' own line."""
    way = unit(np.mean([foot.way for foot in feet], axis=0))
    if KINDS[piece.kind].garment != "bodice":
        return middle + max(SKIRT_DART_MM, feet[0].size) * way
    bust = _bust_point(piece, edge, middle, way)
    deep = float(np.hypot(*(bust - middle))) - SHORT_OF_MM
    point: Points = middle + max(deep, feet[0].size) * unit(bust - middle)
    return point


def _bust_point(piece: Piece, edge: Edge, middle: Points, way: Points) -> Points:
    """About where the bust point lies: where another dart's middle line and the tucks' own line lead."""
    for dart in piece.darts:
        if dart.on is not None and dart.on != edge.name and len(dart.apexes) == 1:
            points_to = unit(dart.apexes[0] - dart.legs.mean(0))
            beyond = dart.apexes[0] + SHORT_OF_MM * points_to
            met = meet(middle, way, dart.apexes[0], points_to)
            if met is not None and np.hypot(*(met - beyond)) < 2 * SHORT_OF_MM:
                return np.asarray((met + beyond) / 2)
            return np.asarray(beyond)
    side = piece.edge("side seam").points if piece.has("side seam") else piece.seam_line
    low = float(piece.seam_line[:, 1].min())
    level = low + BUST_POINT_SHARE * (float(side[:, 1].max()) - low)
    deep = abs(level - middle[1]) / max(abs(float(way[1])), 0.2)
    return np.asarray(middle + deep * way)
