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
arm length            from the top of the cap to the wrist
cap ease              cap less both armholes
====================  ==========================================================================================

Source of the definitions: design.md of the project for bust; ISO 8559-1 names and levels elsewhere; the distance of a
dart's apex from the bust point is common practice.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np

from calibration.points import Points
from convert.block.block import Measured
from convert.block.moves.shape import Indices, Shape, shape_of
from convert.piece.piece import Piece

SHORT_OF_BUST_POINT = 25.0  # mm a single dart stops short of the bust point, common practice 20-30

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
        the outline's and the scale's uncertainty.
    """
    shapes: dict[str, Shape] = {piece.kind: shape_of(piece) for piece in pieces}
    return tuple(
        Measured(name=name, mm=mm, uncertainty_mm=_uncertainty(name, mm, shapes))
        for name, mm in measure_shapes(shapes, waist_to_hip=waist_to_hip).items()
    )


def measure_shapes(shapes: Shapes, *, waist_to_hip: float | None = None) -> dict[str, float]:
    """The same on shapes, without uncertainties."""
    out = {name: taker(shapes) for name, (needs, taker) in TAKERS.items() if all(kind in shapes for kind in needs)}
    if waist_to_hip and "skirt front" in shapes and "skirt back" in shapes:
        out["hip"] = 2.0 * sum(width_below_waist(shapes[kind], waist_to_hip) for kind in ("skirt front", "skirt back"))
    return {name: mm for name, mm in out.items() if np.isfinite(mm)}


def net(shape: Shape, name: str) -> float:
    """Sewn length of an edge: mouths of darts left out."""
    i = shape.names.index(name)
    first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
    run = np.arange(first, last + (len(shape.ring) if last <= first else 0) + 1) % len(shape.ring)
    return float(shape.net_along(run, name)[-1])


def underarm(shape: Shape) -> Points:
    """Underarm point (2,) in the shape's frame."""
    return np.asarray(shape.ring[shape.corner("armhole", "side seam")])


def side_neck(shape: Shape) -> Points:
    """Side neck point (2,)."""
    return np.asarray(shape.ring[shape.corner("neckline", "shoulder")])


def across(shape: Shape, level: Points) -> float:
    """Distance of the point ``level`` from the centre line, less what the darts take at its height."""
    out, height = float(abs(level[0])), float(level[1])
    for apex, legs in zip(shape.apexes, shape.legs, strict=True):
        if legs[0] < 0:
            continue
        ends = shape.ring[legs]
        rise = ends[:, 1] - apex[1]
        if (np.abs(rise) < 1e-9).any():
            continue
        share = (height - apex[1]) / rise
        if ((share > 0) & (share <= 1)).all():
            at = apex[0] + (ends[:, 0] - apex[0]) * share
            out -= float(abs(at[1] - at[0]))
    return out


def armhole_width(shape: Shape, height: float) -> float:
    """Distance of the armhole from the centre line at a height, less what the darts take there."""
    run = shape.run("armhole", "side seam")
    line = shape.ring[run]
    crossing = np.flatnonzero(np.diff(np.sign(line[:, 1] - height)) != 0)
    if not len(crossing):
        return float("nan")
    i = int(crossing[0])
    share = (height - line[i, 1]) / (line[i + 1, 1] - line[i, 1])
    return across(shape, line[i] + share * (line[i + 1] - line[i]))


def across_level(shape: Shape) -> float:
    """Height at which across back or across chest is taken."""
    top = shape.corner(shape.centre, "neckline") if shape.piece.kind.endswith("back") else None
    if top is None:
        top = shape.corner("shoulder", "armhole")
    return float((shape.ring[top, 1] + underarm(shape)[1]) / 2)


def width_below_waist(shape: Shape, down: float) -> float:
    """Width of a skirt ``down`` mm below the top of its centre line."""
    top = float(shape.ring[shape.run(shape.centre, "waist"), 1].max())
    side = shape.ring[shape.run("side seam", "waist")]
    order = np.argsort(side[:, 1])
    return float(np.interp(top - down, side[order, 1], np.abs(side[order, 0])))


def bust_point(shape: Shape) -> Points:
    """Bust point (2,) that a front's darts aim at; NaN if it has none.

    Two darts: where their axes meet, if they meet at a fair angle near both apexes; otherwise beyond the apex of the
    dart that reaches highest.
    """
    axes = []
    for apex, legs in zip(shape.apexes, shape.legs, strict=True):
        if legs[0] >= 0:
            axis = apex - shape.ring[legs].mean(0)
            axes.append((apex, axis / max(float(np.hypot(*axis)), 1e-9)))
    if not axes:
        return np.array([np.nan, np.nan])
    if len(axes) >= 2:
        (p, d), (q, e) = axes[0], axes[1]
        across_both = float(d[0] * e[1] - d[1] * e[0])
        if abs(across_both) > 0.5:
            t = float((q - p)[0] * e[1] - (q - p)[1] * e[0]) / across_both
            meet = p + t * d
            if max(np.hypot(*(meet - p)), np.hypot(*(meet - q))) < 3 * SHORT_OF_BUST_POINT:
                return np.asarray(meet)
    apex, axis = max(axes, key=lambda pair: pair[1][1])
    return np.asarray(apex + SHORT_OF_BUST_POINT * axis)


def cap_height(shape: Shape) -> float:
    """Height of a sleeve's cap above the underarm line."""
    return float(shape.ring[shape.run("cap", "underarm seam front"), 1].max())


def wrist_name(shape: Shape) -> str:
    """What the sleeve's lower edge is called."""
    return "wrist" if shape.has("wrist") else "hem"


def _wrist_run(shape: Shape) -> Indices:
    return shape.run(wrist_name(shape), "underarm seam front")


def _sleeve_length(shapes: Shapes) -> float:
    sleeve = shapes["sleeve"]
    low = float(np.median(sleeve.ring[_wrist_run(sleeve), 1]))
    return cap_height(sleeve) - low


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
    "wrist": (("sleeve",), lambda shapes: net(shapes["sleeve"], wrist_name(shapes["sleeve"]))),
    "arm length": (("sleeve",), _sleeve_length),
    "cap ease": (
        ("sleeve", *_BODICE),
        lambda s: net(s["sleeve"], "cap") - net(s["bodice front"], "armhole") - net(s["bodice back"], "armhole"),
    ),
    "skirt waist": (("skirt front", "skirt back"), _both(lambda shape: net(shape, "waist"), "skirt")),
    "skirt length": (("skirt front",), lambda shapes: net(shapes["skirt front"], "centre front")),
}

# How often an independent end of a line enters a measurement, as (pieces it needs, ends on each, times counted).
_GIRTHS = ("bust", "waist", "neck", "hip", "skirt waist")


def _uncertainty(name: str, mm: float, shapes: Shapes) -> float:
    """Half a 95 % interval: every measured end is as sure as the outline, the scale is common to all.

    A length has two ends, and two more for each dart closed on the way; a girth counts each half piece twice.
    """
    kinds = ("skirt front", "skirt back") if name == "hip" else TAKERS[name][0]
    times = 2.0 if name in _GIRTHS or name in ("across back", "across chest", "bust point distance") else 1.0
    variance = 0.0
    for kind in kinds:
        shape = shapes[kind]
        edge = {"waist": "waist", "skirt waist": "waist", "neck": "neckline", "shoulder length": "shoulder"}.get(name)
        ends = 2.0 + 2.0 * (len(shape.darts_on(edge)) if edge else 0)
        if name in ("bust point distance", "bust height"):
            ends += 2.0 * (SHORT_OF_BUST_POINT / 5.0) ** 2  # an axis carried on beyond its apex is no better than that
        variance += ends * (times * shape.piece.uncertainty_mm) ** 2
    scale = max(shapes[kind].piece.scale_uncertainty for kind in kinds)
    return float(np.sqrt(variance + (scale * mm) ** 2))
