"""Numbers as a maker reads them: the one place where millimetres become centimetres or inches on paper and screen.

A body is read to half a centimetre, paper to a tenth of a centimetre, both to an eighth of an inch (what a tape shows).
"""

import datetime

from convert.body.card import LengthUnit
from convert.piece.width_words import STEP_MM, centimetres, format_paper_mm, inches

__all__ = ["STEP_MM", "date_in_words", "format_body_mm", "format_paper_mm", "format_range_mm", "listed"]

_BODY_STEP_MM = 5.0


def format_body_mm(mm: float, unit: LengthUnit = "cm") -> str:
    """A body measurement for a maker: to half a centimetre, or to an eighth of an inch.

    Examples
    --------
    >>> format_body_mm(943.0), format_body_mm(943.0, "in")
    ('94.5 cm', '37 1/8 in')
    """
    return centimetres(mm, _BODY_STEP_MM) if unit == "cm" else inches(mm)


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
