"""Which of the printed lines are a pitch apart: half lines between them, heavier ones among them."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from calibration.lattice.centres import LineCentres

_HEAVY_STEPS = (2, 3, 4, 5, 6, 8, 10, 12)
_HEAVIER = np.log(1.15)  # of a line's strength over its neighbours': the least that shows
_FEWEST_CELLS = 3  # compared along a line
_AGREEING = 0.75  # of all lines, that a step must explain
_SURE = np.log(1.7)  # above it a heavier line is not merely a wider one
_PALE = np.log(4.0)  # above it the lines between are half lines even if no third kind of line is there
# whole units of mats and papers: a second set of lines half as far apart is then a set of half lines (common practice)
_WHOLE_UNITS_MM = (10.0, 20.0, 25.4, 50.0, 50.8, 100.0)
WIDEST_VIEW_MM = 1800.0  # across a picture of one mat on one table

Lines = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Every ``step``-th line found, from ``first`` of each family, is a pitch line.

    ``heavy_every`` (in pitches, 0: none) with ``heavy``, one heavy line of each family (line numbers as found);
    ``doubt`` says that the step is not certain.
    """

    step: int
    first: tuple[int, int]
    heavy_every: int = 0
    heavy: tuple[int, int] = (0, 0)
    doubt: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pattern:
    step: int
    excess: float  # log of the heavy lines' strength over their neighbours'
    first: tuple[int, int]


def pitch_level(
    centres: LineCentres, lines: Lines, *, pitch_mm: float, cells_across: float, faint_between: bool = False
) -> Level:
    """Decide which lines are meant by the pitch told.

    Half lines are stepped over when the pitch is a whole unit. A pitch that would make the picture wider than any
    table takes the next heavier lines.

    Parameters
    ----------
    cells_across : float
        How many lines fit across the picture.
    faint_between
        Whether the finest lines were only found by looking for them between the others.
    """
    step, first, doubt = 1, (lines[0][0], lines[1][0]), False
    whole = any(abs(pitch_mm - unit) < 0.02 * unit for unit in _WHOLE_UNITS_MM)
    every_other = _pattern(centres, lines, first, step, (2,)) if whole else None
    if every_other is None:
        coarser = _pattern(centres, lines, first, step, (4, 5, 10))
        if coarser is not None and cells_across * pitch_mm > WIDEST_VIEW_MM:
            step, first, doubt = coarser.step, coarser.first, True
            every_other = _pattern(centres, lines, first, step, (2,)) if whole else None
        elif whole and faint_between:
            every_other = _stronger_parity(centres, lines)
    if every_other is not None:
        step, first = 2 * step, every_other.first
        doubt = doubt or (every_other.excess < _SURE and not faint_between)
    level = heavy_level(centres, lines, step=step, first=first)
    if not level.heavy_every:
        # two levels only: half and whole lines, or whole and heavier ones, unless the finer are very pale
        unsure = step == 2 and every_other is not None and every_other.excess < _PALE and not faint_between
        return replace(level, doubt=doubt or unsure)
    return replace(level, doubt=doubt)


def heavy_level(centres: LineCentres, lines: Lines, *, step: int, first: tuple[int, int]) -> Level:
    """Which lines are heavier where every ``step``-th, from ``first`` of each family, is known to be a pitch line."""
    start = (lines[0][0] + (first[0] - lines[0][0]) % step, lines[1][0] + (first[1] - lines[1][0]) % step)
    heavy = _pattern(centres, lines, start, step, _HEAVY_STEPS)
    if heavy is None:
        return Level(step=step, first=first)
    return Level(step=step, first=first, heavy_every=heavy.step, heavy=heavy.first)


def _pattern(
    centres: LineCentres, lines: Lines, first: tuple[int, int], step: int, tried: tuple[int, ...]
) -> _Pattern | None:
    """The heavier lines among every ``step``-th line; None where no regular step shows both ways."""
    counted = [np.arange(f, last + 1, step) for f, (_, last) in zip(first, lines, strict=True)]
    excess = [_excess(centres, family, own) for family, own in enumerate(counted)]
    for every in tried:
        found = [_phase(values, every) for values in excess]
        if found[0] is None or found[1] is None:
            continue
        (phase_x, share_x, size_x), (phase_y, share_y, size_y) = found[0], found[1]
        if min(share_x, share_y) >= _AGREEING:  # a multiple of the true step would explain no less: the smallest wins
            at = (int(counted[0][phase_x]), int(counted[1][phase_y]))
            return _Pattern(step=every, excess=min(size_x, size_y), first=at)
    return None


def _stronger_parity(centres: LineCentres, lines: Lines) -> _Pattern | None:
    """Every other line stronger than those between, all together, where too little is seen to compare neighbours."""
    first, excess = [], []
    for family, (start, _) in enumerate(lines):
        own = centres.family == family
        odd = (centres.line[own] - start) % 2 == 1
        if odd.all() or not odd.any():
            return None
        strength = np.log(centres.strength[own])
        more = float(np.median(strength[odd]) - np.median(strength[~odd]))
        first.append(start + int(more > 0))
        excess.append(abs(more))
    return _Pattern(step=2, excess=min(excess), first=(first[0], first[1])) if min(excess) > _SURE else None


def _excess(centres: LineCentres, family: int, counted: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """Log strength of each counted line over its two neighbours', compared cell by cell along it; NaN where unknown.

    Neighbours share light, wear and what covers them, so that a heavy line under tissue still stands out.
    """
    own = np.flatnonzero(centres.family == family)
    start = int(centres.along[own].min())
    table = np.full((len(counted), int(centres.along[own].max()) - start + 1), np.nan)
    row = {int(line): i for i, line in enumerate(counted)}
    for i in own[np.isin(centres.line[own], counted)]:
        table[row[int(centres.line[i])], centres.along[i] - start] = np.log(centres.strength[i])
    middle = (table[:-2] + table[2:]) / 2
    difference = table[1:-1] - middle
    known = np.isfinite(difference).sum(1) >= _FEWEST_CELLS
    out = np.full(len(counted), np.nan)
    out[1:-1][known] = np.nanmedian(difference[known], axis=1)
    return out


def _phase(excess: npt.NDArray[np.float64], step: int) -> tuple[int, float, float] | None:
    """Place of the first heavier line, share of lines explained, and the heavier lines' median excess."""
    known = np.isfinite(excess)
    best = None
    for phase in range(min(step, len(excess))):
        heavy = np.zeros(len(excess), bool)
        heavy[phase::step] = True
        inside, outside = excess[heavy & known], excess[~heavy & known]
        if len(inside) < 2 or len(outside) < 1:
            continue
        size = float(np.median(inside))
        if size < _HEAVIER:
            continue
        cut = max(0.5 * size, 0.5 * _HEAVIER)
        share = min(float(np.mean(inside > cut)), float(np.mean(outside < cut)))
        if best is None or share > best[1]:
            best = (phase, share, size)
    return best
