"""Ease that cannot be, or hardly: negative, huge, small or uneven, each with what probably caused it."""

from collections.abc import Mapping, Sequence
from typing import Protocol

import numpy as np

from calibration.ground.errors import Note
from convert.block.compared.ease import least_published_mm
from convert.block.compared.words import place
from convert.body.card import LengthUnit
from convert.body.wording import format_body_mm, format_paper_mm, listed
from convert.piece.piece import Piece

_TOO_BIG_EASE_MM = 200.0  # more ease than that is no plain garment's: said before anything is built on it
_SCALE_OFF = 0.05  # every measurement out by at least this share, and alike within _ALIKE: the scale is wrong
_ALIKE = 0.04
_SLACK_MM = 5.0  # the half centimetre to which a body is read
_UNEVEN_MM = 100.0  # ease that differs more between girths, the smaller below every published figure
_WAISTS_APART_MM = 12.7  # 1/2 in: bodice and skirt waist of one pattern are sewn together
_LEVELS = ("bust", "waist", "skirt waist", "trousers waist", "hip", "trousers hip", "upper arm", "thigh")
_GIRTHS = ("bust", "waist", "hip")
_SIDES = ("side seam", "underarm seam front", "underarm seam back")


class Eased(Protocol):
    """What is looked at: one compared level."""

    @property
    def name(self) -> str:
        """Name of the level."""

    @property
    def pattern_mm(self) -> float:
        """The pattern there."""

    @property
    def drafted_for_mm(self) -> float | None:
        """The body it was drafted for."""

    @property
    def ease_now_mm(self) -> float | None:
        """The pattern's ease."""

    @property
    def drafted_is_assumed(self) -> bool:
        """Whether that body is a guess."""

    @property
    def uncertainty_mm(self) -> float:
        """Half a 95 % interval of the difference."""

    @property
    def pattern_uncertainty_mm(self) -> float:
        """The same of the pattern alone."""


def doubts(levels: Sequence[Eased], pieces: Sequence[Piece], unit: LengthUnit) -> tuple[Note, ...]:
    """Notes on ease that is negative, huge, small or uneven, and on waists that do not meet."""
    known = {level.name: level for level in levels if level.ease_now_mm is not None and not level.drafted_is_assumed}
    off = {name: known[name].ease_now_mm or 0.0 for name in _LEVELS if name in known}
    short = {name: mm for name, mm in off.items() if mm < -known[name].uncertainty_mm}
    huge = {name: mm for name, mm in off.items() if mm > _TOO_BIG_EASE_MM}
    cause = _cause(known, short or huge, pieces, unit)
    notes = []
    if short:
        by = listed([f"{format_body_mm(-mm, unit)} {place(name)}" for name, mm in short.items()])
        notes.append(Note("ease-negative", f"The pattern is smaller than the body it was drafted for: {by}. {cause}"))
    if huge:
        by = listed([f"{format_body_mm(mm, unit)} {place(name)}" for name, mm in huge.items()])
        notes.append(Note("ease-huge", f"The pattern has more ease than a plain garment: {by}. {cause}"))
    for name, mm in off.items():
        least = least_published_mm(name)
        if name not in short and least is not None and mm < least - known[name].uncertainty_mm - _SLACK_MM:
            has, published = format_body_mm(mm, unit), format_body_mm(least, unit)
            text = f"The pattern has {has} of ease {place(name)}; {published} is the least we found published."
            notes.append(Note("ease-small", text))
    return (*notes, *_uneven({n: mm for n, mm in off.items() if n in _GIRTHS}, unit), *_waists_apart(levels, unit))


def _uneven(off: Mapping[str, float], unit: LengthUnit) -> list[Note]:
    """One girth tight and another roomy: more than style usually does on a plain pattern."""
    if len(off) < 2:
        return []
    least, most = min(off, key=lambda n: off[n]), max(off, key=lambda n: off[n])
    published = least_published_mm(least)
    tight = published is not None and 0.0 <= off[least] < published
    if not tight or off[most] - off[least] < _UNEVEN_MM or off[most] > _TOO_BIG_EASE_MM:
        return []
    text = (
        f"The pattern is uneven: {format_body_mm(off[least], unit)} of ease {place(least)}, but "
        f"{format_body_mm(off[most], unit)} {place(most)}. That can be style; or a dart or pleat was not seen, or the "
        "size it was drafted for is another."
    )
    return [Note("ease-uneven", text)]


def _waists_apart(levels: Sequence[Eased], unit: LengthUnit) -> list[Note]:
    waists = {level.name: level for level in levels if level.name in ("waist", "skirt waist")}
    if len(waists) < 2:
        return []
    apart = waists["skirt waist"].pattern_mm - waists["waist"].pattern_mm
    if abs(apart) < _WAISTS_APART_MM + waists["waist"].uncertainty_mm + waists["skirt waist"].uncertainty_mm:
        return []
    text = (
        f"The waist of the skirt is {format_body_mm(abs(apart), unit)} {'bigger' if apart > 0 else 'smaller'} than the "
        "waist of the bodice. They are sewn together, so look for a dart or pleat that was not seen."
    )
    return [Note("waists-apart", text)]


def _cause(known: Mapping[str, Eased], wrong: Mapping[str, float], pieces: Sequence[Piece], unit: LengthUnit) -> str:
    """The likeliest reason for ease that cannot be."""
    lengths = [known[n] for n in ("back waist length", "front waist length", "shoulder length") if n in known]
    ratios = [one.pattern_mm / one.drafted_for_mm for one in lengths if one.drafted_for_mm]
    if ratios and abs(np.mean(ratios) - 1.0) > _SCALE_OFF and np.ptp(ratios) < _ALIKE:
        return "Its lengths are off by as much, so the pitch of the grid is probably not what was said."
    assumed = _assumed_at_the_sides(pieces)
    if assumed and wrong and all(0.0 > mm >= -6.0 * assumed for mm in wrong.values()):
        return (
            f"{format_paper_mm(assumed, unit)} of seam allowance were assumed at the side seams: if this paper has "
            "none, say so. Otherwise it was probably drafted for another size."
        )
    girths = [name for name in _GIRTHS if name in known]
    if len(girths) > 1 and all(name in wrong for name in girths):
        return "All its girths are off, so it was probably drafted for another size."
    if len(wrong) == 1:
        return "Only this one is off, so look for a dart or pleat that was not seen, or an edge taken for another."
    return "Check the size on the envelope, and the names of the edges."


def _assumed_at_the_sides(pieces: Sequence[Piece]) -> float:
    """The allowance assumed at the side seams, mm; 0 where it was read or told."""
    sides = [edge.allowance for piece in pieces for edge in piece.edges if edge.name == "side seam"]
    return min((one.mm for one in sides if one.evidence == "assumed"), default=0.0) if sides else 0.0


def missing_pieces(pieces: Sequence[Piece]) -> tuple[Note, ...]:
    """Which piece is not there, and what could be compared with it: a girth needs front and back."""
    kinds = {str(piece.kind) for piece in pieces}
    girths = {
        "bodice": "bust, waist and neck",
        "skirt": "waist and hip",
        "dress": "bust, waist and hip",
        "trousers": "waist, hip, thigh, knee and crotch length",
    }
    notes = []
    for what, which in girths.items():
        there = {part for part in ("front", "back") if f"{what} {part}" in kinds}
        if len(there) == 1:
            other = "back" if "front" in there else "front"
            text = f"There is no {what} {other}, so {which} can't be compared: they go all the way round."
            text += " The other half is not made up." if what == "trousers" else ""
            notes.append(Note("piece-missing", text))
    return tuple(notes)


def assumed_allowances(levels: Sequence[Eased], pieces: Sequence[Piece], unit: LengthUnit) -> tuple[Note, ...]:
    """Where seam allowances were assumed: how much that may make round the body, and what to do."""
    sides = sorted(
        {
            edge.name
            for piece in pieces
            for edge in piece.edges
            if edge.allowance.evidence == "assumed" and edge.name in _SIDES
        }
    )
    girths = [level for level in levels if level.name in (*_GIRTHS, "upper arm", "skirt waist", "trousers waist")]
    if not sides or not girths:
        return ()
    most = max(girths, key=lambda level: level.pattern_uncertainty_mm)
    by, seams = format_body_mm(most.pattern_uncertainty_mm, unit), listed([str(side) for side in sides])
    text = (
        f"Nothing on the paper shows the seam allowance of the {seams}, so it was assumed. "
        f"{_CAPITAL[most.name]} the pattern may be up to {by} bigger or smaller than said here. Look on the "
        "instruction sheet, and say the allowance in job.toml."
    )
    return (Note("allowance-assumed", text),)


_CAPITAL = {name: place(name).capitalize() for name in (*_GIRTHS, "upper arm", "skirt waist", "trousers waist")}
