"""Pattern against body: ease now, ease wanted, where they differ, each as a sentence with nothing left to work out."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import Note
from convert.block.block import Measured
from convert.block.compared.doubts import assumed_allowances, doubts, missing_pieces
from convert.block.compared.ease import PublishedEase, published_ease
from convert.block.compared.targets import Wanted, wanted_levels
from convert.block.compared.words import ease_words, sentence
from convert.block.measured.measure import measure
from convert.block.shape.places import where
from convert.block.shape.trousers import require_pair
from convert.body.card import Card
from convert.body.definitions import body_name, definitions
from convert.body.survey import WAIST_TO_HIP_MM
from convert.piece.piece import Piece

# How far apart two skilled measurements of one body may be (mm): large girth, segment length, breadth, small girth,
# height. Source: ISO 20685 limits as quoted at https://digilib.universitaspertamina.ac.id/ebook/Anthropometry,%20Apparel
# %20Sizing%20and%20Design/files/basic-html/page45.html; a wish is read to half a centimetre.
_LARGE_GIRTHS = ("bust", "high bust", "under bust", "waist", "hip", "thigh")
_TAPE_MM: Mapping[str, float] = {"girth": 4.0, "length": 5.0, "breadth": 4.0, "height": 4.0, "wish": 2.5}
_LARGE_GIRTH_MM = 9.0
_EASED = ("bust", "waist", "hip", "upper arm", "thigh")


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One level: mm, girths all the way round; None where not known.

    ``difference_mm`` is the pattern less what is wanted (positive: the pattern is bigger). ``wearing_mm`` and
    ``style_mm`` share out the pattern's ease: wearing ease up to what the block keeps, style ease beyond.
    ``too_close`` says that the difference lies below ``uncertainty_mm``, half a 95 % interval of it. ``where`` says in
    words where on the paper it is taken (:func:`convert.block.places.places` gives the lines), ``published`` what
    each source gives as ease there, ``ease_sentence`` what the pattern's ease means ("" where it is not known),
    ``drafted_is_assumed`` that the body it was drafted for is a guess, ``pattern_uncertainty_mm`` how sure the
    pattern's own measurement is.
    """

    name: str
    pattern_mm: float
    drafted_for_mm: float | None
    ease_now_mm: float | None
    wearing_mm: float | None
    style_mm: float | None
    body_mm: float | None
    body_is_estimated: bool
    ease_wanted_mm: float | None
    wanted_mm: float | None
    difference_mm: float | None
    uncertainty_mm: float
    too_close: bool
    sentence: str
    where: str = ""
    published: tuple[PublishedEase, ...] = ()
    ease_sentence: str = ""
    drafted_is_assumed: bool = False
    pattern_uncertainty_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All levels compared, and doubts: ease that is negative, huge or uneven, with its probable cause.

    ``waist_to_hip_mm`` is how far below the waist the hip was taken.
    """

    levels: tuple[Compared, ...]
    notes: tuple[Note, ...] = ()
    waist_to_hip_mm: float = WAIST_TO_HIP_MM

    def level(self, name: str) -> Compared:
        """The level of that name.

        Raises
        ------
        KeyError
            If it was not compared.
        """
        for level in self.levels:
            if level.name == name:
                return level
        raise KeyError(name)


def compare(
    pieces: Sequence[Piece],
    *,
    card: Card,
    drafted_for: Mapping[str, float] | None,
    ease: Mapping[str, float],
    assumed: Collection[str] = (),
) -> Comparison:
    """Compare pieces of any subset with the maker, and with the body the pattern was drafted for.

    Parameters are those of :func:`convert.block.solve.suggest`; rows of the card may be estimated
    (:func:`convert.body.fill.fill_missing`). ``assumed`` names what was only guessed of ``drafted_for``
    (:func:`convert.block.drafted.drafted_for`): its ease is said with that, and raises no doubts.

    Raises
    ------
    InputError
        If an edge is missing, or two measurements of the card cannot belong to one body.
    """
    require_pair(pieces)
    size = dict(drafted_for or {})
    hip = size.get("waist to hip") or card.mm("waist to hip") or WAIST_TO_HIP_MM
    pattern = measure(pieces, waist_to_hip=hip)
    found = {one.name: one.mm for one in pattern}
    if "skirt waist" in found:
        found.setdefault("waist", found["skirt waist"])
    wanted = wanted_levels(found, card, size, ease)
    on_dress = any(piece.kind.startswith("dress") for piece in pieces)
    levels = tuple(_compared(one, card, size, wanted, ease, on_dress=on_dress, assumed=assumed) for one in pattern)
    high = card.measurements.get("high bust")
    measured_high = high is not None and high.source == "told"
    kept = [note for note in wanted.notes if note.code != "cup-assumed" or measured_high]
    return Comparison(
        levels=levels,
        notes=(
            *missing_pieces(pieces),
            *assumed_allowances(levels, pieces, card.unit),
            *doubts(levels, pieces, card.unit),
            *kept,
        ),
        waist_to_hip_mm=float(hip),
    )


def tape_mm(name: str) -> float:
    """How sure a body measurement is that was taken with a tape, half-width in mm.

    Examples
    --------
    >>> tape_mm("hip"), tape_mm("back waist length")
    (9.0, 5.0)
    """
    if name in _LARGE_GIRTHS:
        return _LARGE_GIRTH_MM
    return _TAPE_MM[definitions()[name].kind] if name in definitions() else _TAPE_MM["wish"]


def _compared(
    one: Measured,
    card: Card,
    size: Mapping[str, float],
    wanted: Wanted,
    ease: Mapping[str, float],
    *,
    on_dress: bool,
    assumed: Collection[str],
) -> Compared:
    level = body_name(one.name)
    body, drafted = card.measurements.get(level), size.get(level)
    now = None if drafted is None else one.mm - drafted
    keeps = wanted.ease.get(one.name, wanted.ease.get(level, ease.get(level)))
    target = wanted.mm.get(one.name, wanted.mm.get(level))
    difference = None if target is None else one.mm - target
    tape = body.uncertainty_mm if body is not None and body.uncertainty_mm else tape_mm(level)
    uncertainty = float(np.hypot(one.uncertainty_mm, tape if body is not None else 0.0))
    split = now is not None and keeps is not None and level in _EASED
    wearing = float(np.clip(now, min(now, 0.0), keeps)) if split and now is not None and keeps is not None else None
    style = now - wearing if now is not None and wearing is not None else None
    estimated = body is not None and body.source == "estimated"
    too_close = difference is not None and abs(difference) <= uncertainty
    eased, guessed = now if level in _EASED else None, level in assumed
    return Compared(
        name=one.name,
        pattern_mm=one.mm,
        drafted_for_mm=drafted,
        drafted_is_assumed=guessed and drafted is not None,
        ease_now_mm=now,
        wearing_mm=wearing,
        style_mm=style,
        body_mm=None if body is None else body.mm,
        body_is_estimated=estimated,
        ease_wanted_mm=keeps,
        wanted_mm=target,
        difference_mm=difference,
        uncertainty_mm=uncertainty,
        pattern_uncertainty_mm=one.uncertainty_mm,
        too_close=too_close,
        sentence=sentence(
            one.name, one.mm, difference, style, card.unit, too_close=too_close, body=body if estimated else None
        ),
        where=where(one.name, dress=on_dress),
        published=published_ease(one.name),
        ease_sentence="" if eased is None else ease_words(one.name, eased, keeps, card.unit, guessed=guessed),
    )
