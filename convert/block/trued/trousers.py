"""A leg of trousers drawn: waist over its folded darts, hip curve, leg, hem, and the crotch through the fork.

Frame of a leg: (0, 0) is where the crotch seam meets the waist, v up along the grain, the side seam at u > 0. The
crotch seam runs straight down from the waist and turns in one curve into the fork; inseam and side seam are each one
curve to the knee and straight from there to the hem. Where front and back are joined their angles make a straight line.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from convert.block.compared.targets import Row
from convert.block.shape.shape import Shape
from convert.block.shape.trousers import (
    BACK,
    FRONT,
    KNEE_ABOVE_HALF_MM,
    THIGH_BELOW_FORK_MM,
    fork,
    hem_level,
    inner_at,
    is_long,
    outer_at,
)
from convert.block.trued.bodice import DartPlan, HalfLines, angle_of, reach
from convert.block.trued.curve import Complex, Real, points_at, root
from convert.block.trued.folded import Fold, Line, line_through, straight
from convert.block.trued.unknowns import Trial, Unknowns

_DEG = np.pi / 180.0
_REACH = 0.36  # of the chord, where a line's reaches start; their scale is a quarter of it
_FAR_MM = 2000.0  # from where a level line comes in: beyond any leg
_STRAIGHT = (0.55, 0.8)  # share of the depth of the crotch down which its seam starts out straight
_SHORTS_SHARE = 0.15  # of the inseam of shorts, at the hem, along which its seams run straight
_LEAVES_MM = 60.0  # of the inseam, over which its direction at the fork is taken
CURVES = ("waist", "hip curve", "thigh side", "thigh inside", "crotch curve", "hem")
SHARED: Mapping[str, tuple[float, float]] = {
    "waist side": (90.0, 2.0),
    "fork": (84.0, 8.0),
    "hem outside": (90.0, 0.6),
    "hem inside": (90.0, 0.6),
}
"""Angles inside the back at the corners that front and back share: where they start, what they cost (degrees)."""


def plan_leg(unknowns: Unknowns, shape: Shape, hip_mm: float) -> None:
    """The unknowns of a leg, started where the moves have left it."""
    kind = shape.piece.kind
    low, prong = _corner(shape, "waist", "side seam"), complex(*fork(shape))
    out, inn = _corner(shape, "hem", "side seam"), _corner(shape, "hem", "inseam")
    level, knee = low.imag - hip_mm - (low.imag / 2 if kind == FRONT else 0.0), _knee(shape)
    _point(unknowns, f"{kind} low", low, (6.0, 5.0))
    unknowns.add(f"{kind} hip u", outer_at(shape, level), 6.0)
    _point(unknowns, f"{kind} fork", prong, (6.0, 5.0))
    unknowns.add(f"{kind} knee out", outer_at(shape, knee), 5.0)
    unknowns.add(f"{kind} knee in", inner_at(shape, knee), 5.0)
    _point(unknowns, f"{kind} foot out", out, (5.0, 4.0))
    _point(unknowns, f"{kind} foot in", inn, (5.0, 4.0))
    begin, tilt = _straight_part(shape)
    unknowns.add(f"{kind} straight", begin, 12.0)
    unknowns.add(f"{kind} tilt", tilt, 2.0 * _DEG)
    unknowns.add(f"{kind} lean", np.arctan2(1.3 * (outer_at(shape, level) - low.real), hip_mm), 3.0 * _DEG)
    unknowns.add(f"{kind} hip way", 0.0, 2.0 * _DEG)
    unknowns.add(f"{kind} fork way", _leaves(shape), 5.0 * _DEG)
    chords = {
        "waist": abs(low),
        "hip curve": abs(low - complex(outer_at(shape, level), level)),
        "thigh side": abs(complex(outer_at(shape, level), level) - complex(outer_at(shape, knee), knee)),
        "thigh inside": abs(prong - complex(inner_at(shape, knee), knee)),
        "crotch curve": abs(prong + 1j * begin * np.exp(-1j * tilt)),
        "hem": abs(out - inn),
    }
    for name, chord in chords.items():
        for end in ("in", "out"):
            unknowns.add(f"{kind} {name} {end}", _REACH * chord, 0.25 * _REACH * chord)


def _corner(shape: Shape, one: str, other: str) -> complex:
    return complex(*shape.ring[shape.corner(one, other)])


def _point(unknowns: Unknowns, name: str, at: complex, scale: tuple[float, float]) -> None:
    unknowns.add(f"{name} u", at.real, scale[0])
    unknowns.add(f"{name} v", at.imag, scale[1])


def _knee(shape: Shape) -> float:
    top, low = float(fork(shape)[1]), hem_level(shape)
    return (top + low) / 2.0 + KNEE_ABOVE_HALF_MM if is_long(shape) else low + _SHORTS_SHARE * (top - low)


def _leaves(shape: Shape) -> float:
    """In which direction the inseam leaves the fork (radians), within what a leg can have."""
    line = shape.ring[shape.run("inseam", "crotch seam")]
    far = int(np.argmax(np.hypot(*(line - line[0]).T) > _LEAVES_MM)) or len(line) - 1
    return float(np.clip(np.arctan2(*(line[far] - line[0])[::-1]), -82.0 * _DEG, -50.0 * _DEG))


def _straight_part(shape: Shape) -> tuple[float, float]:
    """How far down from the waist the crotch seam runs straight, and how it leans outwards there (radians)."""
    line = shape.ring[shape.run("crotch seam", "waist")]
    deep = -float(fork(shape)[1])
    upper = line[line[:, 1] > -0.6 * deep]
    lean = float(np.arctan2(upper[0, 0] - upper[-1, 0], upper[0, 1] - upper[-1, 1]))
    way = np.array([-np.sin(lean), -np.cos(lean)])
    off = np.abs((line - line[0]) @ np.array([-way[1], way[0]]))
    last = int(np.argmax(off > 2.0)) or len(line) // 2
    return float(np.clip(np.hypot(*(line[last] - line[0])), _STRAIGHT[0] * deep, _STRAIGHT[1] * deep)), lean


def leg_drawn(
    trial: Trial, kind: str, darts: Sequence[DartPlan], hip_mm: float, *, paired: bool, long: bool
) -> HalfLines:
    """A leg drawn from a trial."""
    folds = {
        dart.name: Fold(
            apex=trial[f"{dart.name} u"] + 1j * trial[f"{dart.name} v"],
            axis=np.exp(1j * trial[f"{dart.name} way"]),
            half=trial[f"{dart.name} half"],
            sense=-1,
        )
        for dart in darts
    }
    low, prong = _at(trial, f"{kind} low"), _at(trial, f"{kind} fork")
    out, inn = _at(trial, f"{kind} foot out"), _at(trial, f"{kind} foot in")
    level = low.imag - hip_mm - (trial[f"{FRONT} low v"] / 2.0 if f"{FRONT} low v" in trial else 0.0)
    hem = (out.imag + inn.imag) / 2.0
    high = (prong.imag + hem) / 2.0 + KNEE_ABOVE_HALF_MM if long else hem + _SHORTS_SHARE * (prong.imag - hem)
    hip, knee_out = trial[f"{kind} hip u"] + 1j * level, trial[f"{kind} knee out"] + 1j * high
    knee_in = trial[f"{kind} knee in"] + 1j * high
    centre = -1j * np.exp(-1j * trial[f"{kind} tilt"])
    begin = trial[f"{kind} straight"] * centre
    down = -1j * np.exp(1j * trial[f"{kind} lean"])
    hang = -1j * np.exp(1j * trial[f"{kind} hip way"])
    fall, drop = (out - knee_out) / np.abs(out - knee_out), (inn - knee_in) / np.abs(inn - knee_in)
    inside = np.exp(1j * trial[f"{kind} fork way"])

    def angle(corner: str) -> Real:
        return angle_of(trial, kind, corner, paired=paired)

    def curve(name: str, start: Complex, way_in: Complex, end: Complex, way_out: Complex) -> Line:
        return line_through(start, way_in, end, way_out, reach(trial, f"{kind} {name}"))

    lines = {
        "waist": line_through(
            np.zeros_like(low),
            centre * 1j,
            low,
            -down * np.exp(-1j * angle("waist side")),
            reach(trial, f"{kind} waist"),
            list(folds.values()),
        ),
        "hip curve": curve("hip curve", low, down, hip, hang),
        "thigh side": curve("thigh side", hip, hang, knee_out, fall),
        "leg side": straight(knee_out, out),
        "centre": straight(np.zeros_like(low), begin),
        "crotch curve": curve("crotch curve", begin, centre, prong, -inside * np.exp(1j * angle("fork"))),
        "thigh inside": curve("thigh inside", prong, inside, knee_in, drop),
        "leg inside": straight(knee_in, inn),
        "hem": curve(
            "hem", inn, -drop * np.exp(-1j * angle("hem inside")), out, fall * np.exp(1j * angle("hem outside"))
        ),
    }
    corners = {"low": low, "hip": hip, "fork": prong, "out": out, "in": inn, "half out": knee_out, "half in": knee_in}
    corners |= {"knee out": knee_out, "knee in": knee_in} if long else {}
    return HalfLines(corners=corners, lines=lines, folds=folds)


def _at(trial: Trial, name: str) -> Complex:
    return np.asarray(trial[f"{name} u"] + 1j * trial[f"{name} v"])


def sewn(half: HalfLines, *names: str) -> Real:
    """Sewn length (B,) of several lines in a row."""
    return np.asarray(np.sum([half.lines[name].sewn for name in names], axis=0))


SIDE = ("hip curve", "thigh side", "leg side")
INSEAM = ("thigh inside", "leg inside")
CROTCH = ("centre", "crotch curve")


def hip_width(half: HalfLines) -> Real:
    """Straight across (B,) at hip level, from the crotch seam to the side seam."""
    hip, begin = half.corners["hip"], half.lines["centre"].nodes[:, 3]
    lean = begin.real / np.minimum(begin.imag, -1.0)
    inner = np.where(hip.imag >= begin.imag, lean * hip.imag, _u_at(half.lines["crotch curve"], hip.imag))
    return np.asarray(hip.real - inner)


def thigh_width(half: HalfLines) -> Real:
    """Straight across (B,) an inch below the fork."""
    level = half.corners["fork"].imag - THIGH_BELOW_FORK_MM
    return _u_at(half.lines["thigh side"], level) - _u_at(half.lines["thigh inside"], level)


def _u_at(line: Line, level: Real) -> Real:
    """How far out (B,) a line lies at a level; the end nearest to it where it does not reach there."""
    t = root(line.nodes, 1j * level - _FAR_MM, np.ones_like(level) + 0j)
    return np.asarray(points_at(line.nodes, t[:, None])[:, 0].real)


def measured_legs(halves: Mapping[str, HalfLines]) -> dict[str, Real]:
    """Measurements (B,) by name, as :func:`convert.block.shape.trousers.measure_trousers` takes them, and pairs.

    The hip is called "trousers hip" here, see :func:`leg_rows`.
    """
    legs = {kind: half for kind, half in halves.items() if kind in (FRONT, BACK)}
    of = {kind: _of_leg(half) for kind, half in legs.items()}
    out = {f"{name} of the {kind}": value for kind, values in of.items() for name, value in values.items()}
    if FRONT in legs:
        out |= {name: of[FRONT][name] for name in ("body rise", "outside leg", "inside leg") if name in of[FRONT]}
    if len(legs) == 2:
        for name in ("trousers waist", "trousers hip", "thigh", "knee", "ankle", "leg hem"):
            if name in of[FRONT] and name in of[BACK]:
                times = 2.0 if name.startswith("trousers") else 1.0
                out[name] = times * (of[FRONT][name] + of[BACK][name])
        front, back = legs[FRONT], legs[BACK]
        out["crotch length"] = sewn(front, *CROTCH) + sewn(back, *CROTCH)
        out["trousers side, back longer"] = sewn(back, *SIDE) - sewn(front, *SIDE)
        out["inseam, back longer"] = sewn(back, *INSEAM) - sewn(front, *INSEAM)
    return out


def _of_leg(half: HalfLines) -> dict[str, Real]:
    """What one leg measures; shorts have no knee among their corners."""
    corners, hem = half.corners, half.lines["hem"].sewn
    out = {
        "trousers waist": half.lines["waist"].sewn,
        "trousers hip": hip_width(half),
        "body rise": np.asarray(corners["low"].imag - corners["fork"].imag),
        "thigh": thigh_width(half),
    }
    if "knee out" not in corners:
        return {**out, "leg hem": hem}
    knee = np.asarray((corners["knee out"] - corners["knee in"]).real)
    legs = {"outside leg": sewn(half, *SIDE), "inside leg": sewn(half, *INSEAM)}
    return {**out, **legs, "knee": knee, "ankle": hem}


def leg_rows(rows: Sequence[Row]) -> tuple[Row, ...]:
    """The rows that concern trousers, their hip under its own name: beside a skirt's it has one already."""
    if any(row.name == "trousers hip" for row in rows):
        return tuple(row for row in rows if row.name != "hip")
    return tuple(replace(row, name="trousers hip") if row.name == "hip" else row for row in rows)
