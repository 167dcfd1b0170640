"""The limits that a drawn leg of trousers keeps; each a little inside that of the checks.

Sources: common practice, but for the darts: as a skirt's, see :mod:`convert.block.trued.limits`.
"""

from collections.abc import Mapping

import numpy as np

from convert.block.shape.trousers import BACK, FRONT
from convert.block.trued.bodice import HalfLines
from convert.block.trued.curve import STATIONS, curvatures
from convert.block.trued.plan import Plan
from convert.block.trued.rules import dart_sizes, lines_fair, spaced, square_to_edge
from convert.block.trued.trousers import CURVES
from convert.block.trued.unknowns import Rows, Trial

_DEG = np.pi / 180.0
_DARTS_MM: Mapping[str, tuple[float, float]] = {FRONT: (62.0, 114.0), BACK: (87.0, 153.0)}
_ABOVE_HIP_MM = 25.0
_TIGHT = 24.0 * _DEG / 15.0  # 1/mm: the crotch turns no more than 24 degrees over 15 mm, a radius of 36 mm
_TILT_DEG: Mapping[str, tuple[float, float]] = {FRONT: (-6.0, 12.0), BACK: (0.0, 28.0)}


def leg_rules(rows: Rows, plan: Plan, halves: Mapping[str, HalfLines], trial: Trial) -> None:
    """Each leg, and front and back together."""
    legs = {kind: half for kind, half in halves.items() if kind in (FRONT, BACK)}
    for kind, half in legs.items():
        for name in CURVES:
            if name != "crotch curve":
                lines_fair(rows, half.lines[name], name)
        _swell(rows, half)
        _crotch(rows, trial, kind, half)
        _hang(rows, half)
        dart_sizes(rows, plan, kind, half)
        square_to_edge(rows, half, "waist")
        line, (least, most) = half.lines["waist"], _DARTS_MM[kind]
        for i, fold in enumerate(line.folds):
            rows.within(line.legs[i] * np.cos(fold.half), least, most, 0.3)
            rows.within(fold.apex.imag - half.corners["hip"].imag, _ABOVE_HIP_MM, 1e3, 0.5)
        spaced(rows, line)
    if len(legs) == 2:
        rows.near(trial[f"{FRONT} lean"] - trial[f"{BACK} lean"], 0.0, 3.0 * _DEG)


def _swell(rows: Rows, half: HalfLines) -> None:
    """The hip curve bends one way only: out to the hip, or in to it on a body that is wider at the waist."""
    bends = curvatures(half.lines["hip curve"].nodes, STATIONS[::4])
    out = (half.corners["hip"] - half.corners["low"]).real[:, None] >= 0.0
    rows.within(np.where(out, bends, -bends), -1.0, 0.0, 0.02 * _TIGHT)


def _crotch(rows: Rows, trial: Trial, kind: str, half: HalfLines) -> None:
    """One hollow from the straight part to the fork, which it reaches level or falling: never a hook."""
    nodes = half.lines["crotch curve"].nodes
    bends = curvatures(nodes, STATIONS[::2])
    rows.within(bends, -_TIGHT, 0.0, 0.05 * _TIGHT)
    rows.near(np.diff(bends, axis=1) * half.lines["crotch curve"].sewn[:, None], 0.0, 0.3)
    arrives = nodes[:, 3] - nodes[:, 2]
    rows.within((arrives / np.maximum(np.abs(arrives), 1e-6)).imag, -0.6, 0.0, 0.01)
    deep = -half.corners["fork"].imag
    rows.within(trial[f"{kind} straight"] / deep, 0.45, 0.88, 0.01)
    rows.within(trial[f"{kind} tilt"] / _DEG, *_TILT_DEG[kind], 0.1)
    rows.within(trial[f"{kind} fork way"] / _DEG, -84.0, -45.0, 0.2)


def _hang(rows: Rows, half: HalfLines) -> None:
    """The hem lies level, and the leg hangs from the middle of the knee."""
    corners = half.corners
    rows.near((corners["out"] - corners["in"]).imag, 0.0, 0.3)
    middle = (corners["half out"] + corners["half in"]).real - (corners["out"] + corners["in"]).real
    rows.near(middle / 2.0, 0.0, 1.5)
