"""The drawing put back on a shape: the same points, moved along to the new lines, so that every mark goes with them."""

import numpy as np

from calibration.ground.points import Points, lengths_along
from convert.block.shape.landmarks import wrist_name
from convert.block.shape.shape import Indices, Shape
from convert.block.trued.bodice import DartPlan, HalfLines
from convert.block.trued.curve import Complex
from convert.block.trued.folded import Line
from convert.block.trued.sleeve import SleeveLines

_NEAR_TOP = 0.12  # share of the cap's width within which its middle notch lies from the highest point
_FINE = 240  # stations on a line between which points are set


def redrawn_half(shape: Shape, half: HalfLines, darts: tuple[DartPlan, ...]) -> Shape:
    """A bodice or skirt half on its new lines (of one trial)."""
    ring, apexes = shape.ring.copy(), shape.apexes.copy()
    for dart in darts:
        apexes[dart.number] = _pairs(half.folds[dart.name].apex)[0]
    centre = shape.centre
    if "hem" in half.lines:
        run = shape.run("side seam", "waist")
        _along(shape, ring, run, _joined(half))
        _edge(shape, ring, "waist", centre, half.lines["waist"])
        _edge(shape, ring, "hem", centre, half.lines["hem"])
        _even(shape, ring, shape.run(centre, "waist"), 0j, complex(half.corners["centre"][0]))
    else:
        previous = centre
        for name in ("neckline", "shoulder", "armhole", "side seam"):
            _edge(shape, ring, name, previous, half.lines[name])
            previous = name
        _edge(shape, ring, "waist", centre, half.lines["waist"])
        _even(shape, ring, shape.run(centre, "waist"), 0j, complex(half.corners["neck"][0]))
    return shape.moved(ring=ring, apexes=apexes)


def redrawn_sleeve(shape: Shape, sleeve: SleeveLines) -> Shape:
    """A sleeve on its new lines (of one trial)."""
    ring = shape.ring.copy()
    run = shape.run("cap", "underarm seam front")
    top = crown_position(shape, run)
    lines = sleeve.lines
    _along(shape, ring, run[: top + 1], _fine(lines["front cap"])[::-1])
    _along(shape, ring, run[top:], _fine(lines["back cap"]))
    lower = wrist_name(shape)
    seam = _fine(lines["seam"])
    _along(shape, ring, shape.run("underarm seam front", "cap"), seam)
    _along(shape, ring, shape.run("underarm seam back", "cap"), seam * [-1.0, 1.0])
    _along(shape, ring, shape.run(lower, "underarm seam front"), _fine(lines["wrist"]))
    return shape.moved(ring=ring)


def crown_position(shape: Shape, run: Indices) -> int:
    """Where in the cap's run its crown lies: at the notch that meets the shoulder, else at the highest point."""
    high = int(shape.ring[run, 1].argmax())
    wide = abs(float(shape.ring[run[0], 0] - shape.ring[run[-1], 0]))
    bound = [mark for mark in shape.piece.marks if mark.on is not None]
    for mark, index in zip(bound, shape.bound.index, strict=True):
        found = np.flatnonzero(run == index)
        near = float(np.hypot(*(shape.ring[index] - shape.ring[run[high]]))) < _NEAR_TOP * wide
        if near and mark.on == "cap" and mark.kind == "notch" and len(found):
            return int(np.clip(found[0], 1, len(run) - 2))
    return high


def _joined(half: HalfLines) -> Points:
    """A skirt's side seam (N, 2) from the waist to the hem."""
    foot = _pairs(np.array([half.corners["foot"][0]]))
    curve = _fine(half.lines["hip curve"])
    straight = curve[-1] + np.linspace(0.0, 1.0, 120)[1:, None] * (foot - curve[-1])
    return np.asarray(np.vstack([curve, straight]))


def _edge(shape: Shape, ring: Points, name: str, neighbour: str, line: Line) -> None:
    """One edge with its darts: stretches between mouths follow the line, mouths are straight."""
    run = shape.run(name, neighbour)
    mouths = shape.mouths(run, name)
    ends = [0.0, *(float(t[0]) for t in line.crossings), 1.0]
    starts = [0, *(far for _, _, far in mouths)]
    stops = [*(near for _, near, _ in mouths), len(run) - 1]
    for i, (first, last) in enumerate(zip(starts, stops, strict=True)):
        t = ends[i] + np.linspace(0.0, 1.0, _FINE + 1) * (ends[i + 1] - ends[i])
        _along(shape, ring, run[first : last + 1], _pairs(line.open_points(t, i)[0]))
    for _, near, far in mouths:
        _even(shape, ring, run[near : far + 1], complex(*ring[run[near]]), complex(*ring[run[far]]))


def _fine(line: Line) -> Points:
    return _pairs(line.open_points(np.linspace(0.0, 1.0, _FINE + 1), 0)[0])


def _along(shape: Shape, ring: Points, run: Indices, line: Points) -> None:
    """Points of a run set along a line (M, 2), each at the share of the length that it had."""
    old = lengths_along(shape.ring[run])
    share = old / old[-1] if old[-1] > 1e-9 else np.linspace(0.0, 1.0, len(run))
    new = lengths_along(line)
    ring[run] = np.column_stack([np.interp(share * new[-1], new, line[:, axis]) for axis in (0, 1)])


def _even(shape: Shape, ring: Points, run: Indices, start: complex, end: complex) -> None:
    old = lengths_along(shape.ring[run])
    share = old / old[-1] if old[-1] > 1e-9 else np.linspace(0.0, 1.0, len(run))
    at = start + share * (end - start)
    ring[run] = np.column_stack([at.real, at.imag])


def _pairs(points: Complex) -> Points:
    flat = np.atleast_1d(points)
    return np.column_stack([flat.real, flat.imag])
