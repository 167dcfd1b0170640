"""Pattern against body: ease now, ease wanted, where they differ, each as a sentence with nothing left to work out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.errors import Note
from convert.block.block import Measured
from convert.block.ease import published_band
from convert.block.measure import measure
from convert.block.targets import WAIST_TO_HIP_MM, Wanted, wanted_levels
from convert.body.card import Card, LengthUnit
from convert.body.wording import format_body_mm
from convert.piece.piece import Piece

_TAPE_MM = 2.5  # half of the half centimetre to which a body is read
_TOO_BIG_EASE_MM = 200.0  # more ease than that is no plain garment's: said before anything is built on it
_SCALE_OFF = 0.05  # every measurement out by at least this share, and alike within _ALIKE: the scale is wrong
_ALIKE = 0.04

_ROUND = ("bust", "waist", "hip", "neck", "upper arm", "wrist", "skirt waist")
_WIDE = ("across back", "across chest", "bust point distance")
_EASED = ("bust", "waist", "hip", "upper arm")


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One level: mm, girths all the way round; None where not known.

    ``difference_mm`` is the pattern less what is wanted (positive: the pattern is bigger). ``wearing_mm`` and
    ``style_mm`` share out the pattern's ease: wearing ease up to what the block keeps, style ease beyond.
    ``too_close`` says that the difference lies below ``uncertainty_mm``, half a 95 % interval of it.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """All levels compared, and doubts: ease that is negative, huge or uneven, with its probable cause."""

    levels: tuple[Compared, ...]
    notes: tuple[Note, ...] = ()

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
    pieces: Sequence[Piece], *, card: Card, drafted_for: Mapping[str, float] | None, ease: Mapping[str, float]
) -> Comparison:
    """Compare a set of pieces with the maker, and with the body the pattern was drafted for.

    Parameters are those of :func:`convert.block.solve.suggest`.

    Raises
    ------
    InputError
        If an edge is missing, or two measurements of the card cannot belong to one body.
    """
    size = dict(drafted_for or {})
    hip = size.get("waist to hip") or card.mm("waist to hip") or WAIST_TO_HIP_MM
    pattern = measure(pieces, waist_to_hip=hip)
    wanted = wanted_levels({one.name: one.mm for one in pattern}, card, size, ease)
    levels = tuple(_compared(one, card, size, wanted, ease) for one in pattern)
    return Comparison(levels=levels, notes=(*_doubts(levels, card.unit), *wanted.notes))


def _compared(
    one: Measured, card: Card, size: Mapping[str, float], wanted: Wanted, ease: Mapping[str, float]
) -> Compared:
    level = "waist" if one.name == "skirt waist" else one.name
    body, drafted = card.measurements.get(level), size.get(level)
    now = None if drafted is None else one.mm - drafted
    keeps = wanted.ease.get(level, ease.get(level))
    target = wanted.mm.get(level)
    difference = None if target is None else one.mm - target
    tape = body.uncertainty_mm if body is not None and body.uncertainty_mm else _TAPE_MM
    uncertainty = float(np.hypot(one.uncertainty_mm, tape if body is not None else 0.0))
    split = now is not None and keeps is not None and level in _EASED
    wearing = float(np.clip(now, min(now, 0.0), keeps)) if split and now is not None and keeps is not None else None
    style = now - wearing if now is not None and wearing is not None else None
    too_close = difference is not None and abs(difference) <= uncertainty
    return Compared(
        name=one.name,
        pattern_mm=one.mm,
        drafted_for_mm=drafted,
        ease_now_mm=now,
        wearing_mm=wearing,
        style_mm=style,
        body_mm=None if body is None else body.mm,
        body_is_estimated=body is not None and body.source == "estimated",
        ease_wanted_mm=keeps,
        wanted_mm=target,
        difference_mm=difference,
        uncertainty_mm=uncertainty,
        too_close=too_close,
        sentence=_sentence(one, difference, style, card.unit, too_close=too_close),
    )


def _sentence(
    one: Measured, difference: float | None, style: float | None, unit: LengthUnit, *, too_close: bool
) -> str:
    """What the difference means, for a person who should not have to calculate."""
    if difference is None:
        return f"The pattern measures {format_body_mm(one.mm, unit)} {_place(one.name)}; nothing to compare it with."
    amount = format_body_mm(abs(difference), unit)
    if too_close:
        return f"The pattern fits you {_place(one.name)}: the difference is too close to call."
    if amount.startswith("0 "):
        return f"The pattern fits you {_place(one.name)}."
    bigger = difference > 0
    if one.name in _ROUND:
        said = f"The pattern is {amount} {'bigger' if bigger else 'smaller'} {_place(one.name)} than you need"
    elif one.name in _WIDE:
        said = f"The pattern is {amount} {'wider' if bigger else 'narrower'} {_place(one.name)} than you need"
    else:
        said = f"The pattern is {amount} {'longer' if bigger else 'shorter'} {_place(one.name)} than you need"
    if bigger and style is not None and style > 0.5 * difference:
        return f"{said}: {'all' if style >= difference else 'most'} of it is style."
    return f"{said}."


def _place(name: str) -> str:
    if name in _ROUND:
        return f"round the {'waist of the skirt' if name == 'skirt waist' else name}"
    if name in ("across back", "across chest"):
        return f"across the {name.split()[1]}"
    return {
        "bust point distance": "between the bust points",
        "bust height": "from the side of the neck to the bust point",
        "armhole depth": "in the depth of the armhole",
        "shoulder length": "along the shoulder",
        "cap ease": "of ease in the sleeve cap",
        "armhole": "round the armholes",
    }.get(name, f"in the {name}")


def _doubts(levels: Sequence[Compared], unit: LengthUnit) -> tuple[Note, ...]:
    """Negative, huge or uneven ease, with what probably caused it."""
    known = {level.name: level for level in levels if level.ease_now_mm is not None}
    off = {name: known[name].ease_now_mm or 0.0 for name in _EASED if name in known}
    short = {name: mm for name, mm in off.items() if mm < -known[name].uncertainty_mm}
    huge = {name: mm for name, mm in off.items() if mm > _TOO_BIG_EASE_MM}
    notes = []
    cause = _cause(known, short or huge)
    for name, mm in short.items():
        notes.append(
            Note(
                "ease-negative",
                f"The pattern is {format_body_mm(-mm, unit)} smaller {_place(name)} than the body it was drafted for. "
                f"{cause}",
            )
        )
    for name, mm in huge.items():
        text = f"The pattern has {format_body_mm(mm, unit)} of ease {_place(name)}, more than a plain garment. {cause}"
        notes.append(Note("ease-huge", text))
    for name, mm in off.items():
        band = published_band(name)
        if name not in short and band is not None and mm < band.low_mm - known[name].uncertainty_mm - 5.0:
            least = format_body_mm(band.low_mm, unit)
            text = f"The pattern has {format_body_mm(mm, unit)} of ease {_place(name)}; {least} is the least published."
            notes.append(Note("ease-small", text))
    return tuple(notes)


def _cause(known: Mapping[str, Compared], wrong: Mapping[str, float]) -> str:
    """The likeliest reason for ease that cannot be."""
    lengths = [known[n] for n in ("back waist length", "front waist length", "shoulder length") if n in known]
    ratios = [one.pattern_mm / one.drafted_for_mm for one in lengths if one.drafted_for_mm]
    if ratios and abs(np.mean(ratios) - 1.0) > _SCALE_OFF and np.ptp(ratios) < _ALIKE:
        return "Lengths are out by as much, so the pitch of the grid is probably not what was said."
    girths = [name for name in ("bust", "waist", "hip") if name in known]
    if len(girths) > 1 and all(name in wrong for name in girths):
        return "All girths are, so it was probably drafted for another size."
    if len(wrong) == 1:
        return "Only this one is, so look for a dart or pleat that was not seen, or an edge taken for another."
    return "Check the size on the envelope, and the names of the edges."
