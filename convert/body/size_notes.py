"""Which size a maker would start from, where there is a choice."""

from calibration.errors import Note
from convert.body.card import Card
from convert.body.charts import DEFAULT_CHART, Chart, chart
from convert.body.cup import size_by_high_bust


def size_notes(card: Card, sizes: Chart | None, size: str | None, *, several: bool) -> tuple[Note, ...]:
    """The size to start from by high bust, and why; only where it is another one than was taken, or can be chosen.

    Parameters
    ----------
    sizes, size
        The chart that was told, and the size of it that the pattern is; None if nothing was told.
    several
        Whether the pattern comes in several sizes, so that another one could be taken.
    """
    told = card.told()
    known = chart(DEFAULT_CHART) if sizes is None else sizes
    if "bust" not in known.columns or not ({"bust", "high bust"} & set(told)) or not (several or (sizes and size)):
        return ()
    choice = size_by_high_bust(known, told, unit=card.unit)
    if choice.size == size:
        return ()
    of = "" if sizes is not None else f" Sizes are those of the chart “{known.name}”."
    return (Note("size-by-high-bust", f"Which size to start from: {_small(choice.sentence)}{of}"),)


def _small(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
