"""Ease of a block: chosen in words, with the published figures behind each word.

Published bands: a university costume text, New Mexico State University Guide C-228 and a sewing magazine, each beside
its figure in ``_BANDS``. They differ, so a band is reported and never one verdict.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from calibration.ground.errors import InputError
from convert.body.card import LengthUnit
from convert.body.definitions import closest, definitions, measurement_name
from convert.body.wording import format_body_mm, format_range_mm, listed

# mm, all the way round; inside or beside the published bands below (compare `published_band`).
_WORDS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "close": MappingProxyType({"bust": 40.0, "waist": 20.0, "hip": 50.0, "upper arm": 45.0}),
        "usual": MappingProxyType({"bust": 60.0, "waist": 25.0, "hip": 55.0, "upper arm": 50.0}),
        "easy": MappingProxyType({"bust": 90.0, "waist": 40.0, "hip": 70.0, "upper arm": 60.0}),
    }
)
EASE_WORDS = tuple(_WORDS)
USUAL = "usual"


@dataclass(frozen=True, slots=True, kw_only=True)
class EaseBand:
    """Published ease of a fitted garment at one level, mm; ``high_mm`` is None where only "at least" is stated."""

    level: str
    low_mm: float
    high_mm: float | None
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockEase:
    """The ease a block shall keep: ``mm`` by level, ``word`` it started from, ``overridden`` levels told one by one."""

    word: str = USUAL
    mm: Mapping[str, float] = field(default_factory=lambda: _WORDS[USUAL])
    overridden: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "mm", MappingProxyType(dict(self.mm)))

    def at(self, level: str) -> float:
        """Ease at a level; a length, a breadth or a level nobody eases has none."""
        return self.mm.get(level, 0.0)


_COSTUME = "university costume text, chapter 16: http://www.cwu.edu/~robinsos/ppages/resources/costxt/costxt_16.htm"
_GUIDE = "New Mexico State University Guide C-228, table 1: http://pubs.nmsu.edu/_c/C228"
_BANDS = {
    one.level: one
    for one in (
        EaseBand(level="bust", low_mm=38.1, high_mm=101.6, source=f"1 1/2 in: {_COSTUME}; to 4 in: {_GUIDE}"),
        EaseBand(level="waist", low_mm=12.7, high_mm=25.4, source=f"skirt 1/2 in to dress 1 in: {_COSTUME}"),
        EaseBand(level="hip", low_mm=50.8, high_mm=69.85, source=f"2 to 2 3/4 in: {_COSTUME}"),
        EaseBand(
            level="upper arm",
            low_mm=50.8,
            high_mm=None,
            source="at least 2 in: https://www.threadsmagazine.com/2021/09/27/set-in-sleeve-solutions",
        ),
    )
}
# Half a centimetre: what a reader sees of a body measurement, so a band's end is no sharper than that.
_BAND_SLACK_MM = 5.0


def block_ease(word: str = USUAL, overrides: Mapping[str, float] | None = None) -> BlockEase:
    """Block ease from a word (close, usual, easy), some levels told in mm.

    Raises
    ------
    InputError
        If the word or a level is not known.

    Examples
    --------
    >>> block_ease("usual", {"bust": 80.0}).mm["bust"]
    80.0
    """
    base = _WORDS.get(word.strip().lower())
    if base is None:
        near = closest(word, EASE_WORDS)
        guess = f": did you mean {near}?" if near else "."
        raise InputError(f"unknown ease “{word}”{guess}", "Write close, usual or easy, or a table of your own.")
    told = {measurement_name(level): float(mm) for level, mm in (overrides or {}).items()}
    return BlockEase(word=word.strip().lower(), mm={**base, **told}, overridden=tuple(told))


def ease_words_sentence(word: str, *, unit: LengthUnit = "cm") -> str:
    """What a word for the block's ease means, to choose by.

    Examples
    --------
    >>> ease_words_sentence("usual")
    'Usual: 6 cm of ease at the bust, 2.5 cm at the waist, 5.5 cm at the hip and 5 cm at the upper arm.'
    """
    mm = block_ease(word).mm
    first, *rest = eased_levels()
    parts = [f"{format_body_mm(mm[first], unit)} of ease at the {first}"]
    parts += [f"{format_body_mm(mm[level], unit)} at the {level}" for level in rest]
    return f"{word.strip().capitalize()}: {listed(parts)}."


def published_sentence(level: str, *, unit: LengthUnit = "cm") -> str:
    """What is published for a level, or an empty text.

    Examples
    --------
    >>> published_sentence("bust", unit="in")
    'Published figures for a fitted garment: 1 1/2 to 4 in.'
    """
    return _beside(level, band.low_mm, unit).strip() if (band := published_band(level)) is not None else ""


def published_band(level: str) -> EaseBand | None:
    """What is published for a level, or None."""
    return _BANDS.get(level)


def ease_sentence(level: str, ease_mm: float, *, unit: LengthUnit = "cm", what: str = "The block") -> str:
    """What an ease means, as a sentence: how much room, beside the published figures.

    Examples
    --------
    >>> ease_sentence("bust", 60.0)
    'The block has 6 cm of ease at the bust. Published figures for a fitted garment: 4 to 10 cm.'
    """
    amount = format_body_mm(abs(ease_mm), unit)
    if amount.startswith("0 "):
        return f"{what} has no ease at the {level}.{_beside(level, 0.0, unit)}"
    if ease_mm < 0:
        return (
            f"{what} is {amount} smaller than the body at the {level}. Woven cloth does not stretch that far: look for "
            "a wrong size, an edge taken for another, or a wrong grid pitch."
        )
    return f"{what} has {amount} of ease at the {level}.{_beside(level, ease_mm, unit)}"


def _beside(level: str, ease_mm: float, unit: LengthUnit) -> str:
    band = published_band(level)
    if band is None:
        return ""
    if band.high_mm is None:
        published = f"Published figures for a fitted garment: {format_body_mm(band.low_mm, unit)} or more"
    else:
        published = f"Published figures for a fitted garment: {format_range_mm(band.low_mm, band.high_mm, unit)}"
    if ease_mm < band.low_mm - _BAND_SLACK_MM:
        return f" {published}, so this is close."
    if band.high_mm is not None and ease_mm > band.high_mm + _BAND_SLACK_MM:
        return f" {published}, so this is roomy."
    return f" {published}."


def eased_levels() -> tuple[str, ...]:
    """Levels that a block eases, in the card's order."""
    return tuple(name for name in definitions() if name in _WORDS[USUAL])
