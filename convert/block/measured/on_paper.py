"""What one piece of paper measures by itself: half widths on half pieces, as they lie there, darts closed."""

from collections.abc import Callable, Mapping

import numpy as np

from convert.block.block import Measured
from convert.block.measured.allowance_doubt import allowance_doubts
from convert.block.shape.dress import waist_level, width_at
from convert.block.shape.landmarks import (
    across,
    across_level,
    armhole_width,
    cap_height,
    net,
    side_neck,
    underarm,
    wrist_name,
)
from convert.block.shape.shape import Shape, shape_of
from convert.block.shape.trousers import across_leg, knee_level, rise, thigh_level
from convert.piece.piece import Piece

Taker = Callable[[Shape], float]


def _height_to_waist(shape: Shape) -> float:
    return float(side_neck(shape)[1] - shape.ring[shape.corner(shape.centre, "waist"), 1])


def _cap_width(shape: Shape) -> float:
    ends = shape.ring[shape.run("cap", "underarm seam front")[[0, -1]]]
    return float(np.hypot(*(ends[1] - ends[0])))


def _net(name: str) -> Taker:
    return lambda shape: net(shape, name)


_BODICE: Mapping[str, Taker] = {
    "bust": lambda shape: across(shape, underarm(shape)),
    "waist": _net("waist"),
    "neckline": _net("neckline"),
    "shoulder length": _net("shoulder"),
    "armhole": _net("armhole"),
    "side seam": _net("side seam"),
}
_SKIRT: Mapping[str, Taker] = {"waist": _net("waist"), "side seam": _net("side seam"), "hem": _net("hem")}
_LEG: Mapping[str, Taker] = {
    **_SKIRT,
    "crotch seam": _net("crotch seam"),
    "inseam": _net("inseam"),
    "thigh": lambda shape: across_leg(shape, thigh_level(shape)),
    "knee": lambda shape: across_leg(shape, knee_level(shape)),
}
_DRESS: Mapping[str, Taker] = {
    "bust": lambda shape: across(shape, underarm(shape)),
    "waist": lambda shape: width_at(shape, waist_level(shape)),
    "neckline": _net("neckline"),
    "shoulder length": _net("shoulder"),
    "armhole": _net("armhole"),
    "side seam": _net("side seam"),
    "hem": _net("hem"),
}
_TAKERS: Mapping[str, Mapping[str, Taker]] = {
    "bodice front": {
        **_BODICE,
        "centre front": _net("centre front"),
        "front waist length": _height_to_waist,
        "across chest": lambda shape: armhole_width(shape, across_level(shape)),
    },
    "bodice back": {
        **_BODICE,
        "back waist length": _net("centre back"),
        "across back": lambda shape: armhole_width(shape, across_level(shape)),
    },
    "sleeve": {
        "upper arm": _cap_width,
        "cap": _net("cap"),
        "cap height": cap_height,
        "wrist": lambda shape: net(shape, wrist_name(shape)),
        "underarm seam front": _net("underarm seam front"),
        "underarm seam back": _net("underarm seam back"),
    },
    "dress front": {**_DRESS, "across chest": lambda shape: armhole_width(shape, across_level(shape))},
    "dress back": {**_DRESS, "across back": lambda shape: armhole_width(shape, across_level(shape))},
    "skirt front": {**_SKIRT, "skirt length": _net("centre front")},
    "skirt back": {**_SKIRT, "skirt length": _net("centre back")},
    "trousers front": {**_LEG, "body rise": rise},
    "trousers back": _LEG,
}


def measure_paper(piece: Piece) -> tuple[Measured, ...]:
    """Measurements of one piece; what its edges do not allow is left out.

    ``uncertainty_mm`` is half a 95 % interval: each end of a line, and of each dart closed on the way, is as sure as
    the outline; the scale is common to all; a seam allowance that was not read adds its own.
    """
    if not piece.complete:
        return ()
    shape = shape_of(piece)
    found = _taken(shape)
    seam = allowance_doubts({piece.kind: shape}, lambda nudged: _taken(nudged[piece.kind]))
    out = []
    for name, mm in found.items():
        ends = 2.0 + 2.0 * sum(dart.on == name for dart in piece.darts)
        parts = [np.sqrt(ends) * piece.uncertainty_mm, piece.scale_uncertainty * mm, seam[name]]
        out.append(Measured(name=name, mm=mm, uncertainty_mm=float(np.linalg.norm(parts))))
    return tuple(out)


def _taken(shape: Shape) -> dict[str, float]:
    """Every measurement that the shape's edges allow, mm."""
    out = {}
    for name, taker in _TAKERS.get(shape.piece.kind, {}).items():
        try:
            mm = float(taker(shape))
        except (KeyError, ValueError):
            continue
        if np.isfinite(mm):
            out[name] = mm
    return out
