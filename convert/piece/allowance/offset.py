"""Taking seam allowance off a cut line and putting it back: the only place that calls the offset engine."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Point, offset_curve
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_points, lengths_along, nearest_on_line, resample
from convert.piece.outline.meeting import meet, mirrored, stretch, unit
from convert.piece.piece import Allowance, EdgeName, Piece

APART_STRAIGHT_MM, APART_CURVED_MM = 0.5, 0.25
STRAIGHT_MM = 0.03
TANGENT_MM = 6.0  # an edge is made longer straight on, in the direction of its last bit
ASTRAY_MM, ASTRAY_SHARE = 6.0, 0.5  # a crossing farther from where straight edges would meet is another one
QUAD_SEGMENTS = 32
MITRE_LIMIT = 8.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutMouth:
    """A dart's opening in an edge of the cut line: arc lengths ``span`` on the edge, and its apex (2,).

    ``crossings`` (2, 2) are where its legs meet the cut line.
    """

    span: tuple[float, float]
    apex: Points
    crossings: Points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutEdge:
    """An edge of the cut line, its allowance, and the mouths of darts in it, in order.

    ``seam`` gives the seam line itself where it is known (a centre line inside the piece), which then takes the place
    of an offset.
    """

    name: EdgeName
    points: Points
    allowance: Allowance
    mouths: tuple[CutMouth, ...] = ()
    on_fold: bool = False
    seam: Points | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeamEdge:
    """An edge on the seam line (N, 2) and the ends of its darts' legs, each (2, 2), in order."""

    points: Points
    legs: tuple[Points, ...] = field(default=())


def inward(line: Points, inward_mm: float) -> Points:
    """An edge of a counter-clockwise outline moved inward; straight where it can't be said otherwise."""
    return _moved(line, inward_mm)


def outward(line: Points, outward_mm: float) -> Points:
    """An edge of a counter-clockwise outline moved outward."""
    return _moved(line, -outward_mm)


def _moved(line: Points, to_left_mm: float) -> Points:
    """Every point moved square to the line, which keeps a smooth edge exact; loops are the engine's work."""
    far = abs(to_left_mm)
    if far < 1e-9:
        return line
    even = resample(line, APART_CURVED_MM)
    way = np.gradient(even, axis=0)
    way = way / np.maximum(np.hypot(*way.T), 1e-12)[:, None]
    points = even + to_left_mm * np.column_stack([-way[:, 1], way[:, 0]])
    onward = (np.diff(points, axis=0) * np.diff(even, axis=0)).sum(1) > 0
    if onward.all():
        return points
    curve = offset_curve(
        LineString(even), to_left_mm, quad_segs=QUAD_SEGMENTS, join_style="mitre", mitre_limit=MITRE_LIMIT
    )
    joined = _in_one(curve, LineString(even), points[0])
    if len(joined) > 1 and np.hypot(*(joined[[0, -1]] - points[[0, -1]]).T).max() < 0.5 * far:
        return joined
    if onward.mean() < 0.5:
        raise InputError(
            f"An allowance of {far / 10:.1f} cm leaves nothing of an edge {lengths_along(line)[-1] / 10:.1f} cm long.",
            "Check the allowance and which edge it belongs to.",
        )
    return points[np.concatenate([[True], onward])]


def _in_one(curve: BaseGeometry, line: LineString, start: Points) -> Points:
    """The parts that an offset came back in, strung together in the order of the line."""
    parts = [np.asarray(part.coords) for part in getattr(curve, "geoms", [curve]) if not part.is_empty]
    if not parts:
        return np.zeros((0, 2))
    if len(parts) == 1:
        points = parts[0]
        return points[::-1] if np.hypot(*(points[0] - start)) > np.hypot(*(points[-1] - start)) else points
    placed = []
    for part in parts:
        a, b = line.project(Point(part[0])), line.project(Point(part[-1]))
        placed.append((min(a, b), part if a <= b else part[::-1]))
    placed.sort(key=lambda one: one[0])
    return np.vstack([part for _, part in placed])


def remove_allowance(edges: Sequence[CutEdge]) -> tuple[SeamEdge, ...]:
    """The seam line inside a counter-clockwise ring of cut edges, edge by edge.

    Each edge moves in by its own allowance. At corners two neighbours are made longer or trimmed until they meet. At a
    dart the seam line is found on the folded dart: the peak goes, the leg ends lie where the legs cross the seam lines
    on either side, at equal distance from the apex, and the edge crosses the mouth straight.

    Raises
    ------
    InputError
        If an allowance leaves nothing of an edge.
    """
    moved = [_between_mouths(edge) for edge in edges]
    corners = []
    for k, edge in enumerate(edges):
        after = (k + 1) % len(edges)
        widths = (edge.allowance.mm, edges[after].allowance.mm)
        told = edge.seam is not None or edges[after].seam is not None
        corners.append(_corner(moved[k][-1], moved[after][0], edge.points, edges[after].points, widths, far=told))
    out = []
    for k, edge in enumerate(edges):
        out.append(_assembled(edge, moved[k], corners[k - 1], corners[k]))
    return tuple(out)


def _between_mouths(edge: CutEdge) -> list[Points]:
    """The parts of an edge between its darts, moved in and made longer at both ends."""
    if edge.seam is not None:
        return [_longer(edge.seam, 400.0, 400.0)]
    size = lengths_along(edge.points)[-1]
    cuts = [0.0, *(s for mouth in edge.mouths for s in mouth.span), size]
    width = edge.allowance.mm
    parts = []
    for a, b in zip(cuts[::2], cuts[1::2], strict=True):
        if b - a < 2.0:
            raise InputError(
                f"The dart on the {edge.name} reaches to the corner of its edge.", "Tell where the dart's legs run."
            )
        parts.append(_longer(inward(stretch(edge.points, a, b), width), 3 * width + 40.0, 3 * width + 40.0))
    return parts


def _longer(line: Points, before: float, after: float) -> Points:
    """An open line made longer straight on at both ends, in the direction of its last few millimetres."""
    head, tail = -end_way(line[::-1]), end_way(line)
    return np.vstack([line[:1] - before * head, line, line[-1:] + after * tail])


def end_way(line: Points) -> Points:
    """Direction in which an open line runs out at its end, its bend over the last few millimetres taken in."""
    s = lengths_along(line)
    near = s >= s[-1] - TANGENT_MM
    if near.sum() < 4:
        return unit(line[-1] - line[max(0, len(line) - 4)])
    back = s[near] - s[-1]
    slope = np.polynomial.polynomial.polyfit(back, line[near], 2)[1]
    return unit(slope)


def _corner(
    one: Points, other: Points, cut: Points, next_cut: Points, widths: tuple[float, float], *, far: bool = False
) -> Points:
    """Where two neighbouring seam lines meet: the crossing nearest to where their ends point.

    ``far`` takes it however far that is, as where a neckline runs on over a wrap to the centre line.
    """
    a, b = LineString(one), LineString(other)
    guess = _guess(cut, next_cut, widths)
    crossings = _crossings(a, b)
    if len(crossings):
        near: Points = crossings[np.argmin(np.hypot(*(crossings - guess).T))]
        if far or np.hypot(*(near - guess)) < ASTRAY_MM + ASTRAY_SHARE * max(abs(width) for width in widths):
            return near
    return guess


def _guess(cut: Points, next_cut: Points, widths: tuple[float, float]) -> Points:
    """The corner that straight edges would have."""
    u = unit(cut[-1] - stretch(cut, max(0.0, lengths_along(cut)[-1] - 12.0), lengths_along(cut)[-1])[0])
    v = unit(stretch(next_cut, 0.0, min(12.0, lengths_along(next_cut)[-1]))[-1] - next_cut[0])
    p = cut[-1] + widths[0] * np.array([-u[1], u[0]])
    q = next_cut[0] + widths[1] * np.array([-v[1], v[0]])
    at = meet(p, u, q, v)
    return (p + q) / 2 if at is None or np.hypot(*(at - cut[-1])) > 8 * max(abs(widths[0]), abs(widths[1]), 1.0) else at


def _crossings(a: LineString, b: LineString) -> Points:
    """Points (N, 2) shared by two lines."""
    shared = a.intersection(b)
    parts = getattr(shared, "geoms", [shared])
    return np.array([part.coords[0] for part in parts if not part.is_empty]).reshape(-1, 2)


def _assembled(edge: CutEdge, parts: list[Points], start: Points, end: Points) -> SeamEdge:
    """One edge from corner to corner, straight across each dart's mouth."""
    begins, ends, legs = [start], [], []
    for before, after, mouth in zip(parts[:-1], parts[1:], edge.mouths, strict=True):
        a = _leg_end(before, mouth.apex, mouth.crossings[0])
        b = _leg_end(after, mouth.apex, mouth.crossings[1])
        a, b = _equal_legs(a, b, mouth.apex)
        ends.append(a)
        begins.append(b)
        legs.append(as_points([a, b]))
    ends.append(end)
    pieces = [_trimmed(part, a, b) for part, a, b in zip(parts, begins, ends, strict=True)]
    joined = [pieces[0]]
    for leg, part in zip(legs, pieces[1:], strict=True):
        joined += [resample(leg, APART_STRAIGHT_MM)[1:], part[1:]]
    return SeamEdge(points=as_points(np.vstack(joined)), legs=tuple(legs))


def _leg_end(part: Points, apex: Points, crossing: Points) -> Points:
    """Where a dart's leg crosses the seam line."""
    way = unit(crossing - apex)
    reach = LineString([apex, crossing + 80.0 * way])
    found = _crossings(LineString(part), reach)
    if len(found) == 0:
        return np.asarray(crossing)
    near: Points = found[np.argmin(np.hypot(*(found - crossing).T))]
    return near


def _equal_legs(a: Points, b: Points, apex: Points, *, at_most: float = 1.0) -> tuple[Points, Points]:
    """Both leg ends at their mean distance from the apex, if they nearly are; a greater difference is left to see."""
    far_a, far_b = float(np.hypot(*(a - apex))), float(np.hypot(*(b - apex)))
    if abs(far_a - far_b) > at_most:
        return a, b
    mean = (far_a + far_b) / 2
    return apex + (a - apex) * mean / far_a, apex + (b - apex) * mean / far_b


def _trimmed(part: Points, start: Points, end: Points) -> Points:
    """A line between two points on it, as evenly spaced points, both ends exact."""
    line = LineString(part)
    a, b = line.project(Point(start)), line.project(Point(end))
    if b - a < 1e-6:
        return np.array([start, end])
    inner = np.asarray(substring(line, a, b).coords)
    inner[0], inner[-1] = start, end
    return spaced(inner)


def spaced(line: Points) -> Points:
    """A line as points close enough to measure: 0.5 mm apart where straight, 0.25 mm on curves."""
    way = unit(line[-1] - line[0])
    gap = line - line[0]
    straight = np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0]).max() < STRAIGHT_MM
    return resample(line, APART_STRAIGHT_MM if straight else APART_CURVED_MM)


# ---------------------------------------------------------------- putting it back


def add_allowance(piece: Piece, outward_mm: Mapping[str, float] | float | None = None) -> Points:
    """The cut line (N, 2) round a piece on its seam line, counter-clockwise, first point not repeated.

    ``outward_mm`` is one width for all edges, widths by name of edge (0 where missing), or None for the allowances the
    piece had. Edges on a fold get none unless named. Darts are folded shut and cut across, which leaves their peaks.

    Raises
    ------
    InputError
        If a width leaves nothing of an edge.
    """
    widths = [_width(edge.name, edge.on_fold, edge.allowance.mm, outward_mm) for edge in piece.edges]
    mouths = [[dart for dart in piece.darts if dart.on == edge.name] for edge in piece.edges]
    moved: list[list[Points]] = []
    for edge, width, darts in zip(piece.edges, widths, mouths, strict=True):
        cuts = [
            0.0,
            *(s for dart in darts for s in _leg_places(edge.points, dart.legs)),
            lengths_along(edge.points)[-1],
        ]
        far = 3 * width + 40.0
        parts = zip(cuts[::2], cuts[1::2], strict=True)
        moved.append([_longer(outward(stretch(edge.points, a, b), width), far, far) for a, b in parts])
    corners = []
    for k, edge in enumerate(piece.edges):
        after = (k + 1) % len(piece.edges)
        bare = (-widths[k], -widths[after])
        corners.append(_corner(moved[k][-1], moved[after][0], edge.points, piece.edges[after].points, bare))
    ring = []
    for k, darts in enumerate(mouths):
        ring.append(_with_caps(moved[k], [(d.apexes[0], d.legs) for d in darts], corners[k - 1], corners[k])[:-1])
    return as_points(np.vstack(ring))


def _width(name: str, on_fold: bool, had: float, said: Mapping[str, float] | float | None) -> float:
    if said is None:
        return had
    if isinstance(said, Mapping):
        return float(said.get(name, 0.0))
    return 0.0 if on_fold else float(said)


def _leg_places(line: Points, legs: Points) -> tuple[float, float]:
    return nearest_on_line(line, legs[0])[1], nearest_on_line(line, legs[1])[1]


def _with_caps(parts: list[Points], darts: list[tuple[Points, Points]], start: Points, end: Points) -> Points:
    """One edge of the cut line from corner to corner with the peaks of its folded darts."""
    begins, ends, caps = [start], [], []
    for before, after, (apex, legs) in zip(parts[:-1], parts[1:], darts, strict=True):
        a, b = _leg_end(before, apex, legs[0]), _leg_end(after, apex, legs[1])
        ends.append(a)
        begins.append(b)
        caps.append(_peak(before, after, a, b, apex))
    ends.append(end)
    pieces = [_trimmed(part, a, b) for part, a, b in zip(parts, begins, ends, strict=True)]
    joined = [pieces[0]]
    for peak, part in zip(caps, pieces[1:], strict=True):
        sides = [resample(np.array([joined[-1][-1], peak]), APART_STRAIGHT_MM)[1:]]
        sides.append(resample(np.array([peak, part[0]]), APART_STRAIGHT_MM)[1:])
        joined += [*sides, part[1:]]
    return np.vstack(joined)


def _peak(before: Points, after: Points, a: Points, b: Points, apex: Points) -> Points:
    """The peak of a folded dart: the edge mirrored in each leg, met on the dart's middle line."""
    middle = (a + b) / 2 - apex
    tops = []
    for line, at in ((before, a), (after, b)):
        here = LineString(line).project(Point(at))
        near = stretch(line, max(here - TANGENT_MM, 0.0), min(here + TANGENT_MM, lengths_along(line)[-1]))
        way = mirrored(near[-1] - near[0], at - apex)
        top = meet(at, way, apex, middle)
        tops.append((a + b) / 2 if top is None else top)
    return np.asarray((tops[0] + tops[1]) / 2)
