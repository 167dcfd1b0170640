"""Half a skirt drawn: waist over its folded darts, hip curve to hip level, then straight to the hem.

Frame of a half: u = 0 is the centre line, v = 0 where it meets the waist; the hem lies at v < 0.
"""

from collections.abc import Sequence

import numpy as np

from convert.block.trued.bodice import DartPlan, HalfLines, angle_of, reach
from convert.block.trued.curve import Complex
from convert.block.trued.folded import Fold, line_through
from convert.block.trued.unknowns import Trial


def skirt_lines(trial: Trial, half: str, darts: Sequence[DartPlan], hip_mm: float, *, paired: bool = True) -> HalfLines:
    """Half a skirt whose hip lies ``hip_mm`` below the waist."""
    folds = {
        dart.name: Fold(
            apex=trial[f"{dart.name} u"] + 1j * trial[f"{dart.name} v"],
            axis=np.exp(1j * trial[f"{dart.name} way"]),
            half=trial[f"{dart.name} half"],
            sense=-1,
        )
        for dart in darts
    }
    low: Complex = trial[f"{half} low u"] + 1j * trial[f"{half} low v"]
    hip: Complex = trial[f"{half} hip u"] - 1j * hip_mm
    foot: Complex = trial[f"{half} foot u"] + 1j * trial[f"{half} foot v"]
    centre = -1j * trial[f"{half} long"]
    level = np.ones_like(low)
    down = -1j * np.exp(1j * trial[f"{half} lean"])
    hang = (foot - hip) / np.abs(foot - hip)
    side = angle_of(trial, half, "skirt side", paired=paired)
    hem = angle_of(trial, half, "hem side", paired=paired)
    lines = {
        "waist": line_through(
            np.zeros_like(low),
            level,
            low,
            -down * np.exp(-1j * side),
            reach(trial, f"{half} waist"),
            list(folds.values()),
        ),
        "hip curve": line_through(low, down, hip, hang, reach(trial, f"{half} hip curve")),
        "hem": line_through(centre, level, foot, hang * np.exp(1j * hem), reach(trial, f"{half} hem")),
    }
    return HalfLines(corners={"low": low, "hip": hip, "foot": foot, "centre": centre}, lines=lines, folds=folds)
