"""Darted bodices of our own cut into panels at random, traced as paper would be; the piece they came from is known."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.plane import point_at
from calibration.ground.points import Points, closed, lengths_along, nearest_on_line, resample
from convert.piece.outline.meeting import stretch
from convert.piece.outline.path import Cubic
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Piece, PieceKind
from convert.piece.together.motion import Motion, fitted
from convert.trace.tracing import TracedMark, Tracing
from tests.convert.piece.shapes import _traced, draft, laid, with_dart

ROUNDED_MM = 20.0  # the corner of a panel at the bust point is rounded over so much
FROM: Mapping[EdgeName, tuple[float, float]] = {
    "shoulder": (0.35, 0.65),
    "armhole": (0.45, 0.7),
    "neckline": (0.3, 0.6),
}
"""Where a panel seam may begin, as shares of the edge."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutUp:
    """A whole piece, its two panels as drafted, and their tracings; ``begins_on`` is where the seam begins."""

    whole: Piece
    panels: tuple[Piece, Piece]
    tracings: tuple[Tracing, Tracing]
    begins_on: EdgeName


def cut_up(rng: np.random.Generator, *, flipped: tuple[bool, bool] = (False, False), noise_mm: float = 0.1) -> CutUp:
    """A front or back with a waist dart, cut through its point up to shoulder, armhole or neckline."""
    back = bool(rng.random() < 0.5)
    kind: PieceKind = "bodice back" if back else "bodice front"
    edges = dict(draft(kind, rng))
    begins = ("shoulder", "armhole", *(() if back else ("neckline",)))
    begins_on: EdgeName = begins[rng.integers(len(begins))]
    size = lengths_along(edges["waist"])[-1]
    deep = rng.uniform(125, 160)
    waist, dart = with_dart(edges["waist"], size * rng.uniform(0.38, 0.5), rng.uniform(22, 50), deep)
    dart = replace(dart, on="waist")
    edges["waist"] = waist
    start = point_at(edges[begins_on], lengths_along(edges[begins_on])[-1] * rng.uniform(*FROM[begins_on]))
    above = _seam(start, _inward(edges[begins_on], start), dart.apexes[0], rng)
    usual = float(rng.choice([9.525, 12.7, 15.0, 15.875, 19.05]))
    whole = _piece(kind, list(edges.items()), usual, (dart,))
    centre, side = _panels(whole, dart, above, begins_on, usual, back)
    places = _notch_places(above, dart, rng, back)
    lie = [
        _lying(panel, flip, _notches(panel, places), rng, noise_mm)
        for panel, flip in zip((centre, side), flipped, strict=True)
    ]
    return CutUp(whole=whole, panels=(centre, side), tracings=(lie[0], lie[1]), begins_on=begins_on)


def _inward(edge: Points, at: Points) -> Points:
    """The direction square to an edge, into the piece."""
    s = nearest_on_line(edge, at)[1]
    way = point_at(edge, s + 3.0) - point_at(edge, s - 3.0)
    return np.array([-way[1], way[0]]) / np.hypot(*way)


def _seam(start: Points, inward: Points, point: Points, rng: np.random.Generator) -> Points:
    """A fair curve from where the seam begins, nearly square to the edge, down to the dart's point."""
    chord = point - start
    square = np.array([-chord[1], chord[0]])
    lean = np.radians(rng.uniform(-20, 20))
    turned = np.array([[np.cos(lean), -np.sin(lean)], [np.sin(lean), np.cos(lean)]]) @ inward
    one = start + rng.uniform(0.25, 0.4) * np.hypot(*chord) * turned
    two = start + 0.65 * chord + rng.uniform(-0.04, 0.08) * square
    return resample(Cubic(nodes=np.array([start, one, two, point])).at(np.linspace(0, 1, 300)), 0.4)


def _panels(
    whole: Piece, dart: Dart, above: Points, begins_on: EdgeName, usual: float, back: bool
) -> tuple[Piece, Piece]:
    names = [edge.name for edge in whole.edges]
    lines = {edge.name: edge.points for edge in whole.edges}
    waist, cut = lines["waist"], lines[begins_on]
    at = nearest_on_line(cut, above[0])[1]
    legs = [nearest_on_line(waist, leg)[1] for leg in dart.legs]
    far = lengths_along(waist)[-1]
    point = dart.apexes[0]
    inner = _rounded(np.vstack([resample(np.array([dart.legs[0], point]), 0.4)[:-1], above[::-1]]), point)
    outer = _rounded(np.vstack([above[:-1], resample(np.array([point, dart.legs[1]]), 0.4)]), point)
    k = names.index(begins_on)
    of_centre = [
        ("waist", stretch(waist, 0.0, legs[0])),
        ("panel seam", inner),
        (begins_on, stretch(cut, at, lengths_along(cut)[-1])),
        *((name, lines[name]) for name in names[k + 1 :]),
    ]
    of_side = [
        ("waist", stretch(waist, legs[1], far)),
        *((name, lines[name]) for name in names[1:k]),
        (begins_on, stretch(cut, 0.0, at)),
        ("panel seam", outer),
    ]
    kinds: tuple[PieceKind, PieceKind] = (
        ("bodice back, centre", "bodice back, side") if back else ("bodice front, centre", "bodice front, side")
    )
    return _piece(kinds[0], of_centre, usual, ()), _piece(kinds[1], of_side, usual, ())


def _rounded(line: Points, corner: Points) -> Points:
    """A line whose corner is rounded, as it must be to be sewn."""
    s = lengths_along(line)
    at = nearest_on_line(line, corner)[1]
    a, b = point_at(line, at - ROUNDED_MM), point_at(line, at + ROUNDED_MM)
    t = np.linspace(0, 1, 100)[:, None]
    middle = (1 - t) ** 2 * a + 2 * t * (1 - t) * corner + t**2 * b
    return np.vstack([line[s < at - ROUNDED_MM], resample(middle, 0.4), line[s > at + ROUNDED_MM]])


def _piece(kind: PieceKind, edges: list[tuple[EdgeName, Points]], usual: float, darts: tuple[Dart, ...]) -> Piece:
    made = []
    for name, points in edges:
        fold = name.startswith("centre")
        mm = 0.0 if fold else 10.0 if name == "neckline" else usual
        width = Allowance(mm=mm, evidence="told")
        made.append(Edge(name=name, points=points, cut_points=points, allowance=width, on_fold=fold))
    return Piece(kind=kind, edges=tuple(made), darts=darts)


def _notch_places(above: Points, dart: Dart, rng: np.random.Generator, back: bool) -> list[float]:
    """How far from the seam's upper end its notches stand: one above the dart's point (two on a back), one below."""
    size = lengths_along(above)[-1]
    high = size * rng.uniform(0.55, 0.75)
    low = size + float(np.hypot(*(dart.legs[0] - dart.apexes[0]))) * rng.uniform(0.3, 0.6)
    return [*([high - 14.0] if back else []), high, low]


def _notches(panel: Piece, places: list[float]) -> list[Points]:
    """Where those notches stand on the cut line of a panel."""
    edge = panel.edge("panel seam")
    down = edge.points[0][1] > edge.points[-1][1]
    size = lengths_along(edge.points)[-1]
    out = []
    for place in places:
        s = place if down else size - place
        way = point_at(edge.points, s + 1.0) - point_at(edge.points, s - 1.0)
        way = way / np.hypot(*way)
        out.append(point_at(edge.points, s) + edge.allowance.mm * np.array([way[1], -way[0]]))
    return out


def _lying(panel: Piece, flipped: bool, notches: list[Points], rng: np.random.Generator, noise_mm: float) -> Tracing:
    turn, shift = float(rng.uniform(0, 360)), np.array([310.0, 270.0])
    traced = _traced(panel, turn, flipped, shift, rng, noise_mm, True, True, True)
    marks = [TracedMark(kind="notch", at=laid(at[None], turn, flipped, shift)[0], size_mm=5.0) for at in notches]
    return replace(traced, marks=(*traced.marks, *marks))


def apart_mm(found: Points, truth: Points) -> float:
    """Root mean square distance of a ring (N, 2) from the true one, after the best turn and shift."""
    true, mine = closed(truth), resample(closed(found), 2.0)
    motion, off = Motion(), np.inf
    for _ in range(12):
        there = motion.of(mine)
        feet = [nearest_on_line(true, at) for at in there]
        off = float(np.sqrt(np.mean([gap**2 for *_, gap in feet])))
        motion = fitted(mine, np.array([foot for foot, *_ in feet]))
    return off
