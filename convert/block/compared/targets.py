"""What each level of the block shall measure: the maker's body and the block's ease.

The ease of a level is, in this order: what was asked; the pattern's own, where the body it was drafted for is known and
that ease lies in the band that a plain block can keep; the nearer end of that band; a usual figure. Bands and usual
figures have no published source: common practice.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from calibration.ground.errors import InputError, Note
from convert.body.card import Card
from convert.body.cup import DRAFTED_CUP_MM
from convert.body.definitions import body_name
from convert.body.wording import format_body_mm

# least, usual and most ease of a level that the ease words do not name, mm
_BANDS: Mapping[str, tuple[float, float, float]] = {
    "bust": (38.0, 60.0, 102.0),
    "waist": (12.0, 25.0, 45.0),
    "hip": (38.0, 55.0, 76.0),
    "upper arm": (38.0, 50.0, 76.0),
    "neck": (0.0, 30.0, 50.0),
    "back waist length": (-5.0, 0.0, 12.0),
    "front waist length": (-10.0, 0.0, 15.0),
    "shoulder length": (-6.0, 0.0, 10.0),
    "across back": (5.0, 18.0, 40.0),
    "across chest": (0.0, 10.0, 30.0),
    "armhole depth": (5.0, 12.0, 30.0),
    "bust point distance": (-20.0, 0.0, 20.0),
    "bust height": (-20.0, 0.0, 20.0),
    "wrist": (15.0, 40.0, 70.0),
    "arm length": (-10.0, 0.0, 20.0),
    "skirt length": (0.0, 0.0, 0.0),
    "trousers waist": (10.0, 20.0, 40.0),
    "trousers hip": (38.0, 50.0, 76.0),
    "body rise": (5.0, 18.0, 35.0),
    "outside leg": (-90.0, 10.0, 25.0),
    "crotch length": (-20.0, 20.0, 70.0),
    "thigh": (25.0, 60.0, 120.0),
    "knee": (40.0, 75.0, 130.0),
    "ankle": (60.0, 130.0, 190.0),
}
CAP_EASE_MM = (
    10.0,
    28.0,
    38.1,
)
# usual and most lie in 1 to 1 1/2 in: http://en.paperblog.com/the-case-of-sleeve-cap-ease-it-depends-419520/; the least
# is our choice, because a pattern's own sleeve is kept as it is, and knitwear was sewn with 1/2 in (the same page)

PRIORITY: Mapping[str, float] = {
    "bust": 1.0,
    "waist": 1.0,
    "hip": 1.0,
    "back waist length": 1.0,
    "upper arm": 1.0,
    "skirt waist": 1.0,
    "trousers waist": 1.0,
    "trousers hip": 1.0,
    "body rise": 1.0,
    "outside leg": 1.0,
    "thigh": 0.5,
    "knee": 0.5,
    "ankle": 0.5,
    "leg hem": 0.5,
    "cap ease": 0.7,
    "front waist length": 0.6,
    "shoulder length": 0.5,
    "arm length": 0.5,
    "wrist": 0.5,
    "skirt length": 0.5,
    "neck": 0.4,
    "armhole depth": 0.4,
    "across back": 0.3,
    "across chest": 0.3,
    "bust height": 0.2,
    "bust point distance": 0.2,
    "crotch length": 0.2,
}
"""What gives way last when not everything can be met: 1 last, 0.2 first."""
HELD = 0.02  # weight of a level that nobody told: it stays as the pattern has it


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What one measurement or pair of the block shall be (mm), and the weight of a mm that it misses."""

    name: str
    mm: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Target and ease of each level told, mm; the bust alteration of each half front; what was assumed on the way."""

    mm: Mapping[str, float]
    ease: Mapping[str, float]
    bust_alteration: float
    notes: tuple[Note, ...]


def usual_ease(level: str) -> float:
    """The usual ease of a level that the ease words do not name, mm; none for one that nobody eases."""
    return _BANDS.get(level, (0.0, 0.0, 0.0))[1]


def wanted_levels(
    pattern: Mapping[str, float], card: Card, drafted_for: Mapping[str, float] | None, ease: Mapping[str, float]
) -> Wanted:
    """Targets for every level that the card and the pieces have.

    Raises
    ------
    InputError
        If two measurements of the card cannot belong to one body.
    """
    _require_possible(card)
    leg = _leg_note(card) if "outside leg" in pattern else None
    size = drafted_for or {}
    mm, eases, notes = {}, {}, [leg] if leg else []
    for name in _BANDS:
        body = card.mm(body_name(name))
        if body is None or name not in pattern or (name in _ONLY_TOLD and not _is_told(card, name)):
            continue
        eases[name], note = _ease_of(name, pattern[name], size.get(body_name(name)), ease, card)
        mm[name] = body + eases[name]
        notes += [note] if note else []
    on_bodice = bool({"bust", "front waist length"} & set(pattern))
    alteration, note = _bust_alteration(card, size) if on_bodice else (0.0, None)
    notes += [note] if note else []
    return Wanted(mm=mm, ease=eases, bust_alteration=alteration, notes=tuple(notes))


_WITHOUT_EASE = ("skirt length", "bust height", "bust point distance")
"""Levels that the block has as the body has them: a dart aims at the body's bust point, wherever the pattern's do."""
_ONLY_TOLD = ("crotch length", "thigh")
"""Levels that follow from the rest unless the tape says otherwise: an estimate is no better than hip and rise are."""


def _is_told(card: Card, name: str) -> bool:
    row = card.measurements.get(name)
    return row is not None and row.source == "told"


def _ease_of(
    name: str, pattern_mm: float, size_mm: float | None, ease: Mapping[str, float], card: Card
) -> tuple[float, Note | None]:
    least, usual, most = _BANDS[name]
    if name in ease or body_name(name) in ease:
        return float(ease.get(name, ease.get(body_name(name), 0.0))), None
    if name in _WITHOUT_EASE:
        return 0.0, None
    if size_mm is None:
        return usual, None
    own = pattern_mm - size_mm
    kept = min(max(own, least), most)
    if abs(kept - own) < 0.05:
        return own, None
    more, room = ("less" if own < least else "more"), format_body_mm(abs(kept), card.unit)
    return kept, Note(
        "ease-limited",
        f"The pattern has {more} room at the {name} than a plain block keeps; the block "
        + (f"keeps {room} of ease there." if kept >= 0 else f"is {room} below the body there."),
    )


def _bust_alteration(card: Card, size: Mapping[str, float]) -> tuple[float, Note | None]:
    """Half of (full bust minus high bust, less what the pattern was drafted for).

    Source: patterns without a cup label are drafted for 2 in (the misses chart in every size).
    """
    bust, high = card.mm("bust"), card.mm("high bust")
    if bust is None or high is None:
        return 0.0, None
    drafted, note = DRAFTED_CUP_MM, None
    if "bust" in size and "high bust" in size:
        drafted = size["bust"] - size["high bust"]
    else:
        note = Note(
            "cup-assumed",
            "The pattern does not say what cup it was drafted for; "
            f"{format_body_mm(DRAFTED_CUP_MM, card.unit)} between high bust and full bust was assumed.",
        )
    return (bust - high - drafted) / 2, note


_LEG_APART_MM = (25.0, 80.0)
# said, refused: a tape is read to a centimetre at each end of three lengths, and an outside leg goes round the hip;
# 8 cm is no slip of the tape; common practice


def _leg_note(card: Card) -> Note | None:
    """Rise and inside leg against the outside leg, where all three were told.

    Raises
    ------
    InputError
        If they cannot be one leg's.
    """
    rows = [card.measurements.get(name) for name in ("body rise", "inside leg", "outside leg")]
    told = [row.mm for row in rows if row is not None and row.source == "told"]
    if len(told) < 3:
        return None
    rise, inside, outside = told
    apart = rise + inside - outside
    said, refused = _LEG_APART_MM
    if abs(apart) <= said:
        return None
    lengths = [format_body_mm(mm, card.unit) for mm in (rise, inside, outside)]
    words = (
        f"The card says body rise {lengths[0]}, inside leg {lengths[1]} and outside leg {lengths[2]}: rise and inside "
        f"leg together are {format_body_mm(abs(apart), card.unit)} {'more' if apart > 0 else 'less'} than the outside "
        "leg"
    )
    if abs(apart) > refused:
        raise InputError(
            f"{words}, and no leg is like that.",
            "Measure the body rise again, sitting on a hard chair, and the leg on both sides down to the floor.",
        )
    return Note(
        "leg-differs",
        f"{words}. The block follows body rise and outside leg. Measure the inside leg again, and the rise on a hard "
        "chair.",
    )


def _require_possible(card: Card) -> None:
    """Refuse a card on which two measurements contradict each other so that no paper could follow both."""
    for smaller, larger, slack in (
        ("bust height", "front waist length", 20.0),
        ("armhole depth", "back waist length", 40.0),
        ("high bust", "bust", -60.0),
        ("waist", "bust", -300.0),  # 7 standard deviations of the survey's chest less waist
        ("waist", "hip", -250.0),
        ("waist to hip", "skirt length", 20.0),
        ("body rise", "outside leg", 300.0),
        ("knee", "thigh", 20.0),
        ("ankle", "knee", 20.0),
    ):
        a, b = card.mm(smaller), card.mm(larger)
        if a is not None and b is not None and a > b - slack:
            raise InputError(
                f"The card says {smaller} {format_body_mm(a, card.unit)} and {larger} {format_body_mm(b, card.unit)}; "
                "no block can follow both.",
                "Measure both again, and check whether two rows were exchanged.",
            )
