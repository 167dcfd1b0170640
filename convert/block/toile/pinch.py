"""A neckline or an armhole that gapes: the fold pinned out of it goes into the nearest dart.

Folds shared along the edge run to the dart's own point (on a front the bust point); the paper between edge and dart
turns about it and the dart opens by the same angle, so that the sewn edge grows shorter and nothing else changes.
Source: the trade's usual alteration, common practice.
"""

from functools import partial

import numpy as np
from scipy.optimize import brentq

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from convert.block.moves.change import Change, Rule
from convert.block.shape.landmarks import bust_point, net
from convert.block.shape.shape import Indices, Shape, Weights, ramp
from convert.block.shape.truing import corner_angles, true_corners, true_dart_legs
from convert.piece.piece import EdgeName

_WIDEST_TURN = 0.5  # radians: far more than anybody pinches


def _pinch(shape: Shape, amount: float, on: EdgeName) -> Change:
    """Edge shorter by ``amount``, the nearest dart on another edge wider by as much of an angle."""
    darts = [i for i, legs in enumerate(shape.legs) if legs[0] >= 0 and i not in shape.darts_on(on)]
    if not darts:
        raise InputError(
            f"The {shape.piece.kind} has no dart that could take up what is pinched out of its {on}.",
            "Give it a dart, or take the amount in at the shoulder or the side seam.",
        )
    arcs = {dart: _arc(shape, on, dart) for dart in darts}
    dart = min(darts, key=lambda i: len(arcs[i]))
    pivot = bust_point(shape) if shape.piece.kind == "bodice front" else shape.apexes[dart]
    weights = _weights(shape, on, arcs[dart])
    wanted, angles = net(shape, on) - amount, corner_angles(shape)

    def miss(angle: float) -> float:
        trued = true_corners(true_dart_legs(_turned(shape, weights, pivot, angle)), angles)
        return net(trued, on) - wanted  # as it will be when its corners are trued, which takes a little too

    try:
        angle = float(brentq(miss, -_WIDEST_TURN, _WIDEST_TURN))
    except ValueError as err:
        raise InputError(
            f"The {on} of the {shape.piece.kind} can't be changed by so much.", "Pin less, or look for another cause."
        ) from err
    run = shape.run(on, shape.names[(shape.names.index(on) + 1) % len(shape.names)])
    ends = (shape.ring[run[len(run) // 2]], shape.ring[shape.legs[dart]].mean(0))
    cuts = tuple(np.vstack([end, pivot]) for end in ends)
    return Change(after=_turned(shape, weights, pivot, angle), cuts=cuts, hinges=np.asarray(pivot)[None])


def _arc(shape: Shape, on: EdgeName, dart: int) -> Indices:
    """Ring indices from the edge to the dart's nearer leg, the edge included, on the side away from the centre line."""
    count, i = len(shape.ring), shape.names.index(on)
    first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
    a, b = (int(leg) for leg in shape.legs[dart])
    ahead = np.arange(first, a + (count if a < first else 0) + 1) % count
    behind = np.arange(b, last + (count if last < b else 0) + 1) % count
    k = shape.names.index(shape.centre)
    start, end = shape.starts[k], shape.starts[(k + 1) % len(shape.starts)]
    middle = (start + (end - start) % count // 2) % count
    return behind if middle in ahead else ahead


def _weights(shape: Shape, on: EdgeName, arc: Indices) -> Weights:
    """Share of the turn for every point of the outline: none before the edge, growing along it, all of it beyond."""
    weights = np.zeros(len(shape.ring))
    weights[arc] = 1.0
    i = shape.names.index(on)
    first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
    count = len(shape.ring)
    run = np.arange(first, last + (count if last <= first else 0) + 1) % count
    run = run if arc[0] == first else run[::-1]
    along = shape.net_along(run, on)
    weights[run] = ramp(along, 0.0, float(along[-1]))
    return weights


def _turned(shape: Shape, weights: Weights, pivot: Points, angle: float) -> Shape:
    """The shape with every point turned about ``pivot`` by its share of ``angle``; darts within turn along."""
    ring = _spun(shape.ring, pivot, weights * angle)
    apexes = shape.apexes.copy()
    for i, legs in enumerate(shape.legs):
        if legs[0] < 0:
            continue
        a, b = (int(leg) for leg in legs)
        inside = np.arange(a, b + (len(ring) if b < a else 0) + 1) % len(ring)
        ring[inside] = ring[a] + np.linspace(0.0, 1.0, len(inside))[:, None] * (ring[b] - ring[a])
        if weights[a] == weights[b]:  # not the dart that opens: its point stays
            apexes[i] = _spun(apexes[i : i + 1], pivot, weights[legs[:1]] * angle)[0]
    return shape.moved(ring=ring, apexes=apexes)


def _spun(points: Points, pivot: Points, angles: Weights) -> Points:
    """Points (N, 2), each turned about ``pivot`` by its own angle (radians)."""
    out = points - pivot
    cos, sin = np.cos(angles), np.sin(angles)
    return np.column_stack([cos * out[:, 0] - sin * out[:, 1], sin * out[:, 0] + cos * out[:, 1]]) + pivot


def pinch(on: EdgeName) -> Rule:
    """The rule for a fold pinned out of an edge that gapes."""
    return Rule(
        name=f"pinch the {on}",
        where=f"from the {on} to the point of the nearest dart",
        more=f"Fold {{amount}} out of the {on}, to nothing at the point the dart aims at, and let the dart open. Draw "
        f"the {on} smooth.",
        less=f"Cut from the {on} to the point the dart aims at and open it by {{amount}} at the {on}; the dart closes. "
        f"Draw the {on} smooth.",
        make=partial(_pinch, on=on),
    )
