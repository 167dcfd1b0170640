"""Lengths as people write them, and millimetres as the program keeps them."""

import re
from fractions import Fraction

from calibration.ground.errors import InputError

MM_PER_INCH = 25.4
_MM_PER = {
    "mm": 1.0,
    "millimetre": 1.0,
    "millimetres": 1.0,
    "cm": 10.0,
    "centimetre": 10.0,
    "centimetres": 10.0,
    "m": 1000.0,
    "in": MM_PER_INCH,
    "inch": MM_PER_INCH,
    "inches": MM_PER_INCH,
    '"': MM_PER_INCH,
    "″": MM_PER_INCH,
}
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}
_LENGTH = re.compile(r"^\s*(?P<number>[-+]?[\d.,/ ]*\d[\d.,/ ]*?)\s*(?P<unit>[a-z]+|\"|″)?\s*$", re.IGNORECASE)


def parse_length_mm(text: str | float, *, default_unit: str | None = None) -> float:
    """Length in millimetres from text such as ``"1cm"``, ``"1/2 in"``, ``"16 1/4 in"``, ``"39,5 cm"``.

    A bare number is taken in ``default_unit``.

    Raises
    ------
    InputError
        If the text is no length, or has no unit and there is no default.

    Examples
    --------
    >>> parse_length_mm("1/2 in")
    12.7
    >>> parse_length_mm("39,5", default_unit="cm")
    395.0
    """
    plain = str(text).strip()
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction}")
    found = _LENGTH.match(plain)
    unit = (found["unit"] or default_unit or "").lower() if found else ""
    if not found or unit not in _MM_PER:
        raise InputError(
            f"“{text}” is not a length with a unit that is known here.",
            "Write a number and a unit, for example 15 mm, 1 cm, 39.5 cm, 5/8 in.",
        )
    parts = found["number"].split()
    if len(parts) > 2 or (len(parts) == 2 and "/" not in parts[1]):
        raise InputError(f"“{text}” holds two numbers.", "Write one length, for example 94 cm or 16 1/4 in.")
    try:
        number = sum(Fraction(part.replace(",", ".")) for part in parts)
    except (ValueError, ZeroDivisionError) as err:
        raise InputError(
            f"“{text}” is not a number that can be read.", "Write it like 39.5 cm, 39,5 cm or 15 1/2 in."
        ) from err
    return round(float(number * Fraction(_MM_PER[unit]).limit_denominator(10)), 9)
