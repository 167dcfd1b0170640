"""The cap of a dart's mouth: what folding and cutting along the edge would leave.

A dart near the upright is pressed to the centre, a level one down (State Instructional Media Institute of India, Dress
Making trade practical, vol. 2); the paper is folded that way, cut along the edge that it then lies under, and unfolded.
"""

from dataclasses import replace

import numpy as np

from calibration.ground.points import Points
from convert.block.block import Check
from convert.block.shape.shape import frame_of
from convert.block.trued.limits import BETWEEN
from convert.piece.piece import Dart, Piece

_REACH_MM = 60.0  # an edge shorter than the mouth's half goes straight on by so much
_SPARSE_MM = 2.0  # between points of a cap


def with_caps(piece: Piece) -> Piece:
    """The piece with a cap on the mouth of every dart."""
    if piece.kind == "sleeve":
        return piece
    return replace(piece, darts=tuple(dart if dart.on is None else _capped(piece, dart) for dart in piece.darts))


def mouth_checks(piece: Piece) -> list[Check]:
    """How far the fold of each dart stays short of the edge that it lies under, mm."""
    if piece.kind == "sleeve":
        return []
    low, high = BETWEEN["fold of the dart reaches the edge"]
    out = []
    for dart in piece.darts:
        if dart.on is None:
            continue
        wanted = _capped(piece, dart)
        short = _middle_mm(wanted) - _middle_mm(dart)
        where = f"{piece.kind}, {dart.on} dart"
        sound = bool(low <= short <= high)
        out.append(Check(check="fold of the dart reaches the edge", value=short, limit=high, where=where, sound=sound))
    return out


def _middle_mm(dart: Dart) -> float:
    """Distance from a dart's point to its mouth along its middle."""
    apex, middle = dart.apexes[0], dart.legs.mean(0)
    axis = _unit(middle - apex)
    line = dart.legs if dart.cap is None else np.vstack([dart.legs[:1], dart.cap, dart.legs[1:]])
    side = (line - apex) @ np.array([-axis[1], axis[0]])
    order = np.argsort(side)
    return float(np.interp(0.0, side[order], ((line - apex) @ axis)[order]))


def _capped(piece: Piece, dart: Dart) -> Dart:
    frame, apex = frame_of(piece), dart.apexes[0]
    axis = dart.legs.mean(0) - apex
    level = abs(axis @ frame.out) > abs(axis @ frame.up)
    way = -frame.up if level else -frame.out
    under = int((dart.legs[1] - dart.legs[0]) @ way > 0)
    rest = _beyond(piece, dart, under)
    unit, polar = _about(apex, dart.legs[under], rest)
    side = np.sign(polar[min(5, len(polar) - 1), 1])
    half = float(np.arccos(np.clip(_unit(dart.legs[0] - apex) @ _unit(dart.legs[1] - apex), -1, 1))) / 2
    turn, far = side * polar[:, 1], polar[:, 0]
    grows = np.maximum.accumulate(turn) <= turn + 1e-12
    turn, far = turn[grows], far[grows]
    if turn[-1] < half or half < 1e-6:
        return replace(dart, cap=None)
    shares = np.linspace(0.0, half, max(4, int(half * far[0] / _SPARSE_MM)))
    reach = np.interp(shares, turn, far)
    near = _placed(apex, unit, -side * shares, reach)[1:]
    other = _placed(apex, unit, -side * (2 * half - shares[::-1]), reach[::-1])[1:-1]
    cap = np.vstack([near, other])
    return replace(dart, cap=cap if under == 0 else cap[::-1])


def _beyond(piece: Piece, dart: Dart, under: int) -> Points:
    """The edge (N, 2) from the leg under which the dart is pressed, away from its mouth, with a straight tail."""
    points = piece.edge(str(dart.on)).points
    a, b = (int(np.argmin(np.hypot(*(points - leg).T))) for leg in dart.legs)
    here, there = (a, b) if under == 0 else (b, a)
    rest = points[: here + 1][::-1] if here < there else points[here:]
    if len(rest) < 2:
        return rest
    back = rest[max(0, len(rest) - 20)]
    return np.vstack([rest, rest[-1] + _unit(rest[-1] - back) * _REACH_MM])


def _about(apex: Points, leg: Points, points: Points) -> tuple[Points, Points]:
    """Unit way along a leg, and points as (distance from the apex, signed angle from that way)."""
    unit, off = _unit(leg - apex), points - apex
    turn = np.arctan2(unit[0] * off[:, 1] - unit[1] * off[:, 0], off @ unit)
    return unit, np.column_stack([np.hypot(*off.T), turn])


def _placed(apex: Points, unit: Points, turn: Points, far: Points) -> Points:
    cos, sin = np.cos(turn), np.sin(turn)
    return np.asarray(
        apex + far[:, None] * np.column_stack([cos * unit[0] - sin * unit[1], sin * unit[0] + cos * unit[1]])
    )


def _unit(vector: Points) -> Points:
    return np.asarray(vector / max(float(np.hypot(*vector)), 1e-12))
