"""Ease of a block: chosen in words, with what is published said beside it.

Each published figure is quoted by itself, with whose it is and of what: one text's wearing ease and another's ease in
all are different things, and so are the waist of a dress and that of a skirt. What each word for the ease means is our
choice, because the sources leave room for it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit
from convert.body.definitions import body_name, closest, definitions, measurement_name
from convert.body.wording import format_body_mm, format_range_mm, listed

# mm, all the way round: our choice, because published figures lie on both sides of it (compare `published_ease`)
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
class PublishedEase:
    """What one source gives at one level, mm; ``high_mm`` is None where only "at least" is stated.

    ``of`` says in words what the figure is of (wearing ease, a dress), ``whose`` names the kind of source to a reader,
    ``source`` is the source itself.
    """

    level: str
    low_mm: float
    high_mm: float | None
    of: str
    whose: str
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


_IN = MM_PER_INCH
_COSTUME = "university costume text, chapter 16: http://www.cwu.edu/~robinsos/ppages/resources/costxt/costxt_16.htm"
_GUIDE = "New Mexico State University Guide C-228, table 1: http://pubs.nmsu.edu/_c/C228"
_MAGAZINE = "https://www.threadsmagazine.com/2021/09/27/set-in-sleeve-solutions"
_PUBLISHED = tuple(
    PublishedEase(
        level=level,
        low_mm=low * _IN,
        high_mm=None if high is None else high * _IN,
        of=of,
        whose=whose,
        source=source,
    )
    for level, low, high, of, whose, source in (
        ("bust", 1.5, 2.0, "to move in", "a university costume text", _COSTUME),
        ("bust", 3.0, 4.0, "altogether, on a dress pattern", "a university sewing guide", _GUIDE),
        ("waist", 0.75, 1.0, "on a dress", "a university costume text", _COSTUME),
        ("skirt waist", 0.5, 0.75, "on a skirt", "a university costume text", _COSTUME),
        ("trousers waist", 0.5, 0.75, "on a skirt or trousers", "a university costume text", _COSTUME),
        ("trousers waist", 0.75, 1.0, "on trousers", "the same text elsewhere", _COSTUME),
        ("hip", 2.0, 2.75, "on any garment", "a university costume text", _COSTUME),
        ("trousers hip", 1.5, 2.0, "at the seat of trousers", "a university costume text", _COSTUME),
        ("thigh", 1.0, None, "on trousers", "a university costume text", _COSTUME),
        ("upper arm", 2.0, None, "on a set-in sleeve", "a sewing magazine", _MAGAZINE),
    )
)
# Half a centimetre: what a reader sees of a body measurement, so a published figure is no sharper than that.
_SLACK_MM = 5.0


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
    """What is published for a level, source by source, or an empty text.

    Examples
    --------
    >>> published_sentence("hip", unit="in")
    'Published: 2 to 2 3/4 in on any garment (a university costume text).'
    """
    quoted = "; ".join(f"{_amount(one, unit)} {one.of} ({one.whose})" for one in published_ease(level))
    return f"Published: {quoted}." if quoted else ""


def published_ease(level: str) -> tuple[PublishedEase, ...]:
    """What each source gives for a level, if any does; the waist of a skirt is a level of its own."""
    return tuple(one for one in _PUBLISHED if one.level == level)


def least_published_mm(level: str) -> float | None:
    """The least ease that any source gives for a level, or None."""
    return min((one.low_mm for one in published_ease(level)), default=None)


def ease_sentence(level: str, ease_mm: float, *, unit: LengthUnit = "cm", what: str = "The block") -> str:
    """What an ease means, as a sentence: how much room, beside what is published.

    Examples
    --------
    >>> ease_sentence("hip", 60.0)
    'The block has 6 cm of ease at the hip. Published: 5 to 7 cm on any garment (a university costume text).'
    """
    amount, place = format_body_mm(abs(ease_mm), unit), body_name(level)
    if amount.startswith("0 "):
        return f"{what} has no ease at the {place}.{_beside(level, 0.0, unit)}"
    if ease_mm < 0:
        return (
            f"{what} is {amount} smaller than the body at the {place}. Woven cloth does not stretch that far: look for "
            "a wrong size, an edge taken for another, or a wrong grid pitch."
        )
    return f"{what} has {amount} of ease at the {place}.{_beside(level, ease_mm, unit)}"


def _beside(level: str, ease_mm: float, unit: LengthUnit) -> str:
    """What is published, and whether the ease lies beyond all of it."""
    said = published_sentence(level, unit=unit)
    if not said:
        return ""
    least = least_published_mm(level)
    highs = [one.high_mm for one in published_ease(level)]
    if least is not None and ease_mm < least - _SLACK_MM:
        return f" {said} So this is close."
    if all(high is not None and ease_mm > high + _SLACK_MM for high in highs):
        return f" {said} So this is roomy."
    return f" {said}"


def _amount(one: PublishedEase, unit: LengthUnit) -> str:
    if one.high_mm is None:
        return f"{format_body_mm(one.low_mm, unit)} or more"
    return format_range_mm(one.low_mm, one.high_mm, unit)


def eased_levels() -> tuple[str, ...]:
    """Levels that a block eases, in the card's order."""
    return tuple(name for name in definitions() if name in _WORDS[USUAL])
