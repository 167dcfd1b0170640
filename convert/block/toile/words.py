"""What a maker says of a fitting, understood: ``side seam, bodice back: in 1 cm``, or ``the neckline gapes``.

What has a place, a way and an amount is a change to be made. What lacks the amount or the way is a question. What is
only a sign has likely causes, among which the fitter chooses; it changes nothing by itself.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from calibration.ground.units import MM_PER_INCH
from convert.block.toile.heard import AMOUNT, EXAMPLES, Heard, hear, unclear
from convert.block.toile.places import Place, Way, toile_places
from convert.block.toile.signs import likely_causes
from convert.block.toile.vocabulary import COMPLAINTS, WAYS
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm, listed
from convert.piece.piece import PieceKind

__all__ = ["EXAMPLES", "Asked", "Correction", "Likely", "Told", "answer", "said_back", "understand", "written"]

_SMALLEST_MM = 0.5  # nobody pins less
_HIP_MM = 200.0  # names and ways of the places are the same for every hip height
_BLANK = "…"  # stands for the amount that the maker has to fill in


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A sentence whose place is known and whose way or amount is not.

    Attributes
    ----------
    place, on
        Where it would be changed.
    ways
        The ways it can go: one if that was told.
    question
        What has to be said, in a sentence.
    lines
        The sentence to write, one for each way, the amount left open.
    amount_mm
        If only the way is missing.
    passed_over
        A sentence for each word that is not known.
    """

    text: str
    place: str
    on: tuple[PieceKind, ...]
    ways: tuple[Way, ...]
    question: str
    lines: tuple[str, ...]
    amount_mm: float | None = None
    passed_over: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A likely cause: why, and what to write if it is this one; nothing where no paper is changed."""

    why: str
    asked: Asked | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """A sentence that tells a sign only, with its usual causes."""

    text: str
    choices: tuple[Choice, ...]
    passed_over: tuple[str, ...] = ()


def understand(text: str, *, unit: LengthUnit = "cm", kinds: Iterable[str] = ()) -> Told:
    """What one sentence of a fitting changes: :func:`answer` where nothing may be left open.

    Raises
    ------
    InputError
        If a word is not known, or the place, the way or the amount is missing or leaves the meaning open.

    Examples
    --------
    >>> understand("side seam at the waist, bodice back: in 1 cm").correction
    Correction(place='side seam at the waist', amount_mm=-10.0, on=('bodice back',), alone=False)
    """
    found = answer(text, unit=unit, kinds=kinds)
    if isinstance(found, Told):
        return found
    if isinstance(found, Likely):
        lines = [line for one in found.choices if one.asked for line in one.asked.lines]
        raise unclear(
            text, "it tells a sign, and a sign has several causes", f"Choose one and say how much: {' · '.join(lines)}"
        )
    if found.amount_mm is None:
        raise unclear(text, "it names no amount", f"Write one amount for one place: {' or '.join(found.lines)}")
    raise unclear(
        text, "it does not say which way", f"Write one of: {', '.join(found.ways)}. For example: {found.lines[0]}"
    )


def answer(text: str, *, unit: LengthUnit = "cm", kinds: Iterable[str] = ()) -> Told | Asked | Likely:
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
        If a word is not known, it says two things at once, or no place is known for it.
    """
    heard, has = hear(text, unit=unit), tuple(kinds)
    ways = _ways(heard)
    meant = _meant(heard, ways, has)
    if not (heard.ways and meant) and (heard.signs or not (heard.ways or meant)):
        causes = likely_causes((*heard.signs, *heard.complaints), heard.concepts | heard.pieces)
        choices = [
            Choice(
                why=one.why, asked=_asked(heard, places()[one.place], one.way, one.on, has, unit) if one.place else None
            )
            for one in causes
            if not one.place or _has(places()[one.place], one.on, has)
        ]
        if choices:
            return Likely(text=heard.text, choices=tuple(choices), passed_over=_passed_over(heard))
    return _change(heard, ways, has, unit)


def places() -> dict[str, Place]:
    """Every place, for its words."""
    return dict(toile_places(_HIP_MM))


def _change(heard: Heard, ways: tuple[Way, ...], has: tuple[str, ...], unit: LengthUnit) -> Told | Asked:
    """A change, or the question what it lacks."""
    if heard.unknown and heard.amount_mm is not None:
        raise heard.unknown[0].refusal(heard.text)
    if heard.amount_mm is None and not heard.concepts and not heard.pieces:
        if heard.unknown:
            raise heard.unknown[0].refusal(heard.text)
        raise unclear(
            heard.text, "it names no amount", "Write one amount for one place: several changes are several lines."
        )
    meant = _meant(heard, ways, has)
    place, way = meant or (_some_place(heard, ways), None)
    on = _pieces_of(place, heard, has)
    if way is None or heard.amount_mm is None:
        return _asked(heard, place, way, on, has, unit)
    amount = heard.amount_mm
    if not _SMALLEST_MM <= amount <= place.most_mm:
        raise unclear(
            heard.text,
            f"{format_paper_mm(amount, unit)} is {'more' if amount > place.most_mm else 'less'} than a fitting changes "
            f"there",
            f"Write an amount up to {format_paper_mm(place.most_mm, unit)}, or make a new block from new measurements.",
        )
    correction = Correction(
        place=place.name, amount_mm=amount if way in place.more else -amount, on=on, alone=heard.only
    )
    return Told(text=heard.text, correction=correction, sentence=said_back(place, correction, way, unit))


def _asked(
    heard: Heard, place: Place, way: Way | None, on: Sequence[str], has: tuple[str, ...], unit: LengthUnit
) -> Asked:
    """The question that a sentence leaves open, and the lines that would answer it."""
    there = _kinds(on or place.usual or place.kinds, has)
    ways = (place.more[0], place.less[0]) if way is None else (way,)
    amount = _BLANK if heard.amount_mm is None else format_paper_mm(heard.amount_mm, unit)
    if heard.amount_mm is None:
        amount = f"{_BLANK} {'cm' if unit == 'cm' else 'inch'}"
    named = f"{place.phrase or place.name}, {' and '.join(there)}"
    lines = tuple(f"{named}: {_WAY_SAID.get(one, one)} {amount}" for one in ways)
    asks = [] if way is not None else [f"which way: {' or '.join(_WAY_SAID.get(one, one) for one in ways)}"]
    asks += [f"how much, {_counted(place)}"] if heard.amount_mm is None else []
    where = f"{place.name.capitalize()}, {listed(there)}"
    said = "" if way is None else f": {_WAY_SAID.get(way, way)}"
    question = f"{where}{said}. {' And '.join(asks).capitalize()}?"
    return Asked(
        text=heard.text,
        place=place.name,
        on=there,
        ways=ways,
        question=question,
        lines=lines,
        amount_mm=heard.amount_mm,
        passed_over=_passed_over(heard),
    )


def written(correction: Correction, *, unit: LengthUnit = "cm") -> str:
    """A correction as a person would write it; :func:`understand` reads it back as the same.

    Raises
    ------
    InputError
        If there is no such place.
    """
    place = toile_places(_HIP_MM).get(correction.place)
    if place is None:
        raise unclear(correction.place, "there is no such place", f"Places are: {', '.join(toile_places(_HIP_MM))}.")
    way = (place.more if correction.amount_mm >= 0 else place.less)[0]
    said = _WAY_SAID.get(way, way)
    number = abs(correction.amount_mm) / (10.0 if unit == "cm" else MM_PER_INCH)
    amount = f"{round(number, 5):g} {'cm' if unit == 'cm' else 'inch'}"
    on = f", {' and '.join(correction.on)}" if correction.on else ""
    return f"{place.phrase or place.name}{on}{' only' if correction.alone else ''}: {said} {amount}"


def said_back(place: Place, correction: Correction, way: Way, unit: LengthUnit) -> str:
    """A correction in one sentence, with what the amount counts."""
    how = f"{format_paper_mm(abs(correction.amount_mm), unit)} {_WAY_BACK.get(way, way)}"
    pieces = listed(correction.on)
    where = f"{place.name.capitalize()}, {pieces}"
    if place.counts == "whole":
        return f"{where}: {how} {_counted(place)}."
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


def _counted(place: Place) -> str:
    """What an amount at a place counts."""
    return _OF_PLACES.get(place.name, _COUNTED[place.counts])


def _passed_over(heard: Heard) -> tuple[str, ...]:
    return tuple(one.sentence for one in heard.unknown)


_BY_THE_CLOTH: tuple[Way, ...] = ("pinched", "slashed")  # done with the cloth itself, whatever was wrong
_WAY_SAID = {"pinched": "pinch out", "slashed": "slash"}
_WAY_BACK = {"pinched": "folded out", "slashed": "opened"}
_OF_PLACES = {
    "across back": "from armhole to armhole",
    "across chest": "from armhole to armhole",
    "full bust": "all the way round, opened at the bust point",
}
_COUNTED = {"each": "on each piece", "whole": "all the way round", "every dart": "at every dart"}


def _ways(heard: Heard) -> tuple[Way, ...]:
    """The ways that everything told allows, likeliest first; what is wrong counts where it agrees, or stands alone.

    Raises
    ------
    InputError
        If two ways told have none in common.
    """
    told = _common(heard.ways)
    if heard.ways and not told:
        said: list[str] = sorted({one[0] for one in heard.ways})
        raise unclear(heard.text, f"it says both {listed(said)}", "Write one way: in or out, longer or shorter.")
    wrong = _common([COMPLAINTS[one] for one in heard.complaints])
    if not heard.ways:
        return wrong
    agreed = tuple(way for way in told if way in wrong)
    return tuple(way for way in told if way in agreed or way in _BY_THE_CLOTH) if agreed else told


def _common(sets: Sequence[tuple[Way, ...]]) -> tuple[Way, ...]:
    return tuple(way for way in (sets[0] if sets else ()) if all(way in one for one in sets))


def _meant(heard: Heard, ways: tuple[Way, ...], has: tuple[str, ...]) -> tuple[Place, Way] | None:
    """The place and the way meant; None if the place has no such way, or none was told."""
    meant = [place for place in places().values() if _means(place, heard.concepts, heard.pieces)]
    alone = tuple(place.alone for place in meant if place.alone)
    for way in ways or alone[:1]:
        fits = [place for place in meant if way in place.more + place.less]
        there = [place for place in fits if _selected(place, heard, has)]
        if fits:
            return (there or fits)[0], way
    return None


def _some_place(heard: Heard, ways: tuple[Way, ...]) -> Place:
    """The one place meant, whichever way.

    Raises
    ------
    InputError
        If there is none, or several that are changed in different ways.
    """
    concepts, text = heard.concepts, heard.text
    meant = [place for place in places().values() if _means(place, concepts, heard.pieces)]
    if not meant:
        near = [p.name for p in places().values() if any(part in said for said in p.said for part in concepts)]
        raise unclear(
            text,
            f"no change is known for: {' '.join(sorted(concepts))}" if concepts else "it names no place",
            f"Places are: {', '.join(near or list(places()))}.",
        )
    can = tuple(dict.fromkeys(one for place in meant for one in place.more + place.less))
    if ways or len(meant) > 1:
        said = f"“{ways[0]}” has no one meaning there" if ways else "it does not say which way"
        raise unclear(text, said, f"Write one of: {', '.join(can)}. For example: {_with_way(text, can[0])}")
    return meant[0]


def _means(place: Place, concepts: frozenset[str], pieces: frozenset[str]) -> bool:
    garments = pieces & _GARMENTS
    return concepts in place.said or any(concepts | {garment} in place.said for garment in garments)


_GARMENTS = frozenset(kind.split()[0] for place in toile_places(_HIP_MM).values() for kind in place.kinds)


def _selected(place: Place, heard: Heard, has: tuple[str, ...]) -> tuple[PieceKind, ...]:
    """The pieces of a place that were named, or that it usually means, as far as the block has them."""
    garments = heard.pieces & _GARMENTS
    sides = (heard.pieces & {"front", "back"}) | {
        side for side in ("front", "back") if f"centre {side}" in heard.concepts
    }

    def meant(kind: str) -> bool:
        return (not garments or kind.split()[0] in garments) and (not sides or kind.split()[-1] in sides)

    usual = () if garments else _kinds([kind for kind in place.usual if meant(kind)], has)
    return usual or _kinds([kind for kind in place.kinds if meant(kind)], has)


def _kinds(kinds: Iterable[str], has: tuple[str, ...]) -> tuple[PieceKind, ...]:
    wanted = tuple(kinds)
    there = [kind for place in toile_places(_HIP_MM).values() for kind in place.kinds if kind in wanted]
    known = sorted(dict.fromkeys(there), key=wanted.index)
    return tuple(kind for kind in known if not has or kind in has)


def _has(place: Place, on: Sequence[str], has: tuple[str, ...]) -> bool:
    return bool(_kinds(on or place.kinds, has))


def _pieces_of(place: Place, heard: Heard, has: tuple[str, ...]) -> tuple[PieceKind, ...]:
    chosen = _selected(place, heard, has)
    if not chosen:
        there = f"; this block has: {', '.join(has)}" if has else ""
        raise unclear(
            heard.text,
            f"the {place.name} is changed on the {listed(place.kinds, 'or')}{there}",
            "Name one of these pieces.",
        )
    return chosen


def _with_way(text: str, way: str) -> str:
    """The maker's own line, mended."""
    found = AMOUNT.search(text)
    head = text[: found.start()] if found else text
    kept = [word for word in re.split(r"(\s+)", head.split(":")[0]) if word.lower() not in WAYS]
    return f"“{''.join(kept).strip(' ,')}: {way} {found[0].strip() if found else '1 cm'}”."
