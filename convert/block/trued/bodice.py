"""Half a bodice drawn from its corners, darts and a few reaches; front and back share their joined corners' angles.

Frame of a half: the centre line is u = 0, v = 0 where it meets the waist, the side lies at u > 0. Neckline and waist
leave the centre square; side seam and shoulder are straight once their darts are folded.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from convert.block.trued.curve import Complex, Real
from convert.block.trued.folded import Fold, Line, line_through, straight, way_at_end, way_at_start
from convert.block.trued.unknowns import Trial

SIDES = ("front", "back")
_CLOCKWISE, _COUNTER = -1, 1
SENSE: Mapping[str, int] = {
    "neckline": _CLOCKWISE,
    "shoulder": _CLOCKWISE,
    "armhole": _CLOCKWISE,
    "side seam": _CLOCKWISE,
    "waist": _COUNTER,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DartPlan:
    """A dart to be drawn: its number on the shape, its edge, the name of its unknowns; ``short`` of the bust point.

    ``short`` is None for a dart that does not aim at the bust point.
    """

    number: int
    on: str
    name: str
    short: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HalfLines:
    """Corners (B,) and lines of half a bodice or half a skirt."""

    corners: Mapping[str, Complex]
    lines: Mapping[str, Line]
    folds: Mapping[str, Fold]


def folds_of(trial: Trial, half: str, darts: Sequence[DartPlan]) -> dict[str, Fold]:
    """The darts of a half by the name of their unknowns."""
    out = {}
    for dart in darts:
        axis = np.exp(1j * trial[f"{dart.name} way"])
        if dart.short is None:
            apex = trial[f"{dart.name} u"] + 1j * trial[f"{dart.name} v"]
        else:
            apex = trial[f"{half} bust u"] + 1j * trial[f"{half} bust v"] + dart.short * axis
        out[dart.name] = Fold(apex=apex, axis=axis, half=trial[f"{dart.name} half"], sense=SENSE[dart.on])
    return out


def reach(trial: Trial, name: str) -> tuple[Real, Real]:
    """The two reaches of a line."""
    return trial[f"{name} in"], trial[f"{name} out"]


def angle_of(trial: Trial, half: str, corner: str, *, paired: bool) -> Real:
    """Angle (B,) inside a half at a joined corner; both halves' make a straight line."""
    if not paired:
        return trial[f"{half} {corner}"]
    return trial[corner] if half.endswith("back") else np.pi - trial[corner]


def half_lines(trial: Trial, half: str, darts: Sequence[DartPlan], *, paired: bool = True) -> HalfLines:
    """Half a bodice drawn."""

    def point(name: str) -> Complex:
        return np.asarray(trial[f"{half} {name} u"] + 1j * trial[f"{half} {name} v"])

    def corner(name: str) -> Real:
        return angle_of(trial, half, name, paired=paired)

    folds = folds_of(trial, half, darts)
    on = {edge: [folds[dart.name] for dart in darts if dart.on == edge] for edge in SENSE}
    neck, snp, tip, under, low = 1j * trial[f"{half} neck v"], *(point(n) for n in ("snp", "tip", "under", "low"))
    level = np.ones_like(neck)
    across, along = way_at_start(snp, tip, on["shoulder"]), way_at_end(snp, tip, on["shoulder"])
    down, lower = way_at_start(under, low, on["side seam"]), way_at_end(under, low, on["side seam"])
    lines = {
        "neckline": line_through(
            neck, level, snp, -across * np.exp(-1j * corner("neck")), reach(trial, f"{half} neckline"), on["neckline"]
        ),
        "shoulder": straight(snp, tip, on["shoulder"]),
        "armhole": line_through(
            tip,
            -along * np.exp(1j * corner("tip")),
            under,
            -down * np.exp(-1j * corner("under")),
            reach(trial, f"{half} armhole"),
            on["armhole"],
        ),
        "side seam": straight(under, low, on["side seam"]),
        "waist": line_through(
            np.zeros_like(neck),
            level,
            low,
            lower * np.exp(1j * corner("low")),
            reach(trial, f"{half} waist"),
            on["waist"],
        ),
    }
    corners = {"neck": neck, "snp": snp, "tip": tip, "under": under, "low": low}
    return HalfLines(corners=corners, lines=lines, folds=folds)


def taken_at(fold: Fold, leg: Real, height: Real) -> Real:
    """What a dart takes (B,) from a level line at a height, mm; nothing above or below it."""
    ends = [fold.apex + leg * way for way in (fold.first_leg, fold.second_leg)]
    us, inside = [], np.ones(len(height), bool)
    for end in ends:
        rise = end.imag - fold.apex.imag
        share = (height - fold.apex.imag) / np.where(np.abs(rise) > 1e-6, rise, np.inf)
        inside &= (share > 0.0) & (share <= 1.0)
        us.append(fold.apex.real + share * (end.real - fold.apex.real))
    return np.where(inside, np.abs(us[1] - us[0]), 0.0)


def across_at(half: HalfLines, point: Complex) -> Real:
    """Distance (B,) of a point from the centre line, less what darts take at its height."""
    out = np.abs(point.real)
    for line in half.lines.values():
        for fold, leg in zip(line.folds, line.legs, strict=True):
            out = out - taken_at(fold, leg, point.imag)
    return np.asarray(out)
