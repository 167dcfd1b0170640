"""Which of the printed lines are a pitch apart: finer lines between them, heavier ones among them."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.centres import LineCentres

_HEAVY_STEPS = (2, 3, 4, 5, 6, 8, 10, 12)
_HEAVIER = 1.2  # times the others' strength: the least that shows
_HALF_LINES = 2.0  # times: above it, every other line is a half line rather than an ordinary one
_FEWEST_POINTS = 3
_WHOLE_UNITS_MM = (10.0, 20.0, 25.4, 50.0, 50.8)
_WIDEST_VIEW_MM = 1800.0  # across a picture of one mat on one table


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Every ``step``-th line found, from ``first_x`` and ``first_y``, is a pitch line.

    ``heavy_every`` (in pitches, 0: none) with ``heavy_x``, ``heavy_y`` (line numbers as found); ``doubt`` says that the
    step is not certain.
    """

    step: int
    first_x: int
    first_y: int
    heavy_every: int
    heavy_x: int
    heavy_y: int
    doubt: bool


def strengths(centres: LineCentres, lines: tuple[tuple[int, int], tuple[int, int]]) -> list[npt.NDArray[np.float64]]:
    """Median strength of each line of both families, NaN where too little was seen."""
    out = []
    for family, (first, last) in enumerate(lines):
        own = centres.family == family
        values = np.full(last - first + 1, np.nan)
        for line in range(first, last + 1):
            some = centres.strength[own & (centres.line == line)]
            if len(some) >= _FEWEST_POINTS:
                values[line - first] = np.median(some)
        out.append(values)
    return out


def pitch_level(
    centres: LineCentres, lines: tuple[tuple[int, int], tuple[int, int]], *, pitch_mm: float, cells_across: float
) -> Level:
    """Decide which lines are meant by the pitch told.

    Half lines (every other line at least twice as strong) are stepped over when the pitch is a whole unit; a pitch that
    would make the picture wider than any table takes the next heavier lines.
    """
    families = strengths(centres, lines)
    step, first = 1, [lines[0][0], lines[1][0]]
    doubt = False
    found = _pattern(families, steps=(2,))
    whole = any(abs(pitch_mm - unit) < 0.02 * unit for unit in _WHOLE_UNITS_MM)
    if found is not None and found[1] >= _HALF_LINES and whole:
        step, first = 2, [lines[0][0] + found[2], lines[1][0] + found[3]]
    elif found is not None and whole:
        doubt = True
    wide = _pattern(families, steps=(5, 10))
    if wide is not None and cells_across / step * pitch_mm > _WIDEST_VIEW_MM and wide[0] % step == 0:
        step, first, doubt = wide[0], [lines[0][0] + wide[2], lines[1][0] + wide[3]], True
    kept = [values[(f - line[0]) :: step] for values, f, line in zip(families, first, lines, strict=True)]
    heavy = _pattern(kept, steps=_HEAVY_STEPS)
    if heavy is None:
        return Level(step=step, first_x=first[0], first_y=first[1], heavy_every=0, heavy_x=0, heavy_y=0, doubt=doubt)
    return Level(
        step=step,
        first_x=first[0],
        first_y=first[1],
        heavy_every=heavy[0],
        heavy_x=first[0] + step * heavy[2],
        heavy_y=first[1] + step * heavy[3],
        doubt=doubt and heavy[0] == 2,
    )


def _pattern(families: list[npt.NDArray[np.float64]], *, steps: tuple[int, ...]) -> tuple[int, float, int, int] | None:
    """Step, ratio of strength, and place of the first heavier line in each family; None where no step shows."""
    best: tuple[float, int, float, int, int] | None = None
    for step in steps:
        found = [_heavier(values, step) for values in families]
        if any(one is None for one in found):
            continue
        (phase_x, ratio_x, clean_x), (phase_y, ratio_y, clean_y) = (one for one in found if one is not None)
        ratio, clean = float(np.sqrt(ratio_x * ratio_y)), min(clean_x, clean_y)
        if min(ratio_x, ratio_y) >= _HEAVIER and (best is None or clean > best[0]):
            best = (clean, step, ratio, phase_x, phase_y)
    return None if best is None else best[1:]


def _heavier(values: npt.NDArray[np.float64], step: int) -> tuple[int, float, float] | None:
    """Phase of the heavier lines, their strength over the others', and how cleanly the two groups part.

    The outermost lines are a border as often as not and do not vote.
    """
    inner = values.copy()
    inner[[0, -1]] = np.nan
    best = None
    for phase in range(step):
        heavy, light = inner[phase::step], np.delete(inner, np.arange(phase, len(inner), step))
        heavy, light = heavy[np.isfinite(heavy)], light[np.isfinite(light)]
        if len(heavy) < 2 or len(light) < 2:
            continue
        ratio = float(np.median(heavy) / np.median(light))
        # a step that is a multiple of the true one leaves heavy lines among the light: their share spoils the cut
        cut = float(np.sqrt(np.median(heavy) * np.median(light)))
        clean = float(np.mean(heavy > cut) + np.mean(light < cut))
        if best is None or ratio * clean > best[1] * best[2]:
            best = (phase, ratio, clean)
    return best
