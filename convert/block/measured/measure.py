"""Garment measurements of a set of pieces on the seam line, darts closed, across pieces.

Girths go all the way round (each half piece counts twice), heights and lengths are single. What is measured where:

====================  ==========================================================================================
bust                  level with the underarm point, square to the centre line, less what darts open there take
waist, neck           along the seam line, mouths of darts left out
hip                   ``waist_to_hip`` below the top of the skirt's centre line, square to the centre line
back waist length     along the centre back
front waist length    from the side neck point down to where the centre front meets the waist, along the centre line
shoulder length       front shoulder, darts closed
across back           twice the distance of the armhole from the centre line, midway between nape and underarm level
across chest          the same on the front, midway between shoulder point and underarm level
armhole depth         from nape level down to the underarm level of the back
bust point            where the axes of the front's darts meet; on a single dart 25 mm beyond its apex
upper arm             between the two ends of the cap
arm length            from the top of the cap to the wrist; a sleeve shorter than 42 cm ends above it, so that its
                      length and lower edge are taken as "sleeve length" and "sleeve hem", and are no arm's
cap ease              cap less both armholes
====================  ==========================================================================================

A dress in one piece is measured likewise, at its own waist level (:mod:`convert.block.dress`).

Source of the definitions: common practice for bust; ISO 8559-1 names and levels elsewhere; the distance of a
dart's apex from the bust point is common practice.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from convert.block.block import Measured
from convert.block.measured.allowance_doubt import allowance_doubts
from convert.block.shape import dress
from convert.block.shape.landmarks import (
    SHORT_OF_BUST_POINT,
    across,
    across_level,
    armhole_width,
    bust_point,
    cap_height,
    net,
    side_neck,
    underarm,
    width_below_waist,
    wrist_middle,
    wrist_name,
)
from convert.block.shape.shape import Shape, shape_of
from convert.piece.piece import Piece

SHORT_SLEEVE_MM = (
    420.0  # cap to hem; an arm is 48 to 65 cm long (ANSUR II: 50 to 59), a three-quarter sleeve ends there
)
Shapes = Mapping[str, Shape]
Taker = Callable[[Shapes], float]


def measure(pieces: Sequence[Piece], *, waist_to_hip: float | None = None) -> tuple[Measured, ...]:
    """Measure a set of pieces.

    Parameters
    ----------
    pieces
        At most one of each kind, on the seam line.
    waist_to_hip
        Height from waist to hip, mm; without it no hip is taken.

    Returns
    -------
    tuple of Measured
        What these pieces can tell, in the order of the table above; ``uncertainty_mm`` is half a 95 % interval from
        the outline's, the scale's and the seam allowances' uncertainty.
    """
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    found = measure_shapes(shapes, waist_to_hip=waist_to_hip)
    seam = allowance_doubts(shapes, lambda nudged: measure_shapes(nudged, waist_to_hip=waist_to_hip))
    return tuple(
        Measured(name=name, mm=mm, uncertainty_mm=float(np.hypot(_uncertainty(name, mm, shapes), seam[name])))
        for name, mm in found.items()
    )


def measure_shapes(shapes: Shapes, *, waist_to_hip: float | None = None) -> dict[str, float]:
    """The same on shapes, without uncertainties."""
    takers = TAKERS if not any(kind.startswith("dress") for kind in shapes) else {**dress.TAKERS, **_there(shapes)}
    out = {name: taker(shapes) for name, (needs, taker) in takers.items() if all(kind in shapes for kind in needs)}
    if waist_to_hip and "skirt front" in shapes and "skirt back" in shapes:
        out["hip"] = 2.0 * sum(width_below_waist(shapes[kind], waist_to_hip) for kind in ("skirt front", "skirt back"))
    elif waist_to_hip and dress.FRONT in shapes and dress.BACK in shapes:
        out["hip"] = dress.hip(shapes, waist_to_hip)
    return {name: mm for name, mm in out.items() if np.isfinite(mm)}


def _there(shapes: Shapes) -> dict[str, tuple[tuple[str, ...], Taker]]:
    """What can be taken of these shapes without a dress."""
    return {name: (needs, taker) for name, (needs, taker) in TAKERS.items() if all(kind in shapes for kind in needs)}


def _needed(name: str, shapes: Shapes) -> tuple[str, ...]:
    """The pieces that a measurement was taken on."""
    if name == "hip":
        what = "skirt" if "skirt front" in shapes else "dress"
        return (f"{what} front", f"{what} back")
    needs = TAKERS[name][0]
    return needs if all(kind in shapes for kind in needs) else dress.TAKERS[name][0]


def _sleeve_length(shapes: Shapes) -> float:
    sleeve = shapes["sleeve"]
    return cap_height(sleeve) - wrist_middle(sleeve)


def _lower_edge(shapes: Shapes) -> float:
    return net(shapes["sleeve"], wrist_name(shapes["sleeve"]))


def _if_long(shapes: Shapes, mm: float) -> float:
    return mm if _sleeve_length(shapes) >= SHORT_SLEEVE_MM else float("nan")


def _if_short(shapes: Shapes, mm: float) -> float:
    return mm if _sleeve_length(shapes) < SHORT_SLEEVE_MM else float("nan")


def _front_length(shapes: Shapes) -> float:
    front = shapes["bodice front"]
    return float(side_neck(front)[1] - front.ring[front.corner("centre front", "waist"), 1])


def _bust_height(shapes: Shapes) -> float:
    front = shapes["bodice front"]
    return float(np.hypot(*(bust_point(front) - side_neck(front))))


def _armhole_depth(shapes: Shapes) -> float:
    back = shapes["bodice back"]
    return float(back.ring[back.corner("centre back", "neckline"), 1] - underarm(back)[1])


def _cap_ends(shapes: Shapes) -> float:
    run = shapes["sleeve"].run("cap", "underarm seam front")
    ends = shapes["sleeve"].ring[run[[0, -1]]]
    return float(np.hypot(*(ends[1] - ends[0])))


def _both(taker: Callable[[Shape], float], what: str = "bodice") -> Taker:
    return lambda shapes: 2.0 * sum(taker(shapes[f"{what} {side}"]) for side in ("front", "back"))


_FRONT, _BACK = ("bodice front",), ("bodice back",)
_BODICE = _FRONT + _BACK
TAKERS: dict[str, tuple[tuple[str, ...], Taker]] = {
    "bust": (_BODICE, _both(lambda shape: across(shape, underarm(shape)))),
    "waist": (_BODICE, _both(lambda shape: net(shape, "waist"))),
    "neck": (_BODICE, _both(lambda shape: net(shape, "neckline"))),
    "back waist length": (_BACK, lambda shapes: net(shapes["bodice back"], "centre back")),
    "front waist length": (_FRONT, _front_length),
    "shoulder length": (_FRONT, lambda shapes: net(shapes["bodice front"], "shoulder")),
    "across back": (_BACK, lambda s: 2.0 * armhole_width(s["bodice back"], across_level(s["bodice back"]))),
    "across chest": (_FRONT, lambda s: 2.0 * armhole_width(s["bodice front"], across_level(s["bodice front"]))),
    "armhole depth": (_BACK, _armhole_depth),
    "bust point distance": (_FRONT, lambda shapes: 2.0 * float(bust_point(shapes["bodice front"])[0])),
    "bust height": (_FRONT, _bust_height),
    "armhole": (_BODICE, lambda s: net(s["bodice front"], "armhole") + net(s["bodice back"], "armhole")),
    "upper arm": (("sleeve",), _cap_ends),
    "wrist": (("sleeve",), lambda shapes: _if_long(shapes, _lower_edge(shapes))),
    "arm length": (("sleeve",), lambda shapes: _if_long(shapes, _sleeve_length(shapes))),
    "sleeve length": (("sleeve",), lambda shapes: _if_short(shapes, _sleeve_length(shapes))),
    "sleeve hem": (("sleeve",), lambda shapes: _if_short(shapes, _lower_edge(shapes))),
    "cap ease": (
        ("sleeve", *_BODICE),
        lambda s: net(s["sleeve"], "cap") - net(s["bodice front"], "armhole") - net(s["bodice back"], "armhole"),
    ),
    "skirt waist": (("skirt front", "skirt back"), _both(lambda shape: net(shape, "waist"), "skirt")),
    "skirt length": (("skirt front",), lambda shapes: net(shapes["skirt front"], "centre front")),
}

# How often an independent end of a line enters a measurement, as (pieces it needs, ends on each, times counted).
AIM_MM = 5.0  # a dart stops 20 to 30 mm short of the bust point (common practice), and aims about so well
_GIRTHS = ("bust", "waist", "neck", "hip", "skirt waist")


def _uncertainty(name: str, mm: float, shapes: Shapes) -> float:
    """Half a 95 % interval: every measured end is as sure as the outline, the scale is common to all.

    A length has two ends, and two more for each dart closed on the way; a girth counts each half piece twice.
    """
    kinds = _needed(name, shapes)
    times = 2.0 if name in _GIRTHS or name in ("across back", "across chest", "bust point distance") else 1.0
    variance = 0.0
    for kind in kinds:
        shape = shapes[kind]
        edge = {"waist": "waist", "skirt waist": "waist", "neck": "neckline", "shoulder length": "shoulder"}.get(name)
        ends = 2.0 + 2.0 * (len(shape.darts_on(edge)) if edge else 0)
        if name in ("bust point distance", "bust height"):
            ends += 2.0 * (SHORT_OF_BUST_POINT / 5.0) ** 2  # an axis carried on beyond its apex is no better than that
        variance += ends * (times * shape.piece.uncertainty_mm) ** 2
    if name in ("bust point distance", "bust height") and variance > 0.0:
        variance += (times * AIM_MM) ** 2
    scale = max(shapes[kind].piece.scale_uncertainty for kind in kinds)
    return float(np.sqrt(variance + (scale * mm) ** 2))
