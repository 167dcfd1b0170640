"""A dart that is not sewn but gathered: the edge runs on across its mouth, notches say from where to where."""

from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from calibration.ground.points import Points, length, lengths_along
from convert.paper.practice.figure import Figure, Stroke, figure
from convert.piece.piece import EdgeName, Piece

BESIDE_MM = 15.0  # the notches stand this far beside the dart's legs (our choice: gathers need a little more room)
NOTCH_MM = 12.0  # as long as a notch is drawn


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """The piece drawn with its gathers: length between the notches before and after gathering, mm."""

    figure: Figure
    flat_mm: float
    sewn_mm: float


def gathered(piece: Piece, on: EdgeName) -> Gathered:
    """The widest dart of an edge turned into gathers."""
    dart = max((one for one in piece.darts if one.on == on), key=lambda one: one.intake)
    edge = piece.edge(on)
    line = edge.points
    near, far = sorted(int(np.argmin(np.hypot(*(line - leg).T))) for leg in dart.legs)
    bridge = _bridge(line, near, far)
    whole = np.vstack([line[:near], bridge, line[far + 1 :]])
    along = lengths_along(whole)
    first = max(along[near] - BESIDE_MM, 0.0)
    last = min(along[near] + length(bridge) + BESIDE_MM, float(along[-1]))
    plain = replace(
        piece,
        edges=tuple(replace(one, points=whole, cut_points=whole) if one.name == on else one for one in piece.edges),
        darts=tuple(one for one in piece.darts if one is not dart),
    )
    notches = tuple(Stroke(look="dart", points=_notch(whole, along, at)) for at in (first, last))
    flat = float(last - first)
    return Gathered(figure=figure(plain, more=notches, bust=False), flat_mm=flat, sewn_mm=flat - length(bridge))


def _bridge(line: Points, near: int, far: int) -> Points:
    """The edge across the dart's mouth (N, 2), leaving and arriving as the edge runs beside it."""
    reach = 20
    before = line[near] - line[max(near - reach, 0)]
    after = line[min(far + reach, len(line) - 1)] - line[far]
    gap = float(np.hypot(*(line[far] - line[near])))
    ways = [way / max(float(np.hypot(*way)), 1e-9) * gap for way in (before, after)]
    spline = CubicHermiteSpline([0.0, 1.0], np.vstack([line[near], line[far]]), np.vstack(ways))
    return np.asarray(spline(np.linspace(0.0, 1.0, 40)))


def _notch(line: Points, along: Points, at: float) -> Points:
    """A short line (2, 2) square to the edge, at a length along it."""
    here, there = (np.array([np.interp(s, along, line[:, k]) for k in (0, 1)]) for s in (at, at + 1.0))
    if float(np.hypot(*(there - here))) < 1e-6:
        here, there = np.array([np.interp(at - 1.0, along, line[:, k]) for k in (0, 1)]), here
    way = (there - here) / np.hypot(*(there - here))
    square = np.array([-way[1], way[0]]) * NOTCH_MM / 2
    return np.vstack([here - square, here + square])
