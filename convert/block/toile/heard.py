"""A fitter's sentence taken apart: the places, pieces, ways, complaints and signs among its words, and its amounts.

Every word counts: one that nobody knows is named, with the nearest that is known.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain

from calibration.ground.errors import InputError
from convert.block.toile.places import Way
from convert.block.toile.vocabulary import (
    COMPLAINTS,
    CONCEPTS,
    FILLERS,
    ONE_SIDE,
    ONLY,
    PASSED_OVER,
    PIECES,
    REWRITTEN,
    SIGNS,
    WAYS,
)
from convert.body.card import LengthUnit
from convert.body.definitions import closest
from convert.body.typed import typed_length_mm

EXAMPLES = (
    "side seam, bodice back: in 1 cm",
    "waist: out 2 cm",
    "above the waist: shorten 1.5 cm",
    "shoulder point: down 0.5 cm",
    "sleeve: lengthen 2 cm",
)
AMOUNT = re.compile(
    r"(?<![\w.,/])(?P<number>\d+\s*/\s*\d+|\d*\s*[½¼¾⅛⅜⅝⅞]|\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?)\s*"
    r"(?P<unit>cm|mm|centimetres?|millimetres?|inch(?:es)?|[\"″]|in\b)?",
    re.IGNORECASE,
)
_HALF = re.compile(r"\b(?:a )?half (?:an?|of an?) (?=inch|cm|centimet)", re.IGNORECASE)
_SHOWN = 70
_HERE = " # "  # stands where the amount stood, so that the words beside it are not read as neighbours
_SIGNS = str.maketrans(dict.fromkeys(":;,.()–—-/&+\"'“”’!?", " "))
_SIGN_OF = {word: sign for sign, words in SIGNS.items() for word in words}
_LONGEST = 5  # words of the longest phrase
_KNOWN = frozenset(chain(CONCEPTS, PIECES, WAYS, COMPLAINTS, _SIGN_OF, ONLY))
_PHRASES = _KNOWN | PASSED_OVER


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknown:
    """A word that nobody knows, and the known one nearest to it, None if none is near."""

    word: str
    near: str | None

    @property
    def sentence(self) -> str:
        """For the maker."""
        return f"“{self.word}” is not known here" + (f": did you mean {self.near}?" if self.near else ".")

    def refusal(self, text: str) -> InputError:
        """Of the sentence it stands in."""
        remedy = f"Write {self.near} in its place." if self.near else f"Write it like: {' · '.join(EXAMPLES[:3])}"
        return unclear(text, self.sentence.rstrip("."), remedy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """A sentence's words, sorted.

    Attributes
    ----------
    ways
        What each way that was told can mean, in the order told.
    complaints
        The words of what is wrong ("tight"), which mean a way too.
    signs
        What is seen or felt and says no way.
    unknown
        Words that nobody knows: nothing is changed by a sentence that has one.
    """

    text: str
    amount_mm: float | None = None
    concepts: frozenset[str] = frozenset()
    pieces: frozenset[str] = frozenset()
    ways: tuple[tuple[Way, ...], ...] = ()
    complaints: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()
    only: bool = False
    unknown: tuple[Unknown, ...] = ()


@dataclass(slots=True)
class _Sorted:
    """What :class:`Heard` is gathered in."""

    concepts: set[str] = field(default_factory=set)
    pieces: set[str] = field(default_factory=set)
    ways: list[tuple[Way, ...]] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    signs: list[str] = field(default_factory=list)
    only: bool = False
    unknown: list[Unknown] = field(default_factory=list)

    def put(self, phrase: str) -> bool:
        """Sort one phrase in; whether it is known."""
        for part in CONCEPTS.get(phrase, "").split("+") if phrase in CONCEPTS else ():
            (self.pieces if part in PIECES else self.concepts).add(part)
        if phrase in PIECES:
            self.pieces.add(PIECES[phrase])
        if phrase in WAYS:
            self.ways.append(WAYS[phrase])
        if phrase in COMPLAINTS:
            self.complaints.append(phrase)
        if phrase in _SIGN_OF:
            self.signs.append(_SIGN_OF[phrase])
        self.only |= phrase in ONLY
        return phrase in _PHRASES


def hear(text: str, *, unit: LengthUnit = "cm") -> Heard:
    """Take a sentence apart; ``unit`` is that of an amount without one.

    Raises
    ------
    InputError
        If there is more than one amount, or it names one side of the body.

    Examples
    --------
    >>> heard = hear("the bust dart points too low, 1.5 cm")
    >>> sorted(heard.concepts), heard.complaints, heard.amount_mm
    (['point', 'side dart'], ('low',), 15.0)
    """
    amount, rest = _amount(text, unit)
    words = _plain(rest).split()
    found = _Sorted()
    at = 0
    while at < len(words):
        size = next((n for n in range(_LONGEST, 0, -1) if " ".join(words[at : at + n]) in _PHRASES), 1)
        phrase = " ".join(words[at : at + size])
        if phrase in ONE_SIDE:
            raise unclear(
                text,
                f"“{phrase}” names one side of the body",
                "The pieces are halves, the same for left and right: write half of the change for both, or keep it for "
                "the garment itself.",
            )
        if not found.put(phrase) and phrase not in FILLERS and phrase != _HERE.strip():
            found.unknown.append(_unknown([word for word in words if word != _HERE.strip()], phrase))
        at += size
    return Heard(
        text=" ".join(text.split()),
        amount_mm=amount,
        concepts=frozenset(found.concepts),
        pieces=frozenset(found.pieces),
        ways=tuple(found.ways),
        complaints=tuple(found.complaints),
        signs=tuple(found.signs),
        only=found.only,
        unknown=tuple(found.unknown),
    )


def unclear(text: str, what: str, remedy: str) -> InputError:
    """The refusal of a sentence, which is shown."""
    shown = " ".join(text.split())
    shown = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]} …"
    return InputError(f"“{shown}” can't be followed: {what}{'' if what.endswith('?') else '.'}", remedy)


def _plain(text: str) -> str:
    plain = " ".join(text.lower().translate(_SIGNS).split())
    for pattern, instead in REWRITTEN:
        plain = re.sub(pattern, instead, plain)
    return plain


def _amount(text: str, unit: LengthUnit) -> tuple[float | None, str]:
    """The amount in mm, None if there is none, and the words without it."""
    text = _HALF.sub("0.5 ", text)
    found = list(AMOUNT.finditer(text))
    if not found:
        return None, text
    if len(found) != 1:
        raise unclear(
            text,
            f"it names {len(found)} amounts",
            "Write one amount for one place: several changes are several lines.",
        )
    (one,) = found
    number, written = one["number"], one["unit"] or ""
    rest = text[: one.start()] + _HERE + text[one.end() :]
    told = {phrase for n in (1, 2, 3) for phrase in _runs(_plain(rest).split(), n)}
    if written.lower() == "in" and not told & (WAYS.keys() | COMPLAINTS.keys()):
        written, rest = "", f"{rest} in"  # "1 in" of a seam told no other way: inwards, not inches
        if unit == "in":
            raise unclear(text, "“in” can be inches or inwards here", "Write it like “in 1 inch” or “in 1 cm”.")
    if re.search(r"(^|[\s:])[-−]$", text[: one.start()]):
        raise unclear(text, "its amount has a minus sign", "Write the way in words: in or out, longer or shorter.")
    return typed_length_mm(f"{number} {written}".strip(), unit=unit), rest


def _runs(words: Sequence[str], n: int) -> list[str]:
    return [" ".join(words[i : i + n]) for i in range(len(words) - n + 1)]


def _unknown(words: Sequence[str], word: str) -> Unknown:
    """A word that nobody knows, with what was most likely meant: with its neighbours, or alone."""
    at = list(words).index(word)
    for phrase in (" ".join(words[max(at - 1, 0) : at + 1]), " ".join(words[at : at + 2]), word):
        near = closest(phrase, sorted(_KNOWN - {"below", "above"}), at_least=0.78)  # no places by themselves
        if near:
            return Unknown(word=phrase, near=near)
    return Unknown(word=word, near=None)
