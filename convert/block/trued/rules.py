"""The limits that a drawing keeps, with where they come from; the checks of a block take theirs from here too.

The limits stand a little inside those of the sources, so that a drawing that keeps them is not refused over a rounding.
Sources: see :mod:`convert.block.trued.limits`.
"""

from collections.abc import Mapping

import numpy as np

from convert.block.trued.bodice import HalfLines
from convert.block.trued.curve import STATIONS, Real, curvatures, points_at
from convert.block.trued.drawn import Drawn, total
from convert.block.trued.folded import Line
from convert.block.trued.plan import Plan
from convert.block.trued.unknowns import Rows, Trial

_DEG = np.pi / 180.0
_EVERY = STATIONS[::2]
# line: most turn over 15 mm (degrees), whether it may be hollow only
_LINES: Mapping[str, tuple[float, bool]] = {
    "neckline": (24.0, True),
    "armhole": (25.0, True),
    "waist": (6.5, False),
    "hip curve": (6.5, False),
    "hem": (4.0, False),
    "front cap": (20.0, False),
    "back cap": (20.0, False),
    "seam": (4.0, False),
    "wrist": (6.0, False),
}
_TURN_MM = 15.0
_FAIR = (
    0.25  # of the bend per mean bend: what a line's change of bend between two of 17 stations may be at the cost of one
)


def lines_fair(rows: Rows, line: Line, name: str) -> None:
    """One fair curve: bends change little, none is too tight, a hollow line stays hollow."""
    most, hollow = _LINES[name]
    bends = curvatures(line.nodes, _EVERY)
    long = line.sewn[:, None]
    rows.near(np.diff(bends, axis=1) * long, 0.0, _FAIR * (4.0 if name in ("armhole", "neckline") else 2.0))
    tight = most * _DEG / _TURN_MM
    rows.within(bends, 0.0 if hollow else -tight, tight, 0.01 * tight)


def reaches_kept(rows: Rows, trial: Trial, drawn: Drawn) -> None:
    """Reaches neither so short that a line has a corner nor so long that it loops."""
    lines = {f"{kind} {name}": line for kind, half in drawn.halves.items() for name, line in half.lines.items()}
    lines |= dict(drawn.sleeve.lines) if drawn.sleeve is not None else {}
    for name, line in lines.items():
        chord = np.abs(line.nodes[:, 3] - line.nodes[:, 0])
        for end in ("in", "out"):
            if f"{name} {end}" in trial:
                rows.within(trial[f"{name} {end}"] / chord, 0.12, 0.85, 0.01)


def bodice_rules(rows: Rows, plan: Plan, drawn: Drawn, known: Mapping[str, float]) -> None:
    """Each half of a bodice, and both together."""
    halves = {kind: half for kind, half in drawn.halves.items() if kind.startswith("bodice")}
    leans = {}
    for kind, half in halves.items():
        corners = half.corners
        for name in ("neckline", "armhole", "waist"):
            lines_fair(rows, half.lines[name], name)
        hole = points_at(half.lines["armhole"].nodes, STATIONS).real
        if not _open_above(plan, kind):
            rows.within(corners["tip"].real - hole.min(1), 1.0, 34.0, 0.3)
        way = corners["low"] - corners["under"]
        leans[kind] = np.arctan2(-way.real, -way.imag) / _DEG
        if _upright(plan, kind):
            rows.within(leans[kind], -6.0, 10.0, 0.1)
        _darts_of_bodice(rows, plan, kind, half)
    if len(halves) == 2:
        _together(rows, plan, halves, leans)
        if "upper arm" in known:
            hole = total(half.lines["armhole"].sewn for half in halves.values())
            rows.within(hole, known["upper arm"] * _HOLE_TO_ARM, 1e4, 0.5)


_HOLE_TO_ARM = 1.06  # armhole to sleeve width: below it no cap has its least height, see the cap's own limit


def _open_above(plan: Plan, kind: str) -> bool:
    return any(dart.on in ("shoulder", "neckline", "armhole") for dart in plan.darts[kind]) and kind.endswith("front")


def _upright(_plan: Plan, _kind: str) -> bool:
    return True


def _together(rows: Rows, plan: Plan, halves: Mapping[str, HalfLines], leans: Mapping[str, Real]) -> None:
    front, back = halves["bodice front"], halves["bodice back"]
    rows.within(leans["bodice front"] - leans["bodice back"], -4.5, 4.5, 0.1)
    holes = front.lines["armhole"].sewn, back.lines["armhole"].sewn
    rows.within(holes[1] - holes[0], 0.0, 26.0, 0.3)
    if not _open_above(plan, "bodice front"):
        wide = sum(
            half.corners["under"].real - points_at(half.lines["armhole"].nodes, STATIONS).real.min(1)
            for half in (front, back)
        )
        rows.within(100.0 * wide / (holes[0] + holes[1]), 24.0, 38.0, 0.1)


# least and most intake (mm), most angle (degrees)
_DARTS: Mapping[tuple[str, str], tuple[float, float, float]] = {
    ("bodice front", ""): (7.0, 60.0, 24.5),
    ("bodice back", "waist"): (7.0, 35.5, 16.8),
    ("bodice back", ""): (6.3, 23.0, 30.0),
    ("skirt front", ""): (7.0, 35.5, 16.8),
    ("skirt back", ""): (7.0, 35.5, 16.8),
}


def _dart_sizes(rows: Rows, plan: Plan, kind: str, half: HalfLines) -> None:
    for line in half.lines.values():
        long = line.sewn
        for i, fold in enumerate(line.folds):
            plan_of = next(dart for dart in plan.darts[kind] if half.folds[dart.name] is fold)
            least, most, angle = _DARTS.get((kind, plan_of.on), _DARTS.get((kind, ""), (5.0, 60.0, 30.0)))
            rows.within(line.intake(i), least, most, 0.1)
            rows.within(2.0 * fold.half / _DEG, 1.0, angle, 0.1)
            rows.within(line.sewn_to(i) / long, 0.12, 0.88, 0.005)


def _darts_of_bodice(rows: Rows, plan: Plan, kind: str, half: HalfLines) -> None:
    _dart_sizes(rows, plan, kind, half)
    if kind == "bodice back":
        under = half.corners["under"].imag
        for dart in plan.darts[kind]:
            if dart.on == "waist":
                rows.within(under - half.folds[dart.name].apex.imag, -10.0, 75.0, 1.0)
                _square_to_edge(rows, half, "waist")


def _square_to_edge(rows: Rows, half: HalfLines, edge: str) -> None:
    """The middle of a dart stands square to its edge, as far as nothing speaks against it."""
    line = half.lines[edge]
    for i, fold in enumerate(line.folds):
        t = line.crossings[i][:, None]
        step = points_at(line.nodes, t + 0.01)[:, 0] - points_at(line.nodes, t - 0.01)[:, 0]
        way = step / np.abs(step)
        axis = fold.first_leg
        for nearer in line.folds[:i]:
            axis = axis * nearer.turn
        rows.near((way * axis.conj()).real, 0.0, 0.03)


# usual, least and most length of a dart (mm)
_SKIRT_DARTS: Mapping[str, tuple[float, float, float]] = {
    "skirt front": (95.0, 66.0, 110.0),
    "skirt back": (128.0, 92.0, 148.0),
}
_ABOVE_HIP_MM = 30.0


def skirt_rules(rows: Rows, plan: Plan, drawn: Drawn, trial: Trial, known: Mapping[str, float]) -> None:
    """Each half of a skirt, both together, and the skirt on its bodice."""
    halves = {kind: half for kind, half in drawn.halves.items() if kind.startswith("skirt")}
    for kind, half in halves.items():
        for name in ("waist", "hip curve", "hem"):
            lines_fair(rows, half.lines[name], name)
        _dart_sizes(rows, plan, kind, half)
        _square_to_edge(rows, half, "waist")
        usual, least, most = _SKIRT_DARTS[kind]
        line = half.lines["waist"]
        for i, fold in enumerate(line.folds):
            long = line.legs[i] * np.cos(fold.half)
            rows.near(long, usual, 4.0)
            rows.within(long, least, most, 0.3)
            rows.within(fold.apex.imag + plan.hip_mm, _ABOVE_HIP_MM, 1e3, 0.5)
        _spaced(rows, line)
    if len(halves) == 2:
        spare = sum(half.corners["hip"].real - half.lines["waist"].sewn for half in halves.values())
        darts = sum(
            line.intake(i) for half in halves.values() for line in [half.lines["waist"]] for i in range(len(line.folds))
        )
        share = 100.0 * (spare - darts) / np.maximum(spare, 20.0)
        if any(plan.darts[kind] for kind in halves):
            rows.within(share, 35.0, 65.0, 0.1)
        front, back = halves["skirt front"], halves["skirt back"]
        rows.near(trial["skirt front lean"] - trial["skirt back lean"], 0.0, 2.0 * _DEG)
        rows.near(front.corners["low"].imag - back.corners["low"].imag, 0.0, 2.0)
    _on_bodice(rows, halves, known)


def _spaced(rows: Rows, line: Line) -> None:
    for i in range(1, len(line.folds)):
        rows.within(line.sewn_to(i) - line.sewn_to(i - 1), 28.0, 1e3, 0.3)


def _on_bodice(rows: Rows, halves: Mapping[str, HalfLines], known: Mapping[str, float]) -> None:
    for kind, half in halves.items():
        side, line = kind.split()[1], half.lines["waist"]
        if f"{side} waist" in known:
            rows.near(line.sewn, known[f"{side} waist"], 0.005)
        for i in range(len(line.folds)):
            if f"{side} dart {i}" in known:
                rows.near(line.sewn_to(i), known[f"{side} dart {i}"], 0.2)


def sleeve_rules(
    rows: Rows, drawn: Drawn, found: Mapping[str, Real], known: Mapping[str, float], cap_ease: float | None
) -> None:
    """The sleeve by itself and in its armhole."""
    sleeve = drawn.sleeve
    if sleeve is None:
        return
    for name in ("front cap", "back cap", "seam", "wrist"):
        lines_fair(rows, sleeve.lines[name], name)
    if "cap ease" not in found:
        return
    hole = known["front armhole"] + known["back armhole"]
    if cap_ease is None:
        rows.near(found["cap ease"], np.clip(0.055 * hole, 20.0, 32.0), 2.0)
        rows.within(found["cap ease"], 15.5, 36.0, 0.1)
    else:
        rows.near(found["cap ease"], cap_ease, 0.005)
    rows.near(found["back cap ease"] - 0.54 * found["cap ease"], 0.0, 0.1)
    rows.within(100.0 * sleeve.crown.imag / hole, 22.5, 36.5, 0.05)
