"""Pivoting a dart to another place, splitting it, joining it to another: the sewn shape stays.

The paper is cut from the new place to the pivot (the bust point on a front, the apex elsewhere); the old dart is
closed, wholly or in part, by turning the paper between the two about the pivot, and the new place opens by the same
angle. A dart's angle is 2 asin(w / 2L) for intake w and legs L, so the intake grows with the length of the legs.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.plane import turned
from calibration.ground.points import Points
from convert.block.block import Move
from convert.block.moves.change import Change, Rule, recorded, require_whole
from convert.block.shape.landmarks import bust_point
from convert.block.shape.opening import share_point, with_new_dart
from convert.block.shape.shape import Indices, Shape, shape_of
from convert.block.shape.truing import true_dart_legs
from convert.body.card import LengthUnit
from convert.piece.piece import Dart, EdgeName, Piece

_USUAL_SHARE = {"side seam": 0.25, "shoulder": 0.5, "neckline": 0.5, "armhole": 0.6, "waist": 0.4}
_CLOSED_MM = 1e-6


def move_dart(
    piece: Piece,
    dart: int,
    to: EdgeName,
    *,
    part: float = 1.0,
    share: float | None = None,
    unit: LengthUnit = "cm",
) -> tuple[Piece, Move]:
    """Pivot a dart, or ``part`` of it, to another edge; into the dart that is there, or a new one.

    Parameters
    ----------
    dart
        Its number in ``piece.darts``.
    share
        Where a new dart lies along the edge, 0 to 1 from the edge's end nearer to the neck or the centre.

    Raises
    ------
    InputError
        If the dart cannot be moved there.
    """
    if not 0 < part <= 1:
        raise ValueError(f"a part of a dart lies above 0 and at most at 1, got {part}")
    if not piece.has(to) or to.startswith("centre") or piece.darts[dart].on in (None, to):
        raise InputError(
            f"The dart of the {piece.kind} can't be moved to the {to}.",
            "Choose another of its edges: waist, side seam, armhole, shoulder or neckline.",
        )
    shape = shape_of(piece)
    change = pivot_dart(shape, dart, to, part=part, share=share)
    opened = _intakes(change.after) - _intakes(change.before if change.before is not None else shape)
    amount = float(opened.max())
    what = "Close the dart" if part == 1 else "Close part of the dart"
    words = f"{what} at the {piece.darts[dart].on} and let the {to} open by {{amount}} about the same point."
    rule = Rule(
        name="pivot the dart", where=f"to the {to}", more=words, less=words, make=lambda _shape, _amount: change
    )
    move = recorded(rule, amount, shape, change, unit=unit)
    require_whole(move.after, rule.name)
    return without_closed_darts(move.after), move


def without_closed_darts(piece: Piece) -> Piece:
    """The piece less darts that have no intake left."""
    return replace(piece, darts=tuple(d for d in piece.darts if d.on is None or d.intake > _CLOSED_MM))


def pivot_dart(shape: Shape, dart: int, to: EdgeName, *, part: float = 1.0, share: float | None = None) -> Change:
    """The same on a shape; a dart closed wholly stays as one without intake."""
    pivot = _pivot(true_dart_legs(shape), dart)
    before = shape
    there = before.darts_on(to)
    if not there:
        start = _start(shape, to)
        at = share_point(shape, to, start, _USUAL_SHARE.get(to, 0.5) if share is None else share)
        before = with_new_dart(shape, to, at, pivot)
        there = (len(before.apexes) - 1,)
    other = min(there, key=lambda i: float(np.hypot(*(before.apexes[i] - pivot))))
    return _pivoted(before, dart, other, pivot, part, known=len(shape.apexes))


def split_dart(shape: Shape, dart: int, at: Points) -> Change:
    """Half of a dart let out again on the same edge at the point nearest to ``at``: two narrow darts for a wide one.

    A front's aim at its bust point both; elsewhere the new one's point lies beside the old one's.
    """
    pivot, on = _pivot(true_dart_legs(shape), dart), shape.piece.darts[dart].on
    assert on is not None
    before = with_new_dart(shape, on, at, pivot)
    change = _pivoted(before, dart, len(before.apexes) - 1, pivot, 0.5, known=len(shape.apexes))
    if shape.piece.kind == "bodice front":
        return change
    after = change.after
    apexes = after.apexes.copy()
    apexes[-1] = apexes[dart] + after.ring[after.legs[-1]].mean(0) - after.ring[after.legs[dart]].mean(0)
    return replace(change, after=after.moved(apexes=apexes))


def _pivoted(before: Shape, dart: int, other: int, pivot: Points, part: float, *, known: int) -> Change:
    """Part of a dart closed about a point, another one opened by as much; darts from ``known`` on are new."""
    arc, moving, still = _between(before, dart, other)
    paper = true_dart_legs(before)
    arms = paper.ring[[moving, still]] - pivot
    angle = part * float(np.arctan2(arms[0, 0] * arms[1, 1] - arms[0, 1] * arms[1, 0], arms[0] @ arms[1]))
    ring = paper.ring.copy()
    ring[arc] = turned(ring[arc], pivot, angle)
    for i in (dart, other):
        _straighten(before, ring, i)
    apexes = before.apexes.copy()
    short = float(np.hypot(*(apexes[dart] - pivot)))
    for i in (dart, other):
        if i == other and i < known:
            short = float(np.hypot(*(before.apexes[i] - pivot)))
        apexes[i] = _short_of(pivot, ring[before.legs[i]].mean(0), short)
    for i in range(len(apexes)):  # darts on the paper that turned go with it
        if i not in (dart, other) and before.legs[i, 0] in arc:
            apexes[i] = turned(apexes[i : i + 1], pivot, angle)[0]
    cut = np.vstack([before.ring[before.legs[other]].mean(0), pivot])
    return Change(before=before, after=before.moved(ring=ring, apexes=apexes), cuts=(cut,), hinges=pivot[None])


def _pivot(shape: Shape, dart: int) -> Points:
    """Point about which the paper turns: on the dart's own axis, beside the bust point or at the apex."""
    apex = shape.apexes[dart]
    if shape.piece.kind != "bodice front":
        return np.asarray(apex)
    middle = shape.ring[shape.legs[dart]].mean(0)
    axis = (apex - middle) / np.hypot(*(apex - middle))
    return np.asarray(middle + axis * max(float((bust_point(shape) - middle) @ axis), float((apex - middle) @ axis)))


def _start(shape: Shape, to: str) -> str:
    """The neighbour from which a share along an edge is counted."""
    order = {"neckline": shape.centre, "shoulder": "neckline", "armhole": "shoulder", "side seam": "armhole"}
    return order.get(to, shape.centre) if shape.has(order.get(to, shape.centre)) else "waist"


def _between(shape: Shape, one: int, other: int) -> tuple[Indices, int, int]:
    """Ring indices between two mouths, away from the centre line; the leg of ``one`` there, its other leg."""
    count = len(shape.ring)

    def forward(a: int, b: int) -> Indices:
        return np.arange(a, b + (count if b < a else 0) + 1) % count

    first = shape.legs[one]
    ahead, behind = forward(first[1], shape.legs[other][0]), forward(shape.legs[other][1], first[0])
    middle = shape.run(shape.centre, shape.names[shape.names.index(shape.centre) - 1])
    if int(middle[len(middle) // 2]) in ahead:
        return behind, int(first[0]), int(first[1])
    return ahead, int(first[1]), int(first[0])


def _straighten(shape: Shape, ring: Points, dart: int) -> None:
    a, b = (int(leg) for leg in shape.legs[dart])
    inside = np.arange(a, b + (len(ring) if b < a else 0) + 1) % len(ring)
    ring[inside] = ring[a] + np.linspace(0.0, 1.0, len(inside))[:, None] * (ring[b] - ring[a])


def _short_of(pivot: Points, mouth: Points, short: float) -> Points:
    way = mouth - pivot
    reach = max(float(np.hypot(*way)), 1e-9)
    return np.asarray(pivot + min(short, 0.8 * reach) * way / reach)


def _intakes(shape: Shape) -> Points:
    ends: Sequence[Points] = [shape.ring[legs] if legs[0] >= 0 else np.zeros((2, 2)) for legs in shape.legs]
    return np.array([float(np.hypot(*(legs[1] - legs[0]))) for legs in ends])


def dart_angle(dart: Dart) -> float:
    """Angle (radians) between a dart's legs at its apex."""
    arms = dart.legs - dart.apexes[0]
    return float(np.arccos(np.clip(arms[0] @ arms[1] / np.prod(np.hypot(*arms.T)), -1, 1)))
