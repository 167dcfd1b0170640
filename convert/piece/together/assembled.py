"""The edges of parts laid together, strung into the outline of one piece."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.points import Points, as_points, resample
from convert.piece.allowance.offset import APART_STRAIGHT_MM, peaked
from convert.piece.names.kinds import KINDS
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Evidence, Mark, Piece, PieceKind

MOUTH_MM = 2.5
"""Edges whose ends lie nearer than this when their parts are laid together run on; what is wider is a dart's mouth."""
_WEAKEST: tuple[Evidence, ...] = ("measured", "told", "deduced", "assumed")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ring:
    """Edges in order round a piece, and the mouths (2, 2) left in them, each with the edge it lies on."""

    edges: tuple[Edge, ...]
    mouths: tuple[tuple[EdgeName, Points], ...]


def edges_after(piece: Piece, *seams: EdgeName) -> list[Edge]:
    """A part's edges in order, from the one after its seam to the one before."""
    names = [edge.name for edge in piece.edges]
    last = max((names.index(seam) for seam in seams), key=lambda k: names[(k + 1) % len(names)] not in seams, default=0)
    order = [piece.edges[(last + 1 + k) % len(names)] for k in range(len(names))]
    return [edge for edge in order if edge.name not in seams]


def bare(edge: Edge) -> Edge:
    """The edge on its seam line, without allowance; how sure that line is stays."""
    had = edge.allowance
    return replace(edge, cut_points=edge.points, allowance=replace(had, mm=0.0))


def bared(piece: Piece) -> Piece:
    """The piece without seam allowance: cut where it is sewn, darts with the peaks they leave when folded."""
    return replace(piece, edges=tuple(_with_peaks(bare(edge), piece.darts) for edge in piece.edges))


def strung(chains: Sequence[Sequence[Edge]]) -> Ring:
    """Chains of edges, each end to end, strung into a ring.

    Where one chain's last edge and the next one's first have one name they become one edge; a gap between them is left
    as a mouth, crossed straight. Where the names differ, the two meet in a corner halfway.
    """
    edges: list[Edge] = []
    mouths: list[tuple[EdgeName, Points]] = []
    for chain in chains:
        for k, edge in enumerate(chain):
            edge = bare(edge)
            if k == 0 and edges:
                edges[-1:] = _joined(edges[-1], edge, mouths)
            else:
                edges.append(edge)
    if len(edges) > 1:
        *middle, last = edges[1:]
        both = _joined(last, edges[0], mouths)
        edges = [*both, *middle] if len(both) == 1 else [both[1], *middle, both[0]]
    return Ring(edges=tuple(edges), mouths=tuple(mouths))


def _joined(one: Edge, other: Edge, mouths: list[tuple[EdgeName, Points]]) -> list[Edge]:
    """Two edges that follow one another, as one edge or as two with a common corner."""
    a, b = one.points, other.points
    gap = float(np.hypot(*(b[0] - a[-1])))
    if one.name == other.name and gap > MOUTH_MM:
        across = resample(np.array([a[-1], b[0]]), APART_STRAIGHT_MM)
        mouths.append((one.name, np.array([a[-1], b[0]])))
        return [_edge(one, other, np.vstack([a, across[1:-1], b]))]
    at = (a[-1] + b[0]) / 2
    a, b = np.vstack([a[:-1], at]), np.vstack([at, b[1:]])
    if one.name == other.name:
        return [_edge(one, other, np.vstack([a, b[1:]]))]
    return [replace(one, points=a, cut_points=a), replace(other, points=b, cut_points=b)]


def _edge(one: Edge, other: Edge, points: Points) -> Edge:
    sure = sorted((one.allowance, other.allowance), key=lambda a: (_WEAKEST.index(a.evidence), a.uncertainty_mm))
    allowance = Allowance(
        mm=0.0,
        evidence=sure[-1].evidence,
        uncertainty_mm=max(a.uncertainty_mm for a in sure),
        why=sure[-1].why,
    )
    return replace(one, points=points, cut_points=points, allowance=allowance, on_fold=one.on_fold and other.on_fold)


def piece_of(
    whole: PieceKind, ring: Ring, parts: Sequence[Piece], darts: Sequence[Dart], *, joined: Sequence[EdgeName]
) -> Piece:
    """The whole piece from its outline and its parts as they lie; the first part's grain holds.

    Notches on the seams that were ``joined`` are gone with them.
    """
    order = KINDS[whole].edges
    first = next((k for k, edge in enumerate(ring.edges) if edge.name == order[0]), 0)
    marks = tuple(mark for part in parts for mark in part.marks if _stays(mark, part is parts[0], joined))
    placed = tuple(sorted(darts, key=lambda dart: _place(ring, dart)))
    edges = (_with_peaks(edge, placed) for edge in ring.edges[first:] + ring.edges[:first])
    return Piece(
        kind=whole,
        edges=tuple(edges),
        darts=placed,
        marks=marks,
        grainline=parts[0].grainline,
        uncertainty_mm=float(np.hypot.reduce([part.uncertainty_mm for part in parts])),
        scale_uncertainty=max(part.scale_uncertainty for part in parts),
        complete=all(part.complete for part in parts),
        notes=tuple(dict.fromkeys(note for part in parts for note in part.notes)),
    )


def _with_peaks(edge: Edge, darts: Sequence[Dart]) -> Edge:
    own = [dart for dart in darts if dart.on == edge.name]
    return replace(edge, cut_points=peaked(edge.points, own)) if own else edge


def _stays(mark: Mark, of_first: bool, joined: Sequence[EdgeName]) -> bool:
    if mark.kind == "grain-end":
        return of_first
    return mark.kind != "notch" or mark.on not in joined


def _place(ring: Ring, dart: Dart) -> tuple[int, float]:
    """Where a dart stands round the outline."""
    for k, edge in enumerate(ring.edges):
        if edge.name == dart.on:
            return k, float(np.argmin(np.hypot(*(edge.points - dart.legs[0]).T)))
    return len(ring.edges), 0.0


def darts_in(ring: Ring, point: Points, evidence: Evidence = "measured") -> list[Dart]:
    """A dart for each mouth that was left, all with one point (2,)."""
    return [Dart(on=name, apexes=as_points(point), legs=legs, evidence=evidence) for name, legs in ring.mouths]
