"""Which of the printed lines are a pitch apart: half lines between them, heavier ones among them."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from calibration.lattice.inked import Inked

_HEAVY_STEPS = (2, 3, 4, 5, 6, 8, 10, 12)
_HEAVIER = np.log(1.15)  # of a line's ink over its neighbours': the least that shows
_RARELY, _CLEARLY_HEAVIER = 6, np.log(1.3)  # of lines so far apart few are seen: they must stand out more
_FEWEST_CELLS = 3  # compared along a line
_SEEN = 4.0  # noise widths that a line or one of its neighbours must reach where they are compared
_AGREEING = 0.75  # of all lines, that a step must explain
_DASHED, _WHOLE = 0.8, 0.85  # inked share of a line's length: below, over the others' share, it is dashed or dotted
_PALE = np.log(4.0)  # above it the lines between are half lines even if no third kind of line is there
# whole units of mats and papers: a second set of lines half as far apart is then a set of half lines (common practice)
_WHOLE_UNITS_MM = (10.0, 20.0, 25.4, 50.0, 50.8, 100.0)
WIDEST_VIEW_MM = 1800.0  # across a picture of one mat on one table
SURE = 0.99

# What speaks for a reading, in natural logarithms of odds. Our choice: 3 is "one in twenty", 7 "one in a thousand".
_NO_MAT_HAS_DASHED_UNITS = 8.0  # whole lines with dashed ones half-way: the whole lines are the unit's
_HALF_LINES = 1.5  # fainter lines half-way, rather than a heavier line at every second unit
_THIRD_KIND = 3.5  # and heavier ones among the others: three kinds of line
_MUCH_PALER = 3.5
_UNIT_HALVED = -5.0  # a pitch that is no whole unit was told because such lines are printed
# lines at a fourth, fifth, eighth or tenth of a whole unit, rather than heavier lines at so many units
_FINE_PAPER = {4: -5.0, 5: -6.0, 8: -6.0, 10: -5.0}
_FIVES_AND_TENS = 6.0  # both: millimetre paper has them
_MADE_OF_UNITS_MM, _OF_UNITS = 50.0, 8.0  # five centimetres and more are told of a mat with centimetres between
_USUAL_VIEW_MM, _VIEW_SPREAD = 500.0, 1.0  # across a picture; the spread in logarithms
_NO_VIEW = -4.0  # wider than any table, or narrower than a hand
_NARROWEST_VIEW_MM = 60.0

Lines = tuple[tuple[int, int], tuple[int, int]]
Table = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Every ``step``-th line found, from ``first`` of each family, is a pitch line.

    ``heavy_every`` (in pitches, 0: none) with ``heavy``, one heavy line of each family (line numbers as found);
    ``sure`` is the probability of the step, and ``other`` the next likely one.
    """

    step: int
    first: tuple[int, int]
    heavy_every: int = 0
    heavy: tuple[int, int] = (0, 0)
    sure: float = 1.0
    other: float = 0.0

    @property
    def doubt(self) -> bool:
        """Whether the step is not certain."""
        return self.sure < SURE


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pattern:
    """Every ``step``-th line has more ink: ``excess`` is the log of it; ``dashed`` tells that the others have gaps."""

    step: int
    excess: float
    first: tuple[int, int]
    dashed: bool


def pitch_level(
    ink: tuple[Inked, Inked], lines: Lines, *, pitch_mm: float, cells_across: float, faint_between: bool = False
) -> Level:
    """Weigh the ways in which the lines found can be the ones told of.

    Parameters
    ----------
    ink
        What is printed along the lines of each family.
    cells_across : float
        How many lines fit across the picture.
    faint_between
        Whether the finest lines were only found by looking for them between the others.
    """
    start = (lines[0][0], lines[1][0])
    whole = any(abs(pitch_mm - unit) < 0.02 * unit for unit in _WHOLE_UNITS_MM)
    odds = {1: (_view_odds(cells_across * pitch_mm), start)}
    halves = _pattern(ink, lines, start, 1, (2,))
    if halves is not None:
        third = _pattern(ink, lines, halves.first, 2, _HEAVY_STEPS[1:])
        odds[2] = (_half_odds(halves, third, whole=whole, faint=faint_between), halves.first)
    odds |= _coarser(ink, lines, pitch_mm=pitch_mm, whole=whole)
    weighed = {
        step: (of + (0.0 if step == 1 else _view_odds(cells_across * pitch_mm / step)), first)
        for step, (of, first) in odds.items()
    }
    return _chosen(ink, lines, weighed)


def _chosen(ink: tuple[Inked, Inked], lines: Lines, weighed: dict[int, tuple[float, tuple[int, int]]]) -> Level:
    """The likeliest step, with how sure it is."""
    steps = sorted(weighed, key=lambda step: -weighed[step][0])
    share = np.exp([weighed[step][0] - weighed[steps[0]][0] for step in steps])
    level = heavy_level(ink, lines, step=steps[0], first=weighed[steps[0]][1])
    return replace(level, sure=float(1 / share.sum()), other=float(steps[1]) if len(steps) > 1 else 0.0)


def _coarser(
    ink: tuple[Inked, Inked], lines: Lines, *, pitch_mm: float, whole: bool
) -> dict[int, tuple[float, tuple[int, int]]]:
    """What speaks for every fourth, fifth, eighth or tenth line being the one told of, where these are heavier."""
    coarse = _pattern(ink, lines, (lines[0][0], lines[1][0]), 1, (4, 5, 8, 10))
    if coarse is None:
        return {}
    made_up = _OF_UNITS if pitch_mm >= _MADE_OF_UNITS_MM else 0.0
    tens = _pattern(ink, lines, coarse.first, 5, (2,)) if coarse.step == 5 and whole and not made_up else None
    if tens is not None:
        return {10: (_FINE_PAPER[10] + _FIVES_AND_TENS, tens.first)}
    return {coarse.step: (_FINE_PAPER[coarse.step] + made_up, coarse.first)}


def _half_odds(halves: _Pattern, third: _Pattern | None, *, whole: bool, faint: bool) -> float:
    """What speaks for every second line being the one told of."""
    if not whole:
        return _UNIT_HALVED
    if halves.dashed:
        return _NO_MAT_HAS_DASHED_UNITS
    return float(
        _HALF_LINES + _THIRD_KIND * (third is not None) + _MUCH_PALER * (halves.excess > _PALE) + _MUCH_PALER * faint
    )


def _view_odds(view_mm: float) -> float:
    """How likely a picture shows so much of a table."""
    odd = _NO_VIEW if view_mm > WIDEST_VIEW_MM or view_mm < _NARROWEST_VIEW_MM else 0.0
    return odd - 0.5 * float(np.log(view_mm / _USUAL_VIEW_MM) / _VIEW_SPREAD) ** 2


def heavy_level(ink: tuple[Inked, Inked], lines: Lines, *, step: int, first: tuple[int, int]) -> Level:
    """Which lines are heavier where every ``step``-th, from ``first`` of each family, is known to be a pitch line."""
    start = (lines[0][0] + (first[0] - lines[0][0]) % step, lines[1][0] + (first[1] - lines[1][0]) % step)
    heavy = _pattern(ink, lines, start, step, _HEAVY_STEPS)
    if heavy is None:
        return Level(step=step, first=first)
    return Level(step=step, first=first, heavy_every=heavy.step, heavy=heavy.first)


def _pattern(
    ink: tuple[Inked, Inked], lines: Lines, first: tuple[int, int], step: int, tried: tuple[int, ...]
) -> _Pattern | None:
    """The lines with more ink among every ``step``-th line; None where no regular step shows both ways."""
    counted = [np.arange(f, last + 1, step) for f, (_, last) in zip(first, lines, strict=True)]
    compared = [_compared(one, own) for one, own in zip(ink, counted, strict=True)]
    for every in tried:
        found = [_phase(excess, weight, every) for excess, weight, _ in compared]
        if found[0] is None or found[1] is None:
            continue
        (phase_x, share_x, size_x), (phase_y, share_y, size_y) = found[0], found[1]
        if min(share_x, share_y) >= _AGREEING:  # a multiple of the true step would explain no less: the smallest wins
            at = (int(counted[0][phase_x]), int(counted[1][phase_y]))
            shares = [own for *_, own in compared]
            dashed = _gaps(shares, (phase_x, phase_y), every)
            return _Pattern(step=every, excess=min(size_x, size_y), first=at, dashed=dashed)
    return None


def _compared(ink: Inked, counted: npt.NDArray[np.int64]) -> tuple[Table, Table, Table]:
    """Log ink of each counted line over its neighbours', the cells compared, its inked share; NaN where unknown.

    Lines are compared cell by cell: neighbours share light, wear and cover, so that a heavy line under tissue
    still stands out. What lies on the mat hides all three, and is left out.
    """
    rows = counted - ink.first
    known = (rows >= 0) & (rows < len(ink.mean))
    excess, share = (np.full(len(counted), np.nan) for _ in range(2))
    weight = np.zeros(len(counted))
    if known.sum() < 3:
        return excess, weight, share
    mean, noise, inked = (table[rows[known]] for table in (ink.mean, ink.noise, ink.share))
    seen = mean > _SEEN * noise
    beside = (mean[:-2] + mean[2:]) / 2
    shown = (seen[1:-1] | (seen[:-2] & seen[2:])) & np.isfinite(mean[1:-1] + beside)
    own, other = np.maximum(mean[1:-1], 0) + noise[1:-1], np.maximum(beside, 0) + noise[1:-1]
    ratio = np.where(shown, np.log(own / other), np.nan)
    middle = np.flatnonzero(known)[1:-1]
    excess[middle] = _medians(ratio)
    weight[middle] = np.isfinite(ratio).sum(1)
    share[np.flatnonzero(known)] = _medians(np.where(seen, inked, np.nan))
    return excess, weight, share


def _medians(table: Table) -> Table:
    """Median of each row's known values; NaN where these are few."""
    enough = np.isfinite(table).sum(1) >= _FEWEST_CELLS
    out = np.full(len(table), np.nan)
    if enough.any():
        out[enough] = np.nanmedian(table[enough], axis=1)
    return out


def _gaps(shares: list[Table], phases: tuple[int, int], every: int) -> bool:
    """Whether the lines between have gaps and the others do not."""
    heavy = [np.arange(len(own)) % every == phase for own, phase in zip(shares, phases, strict=True)]
    pooled, chosen = np.concatenate(shares), np.concatenate(heavy)
    inside, outside = pooled[chosen & np.isfinite(pooled)], pooled[~chosen & np.isfinite(pooled)]
    if not len(inside) or not len(outside):
        return False
    return float(np.median(inside)) > _WHOLE and float(np.median(outside)) < _DASHED * float(np.median(inside))


def _phase(excess: Table, weight: Table, step: int) -> tuple[int, float, float] | None:
    """Place of the first heavier line, share of lines explained, and the heavier lines' median excess.

    A line counts as much as the cells it was compared in: where things lie about, little is seen and that is muddled.
    """
    known = np.isfinite(excess)
    best = None
    for phase in range(min(step, len(excess))):
        heavy = np.zeros(len(excess), bool)
        heavy[phase::step] = True
        inside, outside = heavy & known, ~heavy & known
        if inside.sum() < 2 or outside.sum() < 1:
            continue
        size = _weighted_median(excess[inside], weight[inside])
        if size < (_CLEARLY_HEAVIER if step >= _RARELY else _HEAVIER):
            continue
        cut = max(0.5 * size, 0.5 * _HEAVIER)
        share = min(
            float(np.average(excess[inside] > cut, weights=weight[inside])),
            float(np.average(excess[outside] < cut, weights=weight[outside])),
        )
        if best is None or share > best[1]:
            best = (phase, share, size)
    return best


def _weighted_median(values: Table, weight: Table) -> float:
    order = np.argsort(values)
    reached = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(reached, 0.5 * reached[-1])])
