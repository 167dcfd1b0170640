"""Which size to start from: by the high bust, because shoulders and neck must fit and the bust is altered.

Source: patterns without a cup label are drafted for a full bust 2 in (50.8 mm) above the high bust; the misses chart
since 1968 has that in every size, and http://curvysewingcollective.com/a-guide-to-pattern-cup-sizes-and-a-handy-reference
states it with steps of 1 in a cup.
"""

from collections.abc import Mapping
from types import MappingProxyType

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit
from convert.body.charts import Chart, SizeChoice, nearest_row
from convert.body.wording import format_body_mm

CUP_STEP_MM = MM_PER_INCH
DRAFTED_CUP_MM = 2.0 * MM_PER_INCH
_CUPS = ("A", "B", "C", "D", "DD", "DDD")


def cup(bust_mm: float, high_bust_mm: float) -> str:
    """The pattern trade's cup letter for full bust minus high bust: 1 in A, 2 in B, 3 in C, 4 in D, 5 in DD, 6 in DDD.

    Examples
    --------
    >>> cup(965.2, 863.6)
    'D'
    """
    steps = round((bust_mm - high_bust_mm) / CUP_STEP_MM)
    return "smaller than A" if steps < 1 else _CUPS[steps - 1] if steps <= len(_CUPS) else "larger than DDD"


def size_by_high_bust(sizes: Chart, measurements: Mapping[str, float], *, unit: LengthUnit = "cm") -> SizeChoice:
    """The size to start from, by high bust where it was measured, and why.

    A chart without a high bust is read 2 in below its bust.

    Raises
    ------
    InputError
        If neither a high bust nor a bust was measured, or the chart has no bust.
    """
    if "bust" not in sizes.columns:
        raise InputError(f"the chart “{sizes.name}” has no bust.", "Choose a chart with a bust column.")
    bust, high = measurements.get("bust"), measurements.get("high bust")
    if high is None:
        if bust is None:
            raise InputError("neither bust nor high bust is on the card.", "Measure the high bust, and the bust.")
        found = nearest_row(sizes, {"bust": bust}, unit=unit)
        return _with(
            found, f"{found.sentence} The high bust was not measured; measure it, it finds the size more surely."
        )
    drafted = sizes.columns.get("high bust", tuple(mm - DRAFTED_CUP_MM for mm in sizes.columns["bust"]))
    by_high = Chart(
        name=sizes.name,
        title=sizes.title,
        status=sizes.status,
        source=sizes.source,
        sizes=sizes.sizes,
        columns={**sizes.columns, "high bust": drafted},
        height_mm=sizes.height_mm,
    )
    found = nearest_row(by_high, {"high bust": high}, unit=unit)
    if bust is None:
        return found
    return _with(found, f"{found.sentence} {_bust_words(bust, found.row['bust'], unit)}")


def _bust_words(bust_mm: float, drafted_mm: float, unit: LengthUnit) -> str:
    missing = bust_mm - drafted_mm
    if abs(missing) < CUP_STEP_MM / 2:
        return "The bust fits too."
    per_half = format_body_mm(abs(missing) / 2, unit)
    what, way = ("too small", "added") if missing > 0 else ("too big", "taken out")
    return f"Its bust is {format_body_mm(abs(missing), unit)} {what} for you: {per_half} is {way} on each half front."


def _with(choice: SizeChoice, sentence: str) -> SizeChoice:
    return SizeChoice(
        size=choice.size,
        row=MappingProxyType(dict(choice.row)),
        rest_mm=choice.rest_mm,
        runner_up=choice.runner_up,
        beyond=choice.beyond,
        sentence=sentence,
    )
