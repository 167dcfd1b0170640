"""Numbers as a maker reads them: the one place where millimetres become centimetres or inches on paper and screen.

A body that is worked out is read to half a centimetre or an eighth of an inch, paper to a tenth of a centimetre or an
eighth of an inch, a sixteenth where it is marked with a ruler; what the maker wrote is printed as she wrote it.
"""

import datetime
import math

from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit
from convert.piece.width_words import STEP_MM, centimetres, format_fine_mm, format_paper_mm, inches

__all__ = [
    "STEP_MM",
    "accuracy_words",
    "date_in_words",
    "format_body_mm",
    "format_fine_mm",
    "format_paper_mm",
    "format_range_mm",
    "format_told_mm",
    "listed",
]

_BODY_STEP_MM = 5.0
_WRITTEN_SIXTEENTHS = 0.02  # a decimal as near as this to a sixteenth was one
_AS_WIDE_AS = ((0.4, "a thread’s width"), (1.0, "a pencil line’s width"))  # mm, common practice


def format_body_mm(mm: float, unit: LengthUnit = "cm") -> str:
    """A body measurement for a maker: to half a centimetre, or to an eighth of an inch.

    Examples
    --------
    >>> format_body_mm(943.0), format_body_mm(943.0, "in")
    ('94.5 cm', '37 1/8 in')
    """
    return centimetres(mm, _BODY_STEP_MM) if unit == "cm" else inches(mm)


def format_told_mm(mm: float, unit: LengthUnit = "cm") -> str:
    """A measurement as the maker wrote it: centimetres with the places she gave, inches as a fraction where it is one.

    Examples
    --------
    >>> format_told_mm(369.0), format_told_mm(790.0), format_told_mm(936.625, "in"), format_told_mm(937.26, "in")
    ('36.9 cm', '79 cm', '36 7/8 in', '36.9 in')
    """
    if unit == "cm":
        return f"{round(mm / 10, 2):.10g} cm"
    sixteenths = 16 * mm / MM_PER_INCH
    if abs(sixteenths - round(sixteenths)) < _WRITTEN_SIXTEENTHS:
        return inches(mm, 16)
    return f"{round(mm / MM_PER_INCH, 2):.10g} in"


def accuracy_words(mm: float, unit: LengthUnit = "cm") -> str:
    """How far a line may lie off, the one statement of it wherever it is said; never better than can be meant.

    Examples
    --------
    >>> accuracy_words(0.26)
    'A line may lie a thread’s width off: 0.3 mm.'
    >>> accuracy_words(0.26, "in")
    'A line may lie a thread’s width off: less than 1/16 in.'
    """
    tenths = max(0.1, math.ceil(mm * 10 - 1e-9) / 10)
    near = next((words for most, words in _AS_WIDE_AS if tenths <= most), "more than a pencil line’s width")
    return f"A line may lie {near} off: {f'{tenths:.1f} mm' if unit == 'cm' else format_fine_mm(tenths, unit)}."


def format_range_mm(low_mm: float, high_mm: float, unit: LengthUnit = "cm") -> str:
    """Two body lengths with the unit said once.

    Examples
    --------
    >>> format_range_mm(38.1, 101.6)
    '4 to 10 cm'
    """
    low, high = format_body_mm(low_mm, unit), format_body_mm(high_mm, unit)
    return high if low == high else f"{low.rsplit(' ', 1)[0]} to {high}"


def listed(words: list[str] | tuple[str, ...], last: str = "and") -> str:
    """Words in a row: ``bust, waist and hip``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""


def date_in_words(day: datetime.date) -> str:
    """A date as it stands on the paper: ``25 November 2026``."""
    return f"{day.day} {day:%B %Y}"
