"""Numbers as a maker reads them: the one place where millimetres become centimetres or inches on paper and screen.

A body is read to half a centimetre, paper to a tenth of a centimetre, both to an eighth of an inch (what a tape shows).
"""

import math
from fractions import Fraction

from calibration.units import MM_PER_INCH
from convert.body.card import LengthUnit

_BODY_STEP_MM = 5.0
_PAPER_STEP_MM = 1.0
_EIGHTH_MM = MM_PER_INCH / 8


def _steps(mm: float, step_mm: float) -> int:
    """Whole steps nearest to ``mm``, halves away from zero (a tape is read upwards, never to the even mark)."""
    return int(math.copysign(math.floor(abs(mm) / step_mm + 0.5 + 1e-9), mm))


def _centimetres(mm: float, step_mm: float) -> str:
    tenths = round(_steps(mm, step_mm) * step_mm)
    whole, rest = divmod(abs(tenths), 10)
    return f"{'−' if tenths < 0 else ''}{whole}{f'.{rest}' if rest else ''} cm"


def _inches(mm: float) -> str:
    eighths = _steps(mm, _EIGHTH_MM)
    whole, rest = divmod(abs(eighths), 8)
    part = str(Fraction(rest, 8)) if rest else ""
    number = " ".join(text for text in (str(whole) if whole or not part else "", part) if text)
    return f"{'−' if eighths < 0 else ''}{number} in"


def format_body_mm(mm: float, unit: LengthUnit = "cm") -> str:
    """A body measurement for a maker: to half a centimetre, or to an eighth of an inch.

    Examples
    --------
    >>> format_body_mm(943.0), format_body_mm(943.0, "in")
    ('94.5 cm', '37 1/8 in')
    """
    return _centimetres(mm, _BODY_STEP_MM) if unit == "cm" else _inches(mm)


def format_paper_mm(mm: float, unit: LengthUnit = "cm") -> str:
    """A length on paper for a maker: to a tenth of a centimetre, or to an eighth of an inch.

    Examples
    --------
    >>> format_paper_mm(15.9), format_paper_mm(15.9, "in")
    ('1.6 cm', '5/8 in')
    """
    return _centimetres(mm, _PAPER_STEP_MM) if unit == "cm" else _inches(mm)


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
