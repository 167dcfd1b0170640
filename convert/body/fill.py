"""A whole body from the measurements there are: the rest estimated, each marked, with what it was estimated from.

Starting from a body of known proportions (what the pattern was drafted for, or a size chart's body of the same bust),
every missing measurement is moved as far as the survey says it moves when those that were told differ. A measurement
that nobody told about either body therefore stays as the pattern has it, and alters nothing on the paper by itself.
"""

from collections.abc import Iterable, Mapping
from functools import cache

import numpy as np

from convert.body.card import BodyMeasurement, Card
from convert.body.charts import DEFAULT_CHART, Chart, body_at_bust, chart
from convert.body.definitions import definitions, needed_for
from convert.body.survey import OWN_RULES, Array, Statistics, stored_statistics, with_own_rules
from convert.body.wording import format_body_mm, listed

_Z95 = 1.96
# What a block depends on most; asked for first.
_FIRST = ("bust", "high bust", "waist", "hip", "body rise", "outside leg", "back waist length", "upper arm")
# A wish is not estimated: the skirt stays as long as the pattern has it.
_NOT_ESTIMATED = ("skirt length",)
_CHART_LEVELS = ("bust", "waist", "hip", "back waist length")


def fill_missing(card: Card, *, like: Mapping[str, float] | None = None, sizes: Chart | None = None) -> Card:
    """The card with every missing body measurement estimated; what was told stays as it is.

    Parameters
    ----------
    like
        The body the pattern was drafted for, mm by name, as far as it is known; missing ones are filled likewise.
    sizes
        The size chart to start from, by default the misses chart since 1968.

    Returns
    -------
    Card
        Estimates have source ``estimated``, ``uncertainty_mm`` (95 % half-width) and ``why``. The skirt length is a
        wish and is not estimated.
    """
    told = {name: mm for name, mm in card.told().items() if name not in _NOT_ESTIMATED}
    found = sizes or chart(DEFAULT_CHART)
    start = complete_body(like, sizes=found) if like else _chart_body(told, found)
    filled, spread = _moved(start, told)
    measurements = dict(card.measurements)
    for name in definitions():
        if name in told or name in _NOT_ESTIMATED:
            continue
        measurements[name] = BodyMeasurement(
            mm=filled[name],
            source="estimated",
            uncertainty_mm=spread[name],
            why=_why(name, told, like or {}, found),
        )
    ordered = {name: measurements[name] for name in definitions() if name in measurements}
    return Card(name=card.name, measurements=ordered, unit=card.unit, answered=card.answered)


def complete_body(told: Mapping[str, float], *, sizes: Chart | None = None) -> dict[str, float]:
    """Every measurement but a wish, mm: what was told, and the rest estimated as in :func:`fill_missing`."""
    kept = {name: mm for name, mm in told.items() if name not in _NOT_ESTIMATED}
    filled, _ = _moved(_chart_body(kept, sizes or chart(DEFAULT_CHART)), kept)
    return filled


def measure_next(card: Card, parts: Iterable[str]) -> tuple[str, ...]:
    """What these parts of a block need and the card only estimates or lacks, most worth measuring first."""
    open_rows = [
        name for name in needed_for(parts) if (one := card.measurements.get(name)) is None or one.source != "told"
    ]

    def worth(name: str) -> tuple[int, float]:
        one = card.measurements.get(name)
        first = _FIRST.index(name) if name in _FIRST else len(_FIRST)
        return first, -(one.uncertainty_mm / one.mm if one else 1.0)

    return tuple(sorted(open_rows, key=worth))


def next_to_measure(
    card: Card, parts: Iterable[str], *, like: Mapping[str, float] | None = None, count: int = 5
) -> tuple[str, ...]:
    """What to measure next, one sentence or three each: how, and about how much is to be expected.

    ``like`` is as for :func:`fill_missing`. At most ``count``: more would not be taken.

    Examples
    --------
    >>> bust = Card(name="maker A", measurements={"bust": BodyMeasurement(mm=914.4)})
    >>> next_to_measure(bust, ["skirt"], count=1)[0].endswith("Probably about 71 cm.")
    True
    """
    filled = fill_missing(card, like=like)

    def said(name: str) -> str:
        mm = filled.mm(name)
        about = "" if mm is None else f" Probably about {format_body_mm(mm, card.unit)}."
        return f"{name.capitalize()}: {definitions()[name].how}{about}"

    return tuple(said(name) for name in measure_next(filled, parts)[:count])


@cache
def _model() -> Statistics:
    """The survey with our own rules, its mean body set to the misses chart's of the same bust where that has one.

    The survey's waist lies at the navel, so its level is the chart's; how it varies is the survey's.
    """
    found = with_own_rules(stored_statistics())
    mean = np.array(found.mean)
    at_mean = body_at_bust(chart(DEFAULT_CHART), float(np.exp(mean[found.names.index("bust")])))
    for name in _CHART_LEVELS:
        mean[found.names.index(name)] = np.log(at_mean[name])
    return Statistics(names=found.names, mean=mean, covariance=found.covariance, n=found.n, source=found.source)


def _expected(mean: Array, told: Mapping[str, float]) -> tuple[Array, Array]:
    """Expected logarithms (K,) given those told (mm), from ``mean`` (K,), and their covariance (K, K)."""
    model = _model()
    at = model.at([name for name in model.names if name in told])
    if not at:
        return mean, model.covariance
    rest = np.log([told[model.names[i]] for i in at]) - mean[at]
    weights = np.linalg.solve(model.covariance[np.ix_(at, at)], model.covariance[at]).T
    return mean + weights @ rest, model.covariance - weights @ model.covariance[at]


def _chart_body(told: Mapping[str, float], sizes: Chart) -> dict[str, float]:
    """The chart's body of the same bust (told, or expected from what was told); what it lacks by bust and height."""
    model = _model()
    likely = np.exp(_expected(model.mean, told)[0])
    bust = float(likely[model.names.index("bust")])
    of_chart = body_at_bust(sizes, bust) if "bust" in sizes.columns else {}
    if "height" in told:
        of_chart["height"] = told["height"]
    known = {"bust": bust, **of_chart}
    body = dict(zip(model.names, map(float, np.exp(_expected(model.mean, known)[0])), strict=True))
    return {**body, **known}


def _moved(start: Mapping[str, float], told: Mapping[str, float]) -> tuple[dict[str, float], dict[str, float]]:
    """A body of the same proportions as ``start``, moved to what was told; and the 95 % half-widths, mm."""
    model = _model()
    logs, covariance = _expected(np.log([start[name] for name in model.names]), told)
    mm = np.exp(logs)
    spread = _Z95 * np.sqrt(np.clip(np.diag(covariance), 0.0, None)) * mm
    body = dict(zip(model.names, map(float, mm), strict=True)) | dict(told)
    return body | _leg(body, told), dict(zip(model.names, map(float, spread), strict=True))


def _leg(body: Mapping[str, float], told: Mapping[str, float]) -> dict[str, float]:
    """Rise, outside and inside leg made to agree, what was told standing: two of them make the third."""
    rise, outside, inside = body["body rise"], body["outside leg"], body["inside leg"]
    if "inside leg" not in told:
        return {"inside leg": outside - rise}
    if "outside leg" not in told:
        return {"outside leg": inside + rise}
    return {} if "body rise" in told else {"body rise": outside - inside}


def _why(name: str, told: Mapping[str, float], like: Mapping[str, float], sizes: Chart) -> str:
    """What an estimate comes from, as words after "estimated"."""
    base = (
        "from what the pattern was drafted for"
        if name in like
        else f"from the size chart “{sizes.name}”"
        if name in sizes.columns or (name == "height" and sizes.height_mm is not None)
        else "by a rule of our own"
        if name in OWN_RULES
        else "from a survey of 1986 women (ANSUR II)"
    )
    by = _main_drivers(name, told)
    return f"{base}, by your {listed(by)}" if by else base


def _main_drivers(name: str, told: Mapping[str, float]) -> list[str]:
    """The two told measurements that move this one most, for steps as large as each usually varies."""
    model = _model()
    at = model.at([one for one in model.names if one in told])
    if not at:
        return []
    i = model.names.index(name)
    weights = np.linalg.solve(model.covariance[np.ix_(at, at)], model.covariance[at, i])
    share = np.abs(weights) * np.sqrt(np.diag(model.covariance)[at] / model.covariance[i, i])
    best = sorted(range(len(at)), key=lambda k: -share[k])[:2]
    return [model.names[at[k]] for k in best if share[k] > 0.15]
