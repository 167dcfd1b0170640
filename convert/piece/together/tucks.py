"""Tucks and pleats folded out: what they take up becomes one dart in their middle."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import InputError, Note
from calibration.ground.plane import meet, point_at, unit
from calibration.ground.points import Points, length, lengths_along, nearest_on_line
from convert.piece.names.kinds import KINDS
from convert.piece.outline.meeting import ray_crossings
from convert.piece.piece import Dart, Edge, EdgeName, InsideLine, Piece
from convert.piece.width_words import Unit, format_paper_mm

STARTS_MM = 8.0  # a tuck's line ends so near the seam line
PARALLEL_DEG = 3.0
SQUARE_DEG = 35.0  # tucks run into a piece at most so far from square to its edge
LONG_MM = (15.0, 300.0)
APART_MM = (3.0, 60.0)  # the two lines of a tuck or pleat that come to lie on one another
ALIKE_MM = 1.5  # lines of one tuck are evenly spaced to this, and tucks alike
STRAIGHT_MM = 1.0
ON_EDGE_MM = 30.0  # a tuck is told on the seam line or on the cut line
TOLD_LONG_MM = 45.0  # longer than an allowance: so far a told tuck's sides are drawn in from the cut line
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
    tuck: int = -1


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
        taken = _told(feet) if any(foot.tuck >= 0 for foot in feet) else _taken(feet)
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
    told = sorted((foot for foot in found if foot.tuck >= 0), key=lambda foot: foot.along)
    if told:
        return told
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
    if line.on not in (None, edge.name):
        return None
    points = line.points
    ends = points[[0, -1]]
    size = length(points)
    if not LONG_MM[0] < size < LONG_MM[1] or size - float(np.hypot(*(ends[1] - ends[0]))) > STRAIGHT_MM:
        return None
    gaps = [nearest_on_line(edge.points, end) for end in ends]
    start = int(np.argmin([gap for *_, gap in gaps]))
    _, along, gap = gaps[start]
    total = float(lengths_along(edge.points)[-1])
    if (gap > STARTS_MM and line.tuck < 0) or not STARTS_MM < along < total - STARTS_MM:
        return None
    way = unit(ends[1 - start] - ends[start])
    run = unit(point_at(edge.points, along + 4.0) - point_at(edge.points, along - 4.0))
    inward = np.array([-run[1], run[0]])
    if way @ inward < np.cos(np.radians(SQUARE_DEG)):
        return None
    far, crossed = ray_crossings(edge.points, ends[start] + 5.0 * way, -way)
    return _Foot(along=float(crossed[0]) if len(far) else along, way=way, size=size, tuck=line.tuck)


def told_tucks(tucks: Sequence[Points], edges: Sequence[tuple[EdgeName, Points]]) -> tuple[InsideLine, ...]:
    """Two lines for each tuck that was told by two points (2, 2) on an edge, square to the tucks of that edge together.

    Raises
    ------
    InputError
        If a tuck does not lie on one edge.
    """
    on: dict[EdgeName, list[tuple[int, Points]]] = {}
    for number, tuck in enumerate(tucks):
        name, gap = min(
            ((name, max(nearest_on_line(line, at)[2] for at in tuck)) for name, line in edges), key=lambda one: one[1]
        )
        if gap > ON_EDGE_MM:
            raise InputError(
                f"Tuck {number + 1} of those told does not lie on one edge: a point of it is {gap / 10:.0f} cm away.",
                "Tell the two points on the edge that come to lie on one another.",
            )
        on.setdefault(name, []).append((number, tuck))
    out = []
    for name, own in on.items():
        line = next(points for edge, points in edges if edge == name)
        feet = sorted(nearest_on_line(line, at)[1] for _, tuck in own for at in tuck)
        run = unit(point_at(line, feet[-1]) - point_at(line, feet[0]))
        inward = np.array([-run[1], run[0]])
        for number, tuck in own:
            for at in tuck:
                foot = nearest_on_line(line, at)[0]
                out.append(InsideLine(points=np.array([foot, foot + TOLD_LONG_MM * inward]), tuck=number, on=name))
    return tuple(out)


def _told(feet: list[_Foot]) -> float | None:
    """What tucks that were told take up at the seam line."""
    at: dict[int, list[float]] = {}
    for foot in feet:
        at.setdefault(foot.tuck, []).append(foot.along)
    wide = [max(both) - min(both) for both in at.values() if len(both) == 2]
    return float(sum(wide)) if wide else None


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
