"""The ways a number is written down wrongly: what may have been meant by what is written."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit

SlipKind = Literal[
    "digits swapped",
    "inches for centimetres",
    "centimetres for inches",
    "half girth",
    "digit missing",
    "decimal point misplaced",
    "rows exchanged",
    "no explanation",
]

# Natural logarithm of how much rarer each slip is than two digits swapped (common practice, wide guesses). A missing
# digit can be put back in some twenty ways, one of which nearly always fits, so each way counts for little.
LOG_PRIOR: dict[SlipKind, float] = {
    "digits swapped": 0.0,
    "inches for centimetres": -0.5,
    "centimetres for inches": -0.5,
    "half girth": -2.0,
    "digit missing": -5.0,
    "decimal point misplaced": -1.0,
    "rows exchanged": -3.0,
    "no explanation": -10.0,
}
_MM_PER_CM = 10.0
# A card in half centimetres shows 38.25 only if it was read in quarter inches.
_LOG_QUARTER = 2.0


# A nought that came to stand in front: 90 becomes 09, and 9 is on the card.
_LOG_NOUGHT_IN_FRONT = -1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Meant:
    """What one entry may have been meant to be, by which slip, and how likely (log) that slip is beforehand."""

    mm: float
    kind: SlipKind
    log_prior: float


@lru_cache(maxsize=4096)
def what_was_meant(mm: float, *, unit: LengthUnit, girth: bool) -> tuple[Meant, ...]:
    """Every value that one slip turns into what is written in ``unit``.

    Examples
    --------
    >>> [one.mm for one in what_was_meant(690.0, unit="cm", girth=False) if one.kind == "digits swapped"]
    [960.0, 6090.0]
    """
    per = _MM_PER_CM if unit == "cm" else MM_PER_INCH
    number = mm / per
    whole = int(number + 1e-6)
    rest = number - whole
    in_quarters = abs(4 * number - round(4 * number)) < 1e-6 and round(4 * number) % 2 == 1
    found: list[tuple[float, SlipKind, float]] = [
        ((other + rest) * per, "digits swapped", 0.0) for other in _swapped(str(whole))
    ]
    if whole and str(whole)[0] != "0":
        in_front = int(f"{str(whole)[0]}0{str(whole)[1:]}")
        found.append(((in_front + rest) * per, "digits swapped", _LOG_NOUGHT_IN_FRONT))
    found += [((other + rest) * per, "digit missing", 0.0) for other in _with_a_digit(str(whole))]
    if unit == "cm":
        found.append((number * MM_PER_INCH, "inches for centimetres", _LOG_QUARTER if in_quarters else 0.0))
    else:
        found.append((number * _MM_PER_CM, "centimetres for inches", 0.0))
    found.append((10.0 * mm if rest > 1e-6 else mm / 10.0, "decimal point misplaced", 0.0))
    if girth:
        found.append((2.0 * mm, "half girth", 0.0))
    return tuple(Meant(mm=of, kind=kind, log_prior=LOG_PRIOR[kind] + more) for of, kind, more in found if of > 0)


def _swapped(digits: str) -> Iterator[int]:
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            yield int(digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :])


def _with_a_digit(digits: str) -> list[int]:
    ways = {int(digits[:i] + one + digits[i:]) for i in range(len(digits) + 1) for one in "0123456789"}
    return sorted(ways - {int(digits)})
