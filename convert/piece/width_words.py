"""Widths on paper as a maker reads them: a tenth of a centimetre, or an eighth of an inch, one unit throughout."""

import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Literal

from calibration.ground.units import MM_PER_INCH

Unit = Literal["cm", "in"]
EIGHTH_MM = MM_PER_INCH / 8
_PAPER_STEP_MM = 1.0
STEP_MM: Mapping[Unit, float] = {"cm": _PAPER_STEP_MM, "in": EIGHTH_MM}
"""The smallest step of a length on paper that a maker reads or sets."""


def steps(mm: float, step_mm: float) -> int:
    """Whole steps nearest to ``mm``, halves away from zero (a tape is read upwards, never to the even mark)."""
    return int(math.copysign(math.floor(abs(mm) / step_mm + 0.5 + 1e-9), mm))


def centimetres(mm: float, step_mm: float) -> str:
    """Centimetres to ``step_mm``, no idle zeros."""
    tenths = round(steps(mm, step_mm) * step_mm)
    whole, rest = divmod(abs(tenths), 10)
    return f"{'−' if tenths < 0 else ''}{whole}{f'.{rest}' if rest else ''} cm"


def inches(mm: float) -> str:
    """Inches to an eighth, as a fraction."""
    eighths = steps(mm, EIGHTH_MM)
    whole, rest = divmod(abs(eighths), 8)
    part = str(Fraction(rest, 8)) if rest else ""
    number = " ".join(text for text in (str(whole) if whole or not part else "", part) if text)
    return f"{'−' if eighths < 0 else ''}{number} in"


def format_paper_mm(mm: float, unit: Unit = "cm") -> str:
    """A length on paper for a maker: to a tenth of a centimetre, or to an eighth of an inch.

    Examples
    --------
    >>> format_paper_mm(15.9), format_paper_mm(30.0), format_paper_mm(15.9, "in")
    ('1.6 cm', '3 cm', '5/8 in')
    """
    return centimetres(mm, _PAPER_STEP_MM) if unit == "cm" else inches(mm)
