"""What body a pattern was drafted for when nobody tells: the likeliest row of a size chart together with the ease.

Every row of every chart is a hypothesis. Under it, pattern less row is ease; how likely that ease is follows from how
close patterns are cut: four ways of cutting, each with usual ease at bust, waist, hip and upper arm. At the bust the
first lies in one text's wearing ease and the second in another's ease altogether (:mod:`convert.block.ease`); all else
is our choice, because nobody publishes it: the roomier two follow the trade's words for fit. The scale of a pattern
cannot be told from its ease alone, so the answer is a guess with alternatives.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from convert.block.block import Measured
from convert.body.card import LengthUnit
from convert.body.charts import DEFAULT_CHART, FROM_MEMORY, Chart, body_at_bust, charts, nearest_row, row
from convert.body.charts import chart as chart_named
from convert.body.definitions import body_name
from convert.body.wording import format_body_mm, listed
from convert.piece.piece import Evidence

_LIKELY, _SURE = 0.5, 0.85  # share of all rows above which a guess is called likely, fairly sure
_NOTHING = (
    "Nothing says what size the pattern was drafted for, so its ease is not known. Look on the envelope, and write it "
    "under [pattern] in job.toml."
)
_NAMED, _SHOWN = 0.08, 3  # rows at least this likely are alternatives, and at most so many
_SMALLEST_MM = 3.0  # a body is drafted to about this
_FILLED_MM = 20.0  # how far charts of one bust differ at another level (the charts here, at equal bust)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cut:
    """One way of cutting: usual ease and its spread (mm) by level, and how common it is (own guess)."""

    share: float
    ease: Mapping[str, tuple[float, float]]


_CUTS = (
    _Cut(
        share=0.25,
        ease={"bust": (50, 15), "waist": (20, 12), "hip": (50, 15), "upper arm": (45, 15), "wrist": (40, 25)},
    ),
    _Cut(
        share=0.45,
        ease={"bust": (85, 18), "waist": (45, 22), "hip": (65, 18), "upper arm": (55, 18), "wrist": (50, 30)},
    ),
    _Cut(
        share=0.2,
        ease={"bust": (120, 22), "waist": (95, 35), "hip": (90, 25), "upper arm": (80, 25), "wrist": (70, 40)},
    ),
    _Cut(
        share=0.1,
        ease={"bust": (180, 45), "waist": (180, 60), "hip": (140, 45), "upper arm": (120, 45), "wrist": (90, 50)},
    ),
)
# Lengths and the neck do not follow the cut: what they are let out by, and its spread: our choice.
_FIXED: Mapping[str, tuple[float, float]] = {"back waist length": (3.0, 8.0), "neck": (15.0, 20.0)}
# How common a chart is among patterns that do not say: the present one most, figures from memory least (own guess).
_CHART_WEIGHT: Mapping[str, float] = {
    "misses since 1968": 1.0,
    "misses 1956-67": 0.15,
    "misses 1945-56": 0.15,
    "women's since 1968": 0.3,
    "miss petite since 1968": 0.05,
    "german": 0.4,
    "astm d5585-11 straight": 0.2,
    "astm d5585-11 curvy": 0.1,
}
_YEARS: Mapping[str, tuple[int, int]] = {
    "misses 1945-56": (1940, 1957),
    "misses 1956-67": (1956, 1968),
    "misses since 1968": (1967, 2200),
    "women's since 1968": (1967, 2200),
    "miss petite since 1968": (1967, 2200),
    "german": (1950, 2200),
    "astm d5585-11 straight": (2005, 2200),
    "astm d5585-11 curvy": (2005, 2200),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftedRow:
    """One row of a chart as a guess: its body, the ease the pattern would then have (mm), its share of all guesses."""

    chart: str
    size: str
    status: str
    body: Mapping[str, float]
    ease: Mapping[str, float]
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Drafted:
    """What the pattern was drafted for: ``body`` (mm by name), on what evidence, in words, and what else it may be.

    ``assumed`` names the measurements of ``body`` that nobody told.
    """

    body: Mapping[str, float]
    evidence: Evidence
    sentence: str
    guess: DraftedRow | None = None
    alternatives: tuple[DraftedRow, ...] = ()
    sure: str = ""
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "body", MappingProxyType(dict(self.body)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Hints:
    """What little was told: a size without a chart, the pattern's year, single measurements of its body (mm)."""

    size: str | None = None
    year: int | None = None
    body: Mapping[str, float] = field(default_factory=dict)


def drafted_for(
    measured: Sequence[Measured],
    *,
    told: Mapping[str, float] | None = None,
    hints: Hints | None = None,
    sizes: Iterable[Chart] | None = None,
    unit: LengthUnit = "cm",
) -> Drafted:
    """The body a pattern was drafted for: as told, or else the likeliest row and ease together.

    Parameters
    ----------
    measured
        The pattern's own measurements, girths all the way round.
    told
        The body told, mm by name, any subset; it stands, and girths it lacks are taken from the chart row nearest to
        it.
    hints
        What narrows the guess down: a size without a chart, the year.
    sizes
        The charts to look through, by default those that come with the program.

    Returns
    -------
    Drafted
        ``body`` is empty if the pieces tell nothing of it.
    """
    if told:
        return _completed(measured, told, hints or Hints(), tuple(charts().values() if sizes is None else sizes), unit)
    rows = _guesses(measured, hints or Hints(), tuple(charts().values() if sizes is None else sizes))
    if not rows:
        return Drafted(body={}, evidence="assumed", sentence=_NOTHING)
    merged = _by_body(rows)
    best = merged[0]
    others = tuple(one for one in merged[1:] if one.share >= _NAMED)[:_SHOWN]
    sure = "fairly sure" if best.share >= _SURE else "likely" if best.share >= _LIKELY else "only a guess"
    return Drafted(
        body=best.body,
        evidence="assumed",
        assumed=tuple(best.body),
        sentence=_sentence(best, others, sure, unit),
        guess=best,
        alternatives=others,
        sure=sure,
    )


def _completed(
    measured: Sequence[Measured], told: Mapping[str, float], hints: Hints, sizes: Sequence[Chart], unit: LengthUnit
) -> Drafted:
    """What was told, and the girths that were not from the row nearest to it of the likeliest chart that has them."""
    there = {body_name(one.name) for one in measured}
    missing = [name for name in ("bust", "waist", "hip") if name in there and name not in told]
    if not missing:
        return Drafted(body=told, evidence="told", sentence="")
    near = [
        (nearest_row(one, told, unit=unit), one)
        for one in sorted(sizes, key=lambda one: -_prior(one, hints, 1))
        if all(name in one.columns for name in missing) and any(name in one.columns for name in told)
    ]
    choice, of = next(((choice, one) for choice, one in near if not choice.beyond), (None, None))
    if choice is None or of is None:
        return Drafted(body=told, evidence="told", sentence="")
    filled: dict[str, float] = {name: choice.row[name] for name in missing}
    words = listed([f"{name} {format_body_mm(mm, unit)}" for name, mm in filled.items()])
    said = (
        f"Not all that the pattern was drafted for was told. Taken from size {choice.size} of “{of.name}”, nearest to "
        f"what was told: {words}."
    )
    said += _from_memory(*([of.name] if of.status == FROM_MEMORY else []))
    return Drafted(body={**told, **filled}, evidence="told", sentence=said, assumed=tuple(filled))


def _from_memory(*named: str) -> str:
    """That a chart which was taken or named is written from memory; an empty text if none is."""
    return "".join(f" The figures of “{name}” are from memory." for name in named)


def _by_body(rows: Sequence[DraftedRow]) -> list[DraftedRow]:
    """Rows, likeliest first, those of one body (whatever they are called) as the likeliest of them."""
    merged: list[DraftedRow] = []
    for one in rows:
        k = next((k for k, kept in enumerate(merged) if _same_body(kept, one)), None)
        if k is None:
            merged.append(one)
        else:
            merged[k] = replace(merged[k], share=merged[k].share + one.share)
    return sorted(merged, key=lambda one: -one.share)


def _guesses(measured: Sequence[Measured], hints: Hints, sizes: Sequence[Chart]) -> list[DraftedRow]:
    found = {one.name: one for one in measured}
    for name in ("skirt waist", "trousers waist", "trousers hip"):
        if name in found:
            found.setdefault(body_name(name), found[name])
    scored: list[tuple[float, DraftedRow]] = []
    for chart in sizes:
        labels = [size for size in chart.sizes if hints.size is None or size == hints.size]
        for size in labels:
            body = row(chart, size)
            usual = _usual_body(body)
            ease = {name: found[name].mm - usual[name] for name in _known_levels() if name in usual and name in found}
            if ease:
                doubt = {name: 0.0 if name in body else _FILLED_MM for name in ease}
                log = _log_likelihood(ease, found, doubt) + np.log(_prior(chart, hints, len(labels)))
                scored.append((log, _row(chart, size, body, {n: mm for n, mm in ease.items() if n in body} or ease)))
    if not scored:
        return []
    logs = np.array([log for log, _ in scored])
    shares = np.exp(logs - logs.max())
    shares /= shares.sum()
    order = np.argsort(-shares, kind="stable")
    return [replace(scored[int(i)][1], share=float(shares[i])) for i in order]


def _known_levels() -> tuple[str, ...]:
    return (*_CUTS[0].ease, *_FIXED)


def _usual_body(body: Mapping[str, float]) -> dict[str, float]:
    """A row with what its chart lacks taken in proportion from the misses chart, so that all rows are judged alike."""
    if "bust" not in body:
        return dict(body)
    usual = body_at_bust(chart_named(DEFAULT_CHART), body["bust"])
    return {**{name: mm for name, mm in usual.items() if name in _known_levels()}, **body}


def _log_likelihood(ease: Mapping[str, float], found: Mapping[str, Measured], doubt: Mapping[str, float]) -> float:
    """Of these eases together: the way of cutting is common to all levels; ``doubt`` (mm) of the row itself."""

    def log(name: str, usual: float, spread: float) -> float:
        sd = float(np.linalg.norm([spread, found[name].uncertainty_mm / 2.0, _SMALLEST_MM, doubt[name]]))
        # a Student t with four degrees of freedom: one odd edge does not decide alone
        return float(-2.5 * np.log1p(((ease[name] - usual) / sd) ** 2 / 4.0) - np.log(sd))

    ways = [np.log(cut.share) + sum(log(name, *cut.ease[name]) for name in ease if name in cut.ease) for cut in _CUTS]
    return float(np.logaddexp.reduce(ways)) + sum(log(name, *_FIXED[name]) for name in ease if name in _FIXED)


def _prior(chart: Chart, hints: Hints, rows: int) -> float:
    weight = _CHART_WEIGHT.get(chart.name, 1.0)
    if hints.year is not None and chart.name in _YEARS:
        first, last = _YEARS[chart.name]
        weight = max(weight, 0.3) if first <= hints.year <= last else 0.01 * weight
    return weight / rows


def _row(chart: Chart, size: str, body: Mapping[str, float], ease: Mapping[str, float]) -> DraftedRow:
    return DraftedRow(
        chart=chart.name,
        size=size,
        status=chart.status,
        body=MappingProxyType(dict(body)),
        ease=MappingProxyType(dict(ease)),
        share=0.0,
    )


def _same_body(one: DraftedRow, other: DraftedRow) -> bool:
    """Whether two rows, perhaps of two charts, are one body to half an inch at the bust, waist and hip."""
    shared = [name for name in ("bust", "waist", "hip") if name in one.body and name in other.body]
    return all(abs(one.body[name] - other.body[name]) <= 12.7 for name in shared)


def _sentence(best: DraftedRow, others: Sequence[DraftedRow], sure: str, unit: LengthUnit) -> str:
    level = next((name for name in ("bust", "hip", "waist") if name in best.ease), next(iter(best.ease)))
    girths = [name for name in ("bust", "waist", "hip") if name in best.body] or [level]
    body = listed([f"{name} {format_body_mm(best.body[name], unit)}" for name in girths])

    def then(one: DraftedRow) -> str:
        return f"the pattern then has {format_body_mm(one.ease[level], unit)} of ease at the {level}"

    lead = {"fairly sure": "It is fairly sure to be", "likely": "It is likely"}.get(sure, "A guess is")
    said = (
        "Nothing says what size the pattern was drafted for. "
        f"{lead} size {best.size} of “{best.chart}”: {body}; {then(best)}."
    )
    for one in others:
        if level in one.ease:
            chart = "" if one.chart == best.chart else f" of “{one.chart}”"
            said += f" Or size {one.size}{chart}: {then(one)}."
    said += _from_memory(*dict.fromkeys(one.chart for one in (best, *others) if one.status == FROM_MEMORY))
    return f"{said} Look on the envelope, and write it under [pattern] in job.toml."
