"""Garment measurements of a dress in one piece, bodice and skirt together, at body levels found from landmarks.

====================  ==========================================================================================
waist level           the widest place of the double-pointed waist darts; without any, where the side seam comes
                      nearest to the centre below the underarm; without that either, none
waist                 straight across at the waist level, less what the darts take there
hip                   straight across, ``waist_to_hip`` below the waist level
back waist length     on the back, nape down to the waist level
front waist length    on the front, side neck point down to the waist level
skirt length          on the front, waist level down to the hem
====================  ==========================================================================================

Everything above the underarm is taken as on a bodice. Source: common practice.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points
from convert.block.shape.landmarks import (
    across,
    across_level,
    armhole_width,
    bust_point,
    net,
    side_neck,
    underarm,
)
from convert.block.shape.shape import Shape

Shapes = Mapping[str, Shape]
Taker = Callable[[Shapes], float]
FRONT, BACK = "dress front", "dress back"
_BOTH = (FRONT, BACK)
_WAIST_BELOW_UNDERARM = (80.0, 330.0)  # where a side seam's narrowest place can be a waist, mm
_SHAPED_MM = 4.0  # how much narrower than above and below it a waist is at least


def waist_level(shape: Shape) -> float:
    """Height of the waist in the shape's own frame; NaN if nothing shows it."""
    darts = double_darts(shape)
    if darts:
        return float(np.mean([one.legs[:, 1].mean() for one in darts]))
    side = shape.ring[shape.run("side seam", "armhole")]
    down = underarm(shape)[1] - side[:, 1]
    region = np.flatnonzero((down > _WAIST_BELOW_UNDERARM[0]) & (down < _WAIST_BELOW_UNDERARM[1]))
    if not len(region):
        return float("nan")
    at = region[int(np.argmin(side[region, 0]))]
    shaped = min(side[: at + 1, 0].max(), side[at:, 0].max()) - side[at, 0] >= _SHAPED_MM
    return float(side[at, 1]) if shaped else float("nan")


def width_at(shape: Shape, height: float) -> float:
    """Distance of the side seam from the centre line at a height, less what double-pointed darts take there."""
    side = shape.ring[shape.run("side seam", "hem")]
    order = np.argsort(side[:, 1], kind="stable")
    wide = float(np.interp(height, side[order, 1], np.abs(side[order, 0])))
    return wide - sum(_taken(one.apexes, one.legs, height) for one in double_darts(shape))


def level_line(shape: Shape, height: float) -> Points:
    """The line (2, 2) straight across the piece at a height, in the shape's own frame."""
    side = shape.ring[shape.run("side seam", "hem")]
    order = np.argsort(side[:, 1], kind="stable")
    return np.array([[0.0, height], [float(np.interp(height, side[order, 1], side[order, 0])), height]])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoubleDart:
    """A double-pointed dart in the shape's own frame: apexes (2, 2), widest points (2, 2), their rows in ``inner``."""

    apexes: Points
    legs: Points
    rows: tuple[int, int]


def double_darts(shape: Shape) -> list[DoubleDart]:
    """Double-pointed darts where they lie now; a shape keeps them among its inner points."""
    darts = shape.piece.darts
    second, row = 0, sum(len(dart.apexes) - 1 for dart in darts)
    found = []
    for i, dart in enumerate(darts):
        if dart.on is None and len(dart.apexes) == 2:
            apexes = np.vstack([shape.apexes[i], shape.inner[second]])
            found.append(DoubleDart(apexes=apexes, legs=shape.inner[row : row + 2], rows=(row, row + 1)))
        second += len(dart.apexes) - 1
        row += 2 * (dart.on is None)
    return found


def _taken(apexes: Points, legs: Points, height: float) -> float:
    """Width of a double-pointed dart at a height."""
    middle, wide = float(legs[:, 1].mean()), float(np.hypot(*(legs[1] - legs[0])))
    low, high = sorted(float(apex[1]) for apex in apexes)
    if not low < height < high:
        return 0.0
    reach = high - middle if height > middle else middle - low
    return wide * max(0.0, 1.0 - abs(height - middle) / max(reach, 1e-9))


def side_to_waist(shape: Shape) -> float:
    """Sewn length of the side seam from the underarm to the waist level; NaN without a waist."""
    side = shape.run("side seam", "armhole")
    return float(np.interp(-waist_level(shape), -shape.ring[side, 1], shape.net_along(side, "side seam")))


def _all_round(taker: Callable[[Shape], float]) -> Taker:
    return lambda shapes: 2.0 * sum(taker(shapes[kind]) for kind in _BOTH)


def _armhole_depth(shapes: Shapes) -> float:
    back = shapes[BACK]
    return float(back.ring[back.corner("centre back", "neckline"), 1] - underarm(back)[1])


def _nape_to_waist(shapes: Shapes) -> float:
    back = shapes[BACK]
    return float(back.ring[back.corner("centre back", "neckline"), 1]) - waist_level(back)


def _bust_height(shapes: Shapes) -> float:
    front = shapes[FRONT]
    return float(np.hypot(*(bust_point(front) - side_neck(front))))


TAKERS: Mapping[str, tuple[tuple[str, ...], Taker]] = {
    "bust": (_BOTH, _all_round(lambda shape: across(shape, underarm(shape)))),
    "waist": (_BOTH, _all_round(lambda shape: width_at(shape, waist_level(shape)))),
    "neck": (_BOTH, _all_round(lambda shape: net(shape, "neckline"))),
    "back waist length": ((BACK,), _nape_to_waist),
    "front waist length": ((FRONT,), lambda s: float(side_neck(s[FRONT])[1]) - waist_level(s[FRONT])),
    "shoulder length": ((FRONT,), lambda s: net(s[FRONT], "shoulder")),
    "across back": ((BACK,), lambda s: 2.0 * armhole_width(s[BACK], across_level(s[BACK]))),
    "across chest": ((FRONT,), lambda s: 2.0 * armhole_width(s[FRONT], across_level(s[FRONT]))),
    "armhole depth": ((BACK,), _armhole_depth),
    "bust point distance": ((FRONT,), lambda s: 2.0 * float(bust_point(s[FRONT])[0])),
    "bust height": ((FRONT,), _bust_height),
    "armhole": (_BOTH, lambda s: sum(net(s[kind], "armhole") for kind in _BOTH)),
    "cap ease": (("sleeve", *_BOTH), lambda s: net(s["sleeve"], "cap") - sum(net(s[k], "armhole") for k in _BOTH)),
    "skirt length": ((FRONT,), lambda s: waist_level(s[FRONT]) - float(s[FRONT].ring[_low_corner(s[FRONT]), 1])),
}


def _low_corner(shape: Shape) -> int:
    return shape.corner(shape.centre, "hem")


def hip(shapes: Shapes, waist_to_hip: float) -> float:
    """Hip girth, ``waist_to_hip`` below the waist level of each piece."""
    return 2.0 * sum(width_at(shapes[kind], waist_level(shapes[kind]) - waist_to_hip) for kind in _BOTH)
