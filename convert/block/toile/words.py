"""What a maker writes of a fitting, understood: ``side seam, bodice back: in 1 cm``.

Every word counts: one that is not known, or that leaves the meaning open, is refused with an example.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from convert.block.toile.place import WAY_WORDS, Place, Way
from convert.block.toile.places import toile_places
from convert.body.card import LengthUnit
from convert.body.definitions import closest
from convert.body.typed import typed_length_mm
from convert.body.wording import format_paper_mm, listed
from convert.piece.piece import PieceKind

EXAMPLES = (
    "side seam, bodice back: in 1 cm",
    "waist: out 2 cm",
    "above the waist: shorten 1.5 cm",
    "shoulder point: down 0.5 cm",
    "sleeve: lengthen 2 cm",
)
_SMALLEST_MM = 0.5  # nobody pins less
_SHOWN = 70
_SIGNS = str.maketrans(dict.fromkeys(":;,.()–—-/&+\"'“”’", " "))
_AMOUNT = re.compile(
    r"(?<![\w.,/])(?P<number>\d+\s*/\s*\d+|\d*\s*[½¼¾⅛⅜⅝⅞]|\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?)\s*"
    r"(?P<unit>cm|mm|centimetres?|millimetres?|inch(?:es)?|[\"″]|in\b)?",
    re.IGNORECASE,
)
# phrase as written, what it means; longer phrases are looked for first
_CONCEPTS = {
    "side seam": "side seam",
    "side seams": "side seam",
    "underarm": "underarm",
    "under arm": "underarm",
    "waist": "waist",
    "waistline": "waist",
    "waist line": "waist",
    "waist seam": "waist",
    "natural waist": "waist",
    "hip": "hip",
    "hips": "hip",
    "hip line": "hip",
    "bust": "bust",
    "bust line": "bust",
    "full bust": "full bust",
    "bust alteration": "full bust",
    "bust point": "bust point",
    "bust points": "bust point",
    "across back": "across back",
    "back width": "across back",
    "across chest": "across chest",
    "chest width": "across chest",
    "upper arm": "upper arm",
    "bicep": "upper arm",
    "wrist": "wrist",
    "arm length": "arm length",
    "above": "above",
    "length": "length",
    "height": "height",
    "slope": "slope",
    "point": "point",
    "back waist length": "back waist length",
    "front waist length": "front waist length",
    "dart": "dart",
    "darts": "dart",
    "bust height": "bust point+height",
    "centre back": "centre back",
    "center back": "centre back",
    "cb": "centre back",
    "centre front": "centre front",
    "center front": "centre front",
    "cf": "centre front",
    "centre": "centre",
    "center": "centre",
    "sway back": "sway back",
    "swayback": "sway back",
    "hollow back": "sway back",
    "shoulder blades": "shoulder blades",
    "round back": "round back",
    "rounded back": "round back",
    "shoulder": "shoulder",
    "shoulders": "shoulder",
    "shoulder seam": "shoulder",
    "shoulder seams": "shoulder",
    "shoulder point": "shoulder point",
    "shoulder tip": "shoulder point",
    "shoulder slope": "shoulder point",
    "forward shoulder": "forward shoulder",
    "neckline": "neckline",
    "neck": "neckline",
    "neck line": "neckline",
    "side neck": "side neck point",
    "side neck point": "side neck point",
    "armhole": "armhole",
    "armholes": "armhole",
    "armscye": "armhole",
    "scye": "armhole",
    "armhole depth": "armhole+length",
    "waist dart": "waist dart",
    "waist darts": "waist dart",
    "side dart": "side dart",
    "bust dart": "side dart",
    "side bust dart": "side dart",
    "shoulder dart": "shoulder dart",
    "crown": "crown",
    "sleeve crown": "crown",
    "cap": "crown",
    "sleeve cap": "crown",
    "sleeve head": "crown",
    "hem": "hem",
}
_CONCEPTS |= {word: word for word in ("crotch", "fork", "inseam", "seat", "thigh", "knee", "leg", "ankle")}
_CONCEPTS |= dict.fromkeys(("crotch seam", "crotch depth", "rise", "body rise"), "crotch")
_CONCEPTS |= {"crotch point": "fork", "inside leg": "inseam", "thighs": "thigh", "legs": "leg"}
_PIECES = {"bodice": "bodice", "skirt": "skirt", "sleeve": "sleeve", "sleeves": "sleeve", "front": "front"}
_PIECES |= {"trousers": "trousers", "trouser": "trousers", "fronts": "front", "back": "back", "backs": "back"}
_GARMENTS = frozenset(("bodice", "skirt", "sleeve", "trousers"))
_SIDES = ("left", "right")
_FILLERS = frozenset(
    (
        "the",
        "at",
        "by",
        "to",
        "of",
        "on",
        "a",
        "an",
        "and",
        "both",
        "each",
        "all",
        "round",
        "it",
        "along",
        "whole",
        "from",
    )
    + ("seam", "seams", "piece", "pieces", "line", "level", "with", "pin", "pinned", "cut", "let", "take", "taken")
    + ("taking", "make", "made", "move", "moved")
)
_WAYS: dict[str, Way] = {word: way for way, words in WAY_WORDS.items() for word in words}
_KNOWN = frozenset(chain(_CONCEPTS, _PIECES, _WAYS, ("only", "alone")))


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """One thing pinned or cut on the toile.

    Attributes
    ----------
    place
        One of :func:`convert.block.toile.places`.
    amount_mm
        How much to the side that the place counts as more (out, longer, lower), negative for the other way.
    on
        The pieces it is done on; those the place usually means if empty.
    alone
        The seams these are sewn to are left as they are, on purpose.
    """

    place: str
    amount_mm: float
    on: tuple[str, ...] = ()
    alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A sentence of a fitting as it was written, what it means, and the same said back."""

    text: str
    correction: Correction
    sentence: str


def understand(text: str, *, unit: LengthUnit = "cm", kinds: Iterable[str] = ()) -> Told:
    """What one sentence of a fitting means.

    Parameters
    ----------
    text
        Such as ``side seam, bodice back: in 1 cm``: where, perhaps on which piece, which way, how much.
    unit
        Taken where none is written.
    kinds
        The pieces that the block has; all if empty.

    Raises
    ------
    InputError
        If a word is not known, or the place, the way or the amount is missing or leaves the meaning open.

    Examples
    --------
    >>> understand("side seam at the waist, bodice back: in 1 cm").correction
    Correction(place='side seam at the waist', amount_mm=-10.0, on=('bodice back',), alone=False)
    """
    amount, rest = _amount(text, unit)
    concepts, pieces, ways, only = _read(rest, text)
    place, way = _place(concepts, pieces, ways, tuple(kinds), text)
    on = _pieces_of(place, concepts, pieces, tuple(kinds), text)
    if not _SMALLEST_MM <= amount <= place.most_mm:
        raise _unclear(
            text,
            f"{format_paper_mm(amount, unit)} is {'more' if amount > place.most_mm else 'less'} than a fitting changes "
            f"there",
            f"Write an amount up to {format_paper_mm(place.most_mm, unit)}, or make a new block from new measurements.",
        )
    correction = Correction(place=place.name, amount_mm=amount if way in place.more else -amount, on=on, alone=only)
    return Told(text=" ".join(text.split()), correction=correction, sentence=said_back(place, correction, way, unit))


def written(correction: Correction, *, unit: LengthUnit = "cm") -> str:
    """A correction as a person would write it; :func:`understand` reads it back as the same.

    Raises
    ------
    InputError
        If there is no such place.
    """
    place = toile_places(200.0).get(correction.place)
    if place is None:
        raise _unclear(correction.place, "there is no such place", f"Places are: {', '.join(toile_places(200.0))}.")
    way = (place.more if correction.amount_mm >= 0 else place.less)[0]
    number = abs(correction.amount_mm) / (10.0 if unit == "cm" else MM_PER_INCH)
    amount = f"{round(number, 5):g} {'cm' if unit == 'cm' else 'inch'}"
    on = f", {' and '.join(correction.on)}" if correction.on else ""
    return f"{place.phrase or place.name}{on}{' only' if correction.alone else ''}: {way} {amount}"


def said_back(place: Place, correction: Correction, way: Way, unit: LengthUnit) -> str:
    """A correction in one sentence, with what the amount counts."""
    how = f"{format_paper_mm(abs(correction.amount_mm), unit)} {way}"
    pieces = listed(correction.on)
    where = f"{place.name.capitalize()}, {pieces}"
    if place.counts == "whole":
        ends = {"across back": "from armhole to armhole", "across chest": "from armhole to armhole"}
        ends["full bust"] = "all the way round, opened at the bust point"
        return f"{where}: {how} {ends.get(place.name, 'all the way round')}."
    if place.counts == "every dart":
        taken = "wider" if correction.amount_mm > 0 else "narrower"
        return f"{where}: every dart {format_paper_mm(abs(correction.amount_mm), unit)} {taken}."
    if pieces == "sleeve":
        return f"{where}: {how}."
    return (
        f"{where}: {how} on each of them, left and right alike."
        if len(correction.on) > 1
        else (f"{where}: {how}, left and right alike.")
    )


def _amount(text: str, unit: LengthUnit) -> tuple[float, str]:
    """The amount in mm, and the words without it."""
    found = list(_AMOUNT.finditer(text))
    if len(found) != 1:
        what = "it names no amount" if not found else f"it names {len(found)} amounts"
        raise _unclear(text, what, "Write one amount for one place: several changes are several lines.")
    (one,) = found
    number, written = one["number"], one["unit"] or ""
    rest = text[: one.start()] + " " + text[one.end() :]
    if written.lower() == "in" and not any(word in _WAYS for word in _words(rest)):
        written, rest = "", f"{rest} in"  # "1 in" of a seam told no other way: inwards, not inches
        if unit == "in":
            raise _unclear(text, "“in” can be inches or inwards here", "Write it like “in 1 inch” or “in 1 cm”.")
    if re.search(r"(^|[\s:])[-−]$", text[: one.start()]):
        raise _unclear(text, "its amount has a minus sign", "Write the way in words: in or out, longer or shorter.")
    return typed_length_mm(f"{number} {written}".strip(), unit=unit), rest


def _words(text: str) -> list[str]:
    return text.lower().translate(_SIGNS).split()


def _read(rest: str, text: str) -> tuple[frozenset[str], frozenset[str], frozenset[Way], bool]:
    """Concepts, pieces and ways among the words; longest phrases first."""
    words = _words(rest)
    concepts: set[str] = set()
    pieces: set[str] = set()
    ways: set[Way] = set()
    only = False
    at = 0
    while at < len(words):
        size = next((n for n in (3, 2, 1) if " ".join(words[at : at + n]) in _CONCEPTS), 0)
        word = words[at]
        if size:
            concepts |= set(_CONCEPTS[" ".join(words[at : at + size])].split("+"))
            at += size
            continue
        if word in _SIDES:
            raise _unclear(
                text,
                f"“{word}” names one side of the body",
                "The pieces are halves, the same for left and right: write half of the change for both, or keep it for "
                "the garment itself.",
            )
        if word in _PIECES:
            pieces.add(_PIECES[word])
        elif word in _WAYS:
            ways.add(_WAYS[word])
        elif word in ("only", "alone"):
            only = True
        elif word not in _FILLERS:
            raise _unknown(words, at, text)
        at += 1
    return frozenset(concepts), frozenset(pieces), frozenset(ways), only


def _unknown(words: Sequence[str], at: int, text: str) -> InputError:
    """A word that nobody knows, with the one most likely meant: alone, or with its neighbour."""
    for phrase in (" ".join(words[at : at + 2]), words[at]):
        near = closest(phrase, _KNOWN, at_least=0.75)
        if near:
            return _unclear(text, f"“{phrase}” is not known here: did you mean {near}?", f"Write {near} in its place.")
    return _unclear(text, f"“{words[at]}” is not known here", f"Write it like: {' · '.join(EXAMPLES[:3])}")


def _place(
    concepts: frozenset[str], pieces: frozenset[str], ways: frozenset[Way], kinds: Sequence[str], text: str
) -> tuple[Place, Way]:
    """The one place and way meant."""
    places = toile_places(200.0).values()
    meant = [place for place in places if _means(place, concepts, pieces)]
    if not meant:
        near = [p.name for p in places if any(part in word for said in p.said for word in said for part in concepts)]
        raise _unclear(
            text,
            f"no change is known for: {' '.join(sorted(concepts))}" if concepts else "it names no place",
            f"Places are: {', '.join(near or [place.name for place in places])}.",
        )
    if len(ways) > 1:
        raise _unclear(text, f"it says both {listed(sorted(ways))}", "Write one way: in or out, longer or shorter.")
    way = next(iter(ways), None) or next((place.alone for place in meant if place.alone), None)
    fits = [place for place in meant if way in place.more + place.less]
    if way is None or not fits:
        can = dict.fromkeys(one for place in meant for one in place.more + place.less)
        said = "it does not say which way" if way is None else f"“{way}” has no one meaning there"
        raise _unclear(text, said, f"Write one of: {', '.join(can)}. For example: {_with_way(text, next(iter(can)))}")
    there = [place for place in fits if _selected(place, concepts, pieces, kinds)]
    return (there or fits)[0], way


def _means(place: Place, concepts: frozenset[str], pieces: frozenset[str]) -> bool:
    garments = pieces & _GARMENTS
    return concepts in place.said or any(concepts | {garment} in place.said for garment in garments)


def _selected(
    place: Place, concepts: frozenset[str], pieces: frozenset[str], kinds: Sequence[str]
) -> tuple[PieceKind, ...]:
    """The pieces of a place that were named, or that it usually means, as far as the block has them."""
    garments = pieces & _GARMENTS
    sides = (pieces & {"front", "back"}) | {side for side in ("front", "back") if f"centre {side}" in concepts}

    def meant(kind: str) -> bool:
        return (not garments or kind.split()[0] in garments) and (not sides or kind.split()[-1] in sides)

    usual = () if garments else tuple(kind for kind in place.usual if meant(kind) and (not kinds or kind in kinds))
    named = usual or tuple(kind for kind in place.kinds if meant(kind))
    return tuple(kind for kind in named if not kinds or kind in kinds)


def _pieces_of(
    place: Place, concepts: frozenset[str], pieces: frozenset[str], kinds: Sequence[str], text: str
) -> tuple[PieceKind, ...]:
    chosen = _selected(place, concepts, pieces, kinds)
    if not chosen:
        has = f"; this block has: {', '.join(kinds)}" if kinds else ""
        raise _unclear(
            text, f"the {place.name} is changed on the {listed(place.kinds, 'or')}{has}", "Name one of these pieces."
        )
    return chosen


def _with_way(text: str, way: str) -> str:
    """The maker's own line, mended."""
    found = _AMOUNT.search(text)
    words = _WAYS.keys()
    head = text[: found.start()] if found else text
    kept = [word for word in re.split(r"(\s+)", head.split(":")[0]) if word.lower() not in words]
    return f"“{''.join(kept).strip(' ,')}: {way} {found[0].strip() if found else '1 cm'}”."


def _unclear(text: str, what: str, remedy: str) -> InputError:
    shown = " ".join(text.split())
    shown = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]} …"
    return InputError(f"“{shown}” can't be followed: {what}{'' if what.endswith('?') else '.'}", remedy)
