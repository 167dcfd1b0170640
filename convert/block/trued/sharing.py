"""Darts too wide to be sewn well are split or shared, before the lines are drawn.

A dart that takes more than about 1 1/2 in stands off in a point; two small ones are better than one (US Department of
Agriculture, Fitting Dresses; State Instructional Media Institute of India, Dress Making trade practical, vol. 2). A
bust dart may take up to 2 1/2 in (Ingalls, fitted lining). Rule: a front's dart gives half to the side seam, or from
there to the waist, is split at the waist where both are wide, and gives half to the shoulder where that is not enough;
other darts are split. What a skirt takes in from hip to waist
is taken by side seams and darts, about half each (Pattern Studio 101: 52 % at the sides).
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from convert.block.block import Move
from convert.block.moves.change import Change, Rule, recorded
from convert.block.moves.darts import move_dart, split_dart
from convert.block.shape.landmarks import net, side_at
from convert.block.shape.shape import Shape, piece_of, shape_of
from convert.block.shape.truing import true_dart_legs
from convert.body.card import LengthUnit
from convert.piece.piece import EdgeName

_SKIRT_SHARE = (0.38, 0.62)  # of what is taken from hip to waist, that darts take: the sides' share and its band
_ROOM_MM = 34.0  # between two darts, and from one to the side seam
_MOST_SPLITS = 4
_AT_MOST = 1.12  # of the widest: what darts may take that are shared already, 24 degrees, before a third place opens
_MOST_AT_WAIST = 2  # darts of a front that share the waist
_PARTLY = 0.5  # of a dart that is shared
_LAST_PLACE: EdgeName = "shoulder"  # where a very full bust's darts go that fill waist and side seam


@dataclass(frozen=True, slots=True, kw_only=True)
class _Widest:
    """Most intake (mm) and angle (degrees) of one dart."""

    mm: float
    deg: float


_WIDEST: Mapping[str, _Widest] = {
    "bodice front": _Widest(mm=54.0, deg=21.5),
    "bodice back": _Widest(mm=34.0, deg=16.0),
    "skirt front": _Widest(mm=29.0, deg=16.3),
    "skirt back": _Widest(mm=34.0, deg=16.3),
}


def share_darts(
    shapes: Mapping[str, Shape], hip_mm: float, places: str | None, *, unit: LengthUnit = "cm"
) -> tuple[dict[str, Shape], tuple[Move, ...]]:
    """Shapes whose darts are narrow enough, and the moves. ``places``: where the front's fullness was asked to go."""
    out, moves = dict(shapes), []
    factor = _skirt_factor(shapes, hip_mm)
    for kind in ("bodice front", "bodice back", "skirt front", "skirt back"):
        for _ in range(_MOST_SPLITS if kind in out else 0):
            shape = true_dart_legs(out[kind])
            wide = _too_wide(shape, factor if kind.startswith("skirt") else 1.0)
            wide = _lone(shape, out.get(kind.replace("skirt", "bodice"))) if wide is None else wide
            made = None if wide is None else _relieved(shape, wide, places, unit)
            if made is None:
                break
            out[kind], move = made
            moves.append(move)
    return out, tuple(moves)


def _skirt_factor(shapes: Mapping[str, Shape], hip_mm: float) -> float:
    """How much wider a skirt's darts become for side seams and darts to share what is taken in."""
    halves = [shape for kind, shape in shapes.items() if kind.startswith("skirt")]
    taken = sum(side_at(shape, -hip_mm) - net(shape, "waist") for shape in halves)
    darts = sum(_size(shape, i)[0] for shape in halves for i in shape.darts_on("waist"))
    if taken < 20.0 or darts < 1.0:
        return 1.0
    return float(np.clip(darts, _SKIRT_SHARE[0] * taken, _SKIRT_SHARE[1] * taken) / darts)


def _size(shape: Shape, dart: int) -> tuple[float, float]:
    """Intake (mm) and angle (degrees) of a dart."""
    arms = shape.ring[shape.legs[dart]] - shape.apexes[dart]
    far = np.maximum(np.hypot(*arms.T), 1e-9)
    turn = np.arccos(np.clip(arms[0] @ arms[1] / far.prod(), -1.0, 1.0))
    return float(np.hypot(*(arms[1] - arms[0]))), float(np.degrees(turn))


def _too_wide(shape: Shape, factor: float) -> int | None:
    """The dart that goes furthest beyond what one may take, if any does."""
    limit = _WIDEST[shape.piece.kind]
    excess = []
    for i, dart in enumerate(shape.piece.darts):
        if shape.legs[i, 0] >= 0 and not (shape.piece.kind == "bodice back" and dart.on != "waist"):
            mm, deg = _size(shape, i)
            excess.append((max(mm * factor / limit.mm, deg * factor / limit.deg), i))
    worst = max(excess, default=(0.0, -1))
    shared = len(shape.darts_on("waist")) >= _MOST_AT_WAIST and bool(shape.darts_on("side seam"))
    return worst[1] if worst[0] > (_AT_MOST if shared else 1.0) else None


def _lone(shape: Shape, above: Shape | None) -> int | None:
    """A skirt's widest dart where the bodice above has more: a skirt dart lies under each of them."""
    own = shape.darts_on("waist")
    if not shape.piece.kind.startswith("skirt") or above is None or not own or len(own) >= len(above.darts_on("waist")):
        return None
    return max(own, key=lambda i: _size(shape, i)[0])


def _relieved(shape: Shape, dart: int, places: str | None, unit: LengthUnit) -> tuple[Shape, Move] | None:
    """One step: part of a front's dart moved to another edge, or a dart split in two; None where there is no room."""
    on = shape.piece.darts[dart].on
    front = shape.piece.kind == "bodice front"
    to = _other_place(shape, dart, places) if front else None
    if to is None and on == "waist" and not (front and len(shape.darts_on("waist")) >= _MOST_AT_WAIST):
        split = _split(shape, dart, unit)
        if split is not None:
            return split
    if to is None and front and on != _LAST_PLACE and not shape.darts_on(_LAST_PLACE):
        to = _LAST_PLACE
    if to is None:
        return None
    piece, move = move_dart(piece_of(shape), dart, to, part=_PARTLY, unit=unit)
    return true_dart_legs(shape_of(piece)), move


def _other_place(shape: Shape, dart: int, places: str | None) -> EdgeName | None:
    """Where part of a front's dart goes: side seam and waist share; a waist that was asked for is split first."""
    on = shape.piece.darts[dart].on
    to: EdgeName = "side seam" if on == "waist" else "waist"
    several = len(shape.darts_on("waist")) >= _MOST_AT_WAIST
    if on == "waist" and places == "waist" and not several:
        return None
    there = [_fullness(shape, i) for i in shape.darts_on(to)]
    return to if max(there, default=0.0) + _fullness(shape, dart) / 2 < 1.0 else None


def _fullness(shape: Shape, dart: int) -> float:
    """A dart as a share of the widest that one may be."""
    limit, (mm, deg) = _WIDEST[shape.piece.kind], _size(shape, dart)
    return max(mm / limit.mm, deg / limit.deg)


def _split(shape: Shape, dart: int, unit: LengthUnit) -> tuple[Shape, Move] | None:
    """A waist dart made two: the second one towards the side seam if there is room, else towards the centre."""
    run = shape.run("waist", shape.centre)
    along = shape.net_along(run, "waist")
    mouths = shape.mouths(run, "waist")
    k = next(k for k, mouth in enumerate(mouths) if mouth[0] == dart)
    near, far = mouths[k][1], mouths[k][2]
    low = along[mouths[k - 1][2]] if k else 0.0
    high = along[mouths[k + 1][1]] if k + 1 < len(mouths) else along[-1]
    rooms = (along[near] - low, high - along[far])
    outwards = rooms[1] >= 2 * _ROOM_MM or rooms[1] >= rooms[0]
    room = rooms[1] if outwards else rooms[0]
    if room < 1.2 * _ROOM_MM:
        return None
    step = float(np.clip(room / 2, 0.6 * _ROOM_MM, 1.3 * _ROOM_MM))
    at = along[far] + step if outwards else along[near] - step
    index = int(np.searchsorted(along, at))
    words = "Split the waist dart in two: close half of it and open {amount} beside it, about the same point."
    rule = Rule(name="split the dart", where="waist", more=words, less=words, make=lambda s, _a: Change(after=s))
    change = split_dart(shape, dart, shape.ring[run[index]])
    mm = _size(change.after, len(change.after.apexes) - 1)[0]
    return true_dart_legs(shape_of(piece_of(change.after))), recorded(rule, mm, shape, change, unit=unit)
