"""A one-piece sleeve drawn: two halves of the cap from the crown, underarm seams alike, the wrist square to both.

Frame: u = 0 midway between the ends of the cap, u > 0 towards the front, v = 0 at the underarm line.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from convert.block.trued.bodice import reach
from convert.block.trued.curve import Complex
from convert.block.trued.folded import Line, line_through
from convert.block.trued.unknowns import Trial

_LEAN_SHARE = (
    0.5  # of the seam's taper, in which it leaves the underarm and reaches the wrist: our choice, a mild curve
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SleeveLines:
    """Crown (B,) and lines of a sleeve: front and back half of the cap from the crown, front seam, wrist."""

    crown: Complex
    lines: Mapping[str, Line]


def sleeve_lines(trial: Trial) -> SleeveLines:
    """A sleeve drawn."""
    wide, cuff, low = trial["sleeve wide"] / 2.0, trial["sleeve cuff"] / 2.0, trial["sleeve low"]
    crown: Complex = trial["crown u"] + 1j * trial["crown v"]
    lean = _LEAN_SHARE * np.arctan2(wide - cuff, -low)
    level = np.ones_like(crown)
    down = -1j * np.exp(-1j * lean)  # the front seam, downwards
    in_front, in_back = down * -1j, -np.conj(down * -1j)
    front, wrist = wide + 0j, cuff + 1j * low
    lines = {
        "front cap": line_through(crown, level, front, -in_front, reach(trial, "front cap")),
        "back cap": line_through(crown, -level, -front, -in_back, reach(trial, "back cap")),
        "seam": line_through(front, down, wrist, down, reach(trial, "seam")),
        "wrist": line_through(wrist, down * -1j, -np.conj(wrist), np.conj(down * -1j), reach(trial, "wrist")),
    }
    return SleeveLines(crown=crown, lines=lines)
