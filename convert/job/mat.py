"""What a steel rule laid along a mat's grid reads: how far the mat's own print is off."""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from calibration.ground.errors import InputError
from calibration.ground.units import parse_length_mm

RULE_MM = 0.3  # how well two lines are read on a steel rule, half-width of 95 %; common practice
_WAYS = ("across", "up")
_READS = re.compile(r"^(?P<printed>.+?)\s+(?:reads?|is|are|=)\s+(?P<real>.+)$", re.IGNORECASE)
_REMEDY = 'Write mat_check = "50 cm reads 49.9 cm", or { across = "50 cm reads 49.9 cm", up = "40 cm reads 40 cm" }.'


@dataclass(frozen=True, slots=True, kw_only=True)
class MatCheck:
    """A mat measured with a steel rule.

    ``scale`` is what the rule reads for each mm printed, along the grid's lines that run across the picture and along
    those that run up it. ``uncertainty`` is the half-width of its 95 % interval.
    """

    scale: tuple[float, float]
    uncertainty: float


def mat_check(value: object, *, where: str) -> MatCheck:
    """The rule's reading as a person writes it: ``"50 cm reads 49.9 cm"``, or a table with one for each way.

    Raises
    ------
    InputError
        If it is no such sentence; a print that is off by more than a twentieth is refused where the mat is read.

    Examples
    --------
    >>> mat_check("50 cm reads 49.9 cm", where="job.toml").scale
    (0.998, 0.998)
    """
    if isinstance(value, str):
        return _both(dict.fromkeys(_WAYS, value), where)
    if isinstance(value, Mapping) and value and all(key in _WAYS for key in value):
        first = str(next(iter(value.values())))
        return _both({way: str(value.get(way, first)) for way in _WAYS}, where)
    raise InputError(f"{where}: mat_check is not written as it should be.", _REMEDY)


def _both(told: Mapping[str, str], where: str) -> MatCheck:
    printed, real = zip(*(_reading(told[way], where) for way in _WAYS), strict=True)
    return MatCheck(
        scale=(round(real[0] / printed[0], 9), round(real[1] / printed[1], 9)), uncertainty=RULE_MM / min(printed)
    )


def _reading(text: str, where: str) -> tuple[float, float]:
    found = _READS.match(text.strip())
    if not found:
        raise InputError(f"{where}: mat_check “{text}” does not say what the rule reads.", _REMEDY)
    try:
        printed, real = parse_length_mm(found["printed"]), parse_length_mm(found["real"])
    except InputError as err:
        raise InputError(f"{where}: mat_check: {err.problem}", _REMEDY) from err
    if printed < 100 or real <= 0:
        raise InputError(
            f"{where}: mat_check compares {printed:g} mm: too little to tell.",
            "Lay the rule along at least 10 cm of the grid, better 50 cm.",
        )
    return printed, real
