"""Which size a maker would start from, where there is a choice."""

from calibration.ground.errors import Note
from convert.body.card import Card
from convert.body.charts import DEFAULT_CHART, Chart, SizeChoice, chart
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
    if not (several or (sizes and size)):
        return ()
    choice = start_size(card, sizes)
    if choice is None or choice.size == size:
        return ()
    of = "" if sizes is not None else f" Sizes are those of the chart “{DEFAULT_CHART}”."
    return (Note("size-by-high-bust", f"Which size to start from: {_small(choice.sentence)}{of}"),)


def start_size(card: Card, sizes: Chart | None = None) -> SizeChoice | None:
    """The size a bodice is started from, by high bust where it was measured; None if the card can't tell.

    Examples
    --------
    >>> from convert.body.card import BodyMeasurement
    >>> start_size(Card(name="maker A", measurements={"high bust": BodyMeasurement(mm=863.6)})).size
    '14'
    """
    told, known = card.told(), chart(DEFAULT_CHART) if sizes is None else sizes
    if "bust" not in known.columns or not ({"bust", "high bust"} & set(told)):
        return None
    return size_by_high_bust(known, told, unit=card.unit)


def _small(sentence: str) -> str:
    return sentence[:1].lower() + sentence[1:]
