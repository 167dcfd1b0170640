"""What a difference between pattern and maker means, in words for a person who should not have to calculate."""

from convert.block.compared.ease import ease_sentence
from convert.body.card import BodyMeasurement, LengthUnit
from convert.body.definitions import body_name
from convert.body.wording import format_body_mm, format_range_mm

CAP_PUBLISHED_MM = (19.05, 38.1)
_HALF_STEP_MM = 2.5  # half of the half centimetre that a reader sees
_LOWER = ("skirt waist", "trousers waist", "trousers hip", "thigh", "knee", "ankle")
ROUND = ("bust", "waist", "hip", "neck", "upper arm", "wrist", *_LOWER)
_WIDE = ("across back", "across chest", "bust point distance")
_PLACES = {
    "bust point distance": "between the bust points",
    "bust height": "from the side of the neck to the bust point",
    "armhole depth": "in the depth of the armhole",
    "shoulder length": "along the shoulder",
    "skirt waist": "round the waist of the skirt",
    "trousers waist": "round the waist of the trousers",
    "trousers hip": "round the hip of the trousers",
    "body rise": "from waist to fork",
    "outside leg": "down the side of the leg",
    "inside leg": "down the inside of the leg",
    "crotch length": "along the crotch seam",
    "across back": "across the back",
    "across chest": "across the chest",
    "arm length": "down the arm",
    "skirt length": "down the skirt",
    "back waist length": "from neck to waist at the back",
    "front waist length": "from shoulder to waist at the front",
}


def place(name: str) -> str:
    """Where on the body, as words within a sentence.

    Examples
    --------
    >>> place("waist")
    'round the waist'
    """
    return _PLACES.get(name) or (f"round the {name}" if name in ROUND else f"in the {name}")


def sentence(
    name: str,
    pattern_mm: float,
    difference: float | None,
    style: float | None,
    unit: LengthUnit,
    *,
    too_close: bool,
    body: BodyMeasurement | None = None,
) -> str:
    """One level in one sentence; ``body`` is given where the maker's measurement is only estimated."""
    if name == "cap ease":
        return _cap(pattern_mm, unit)
    if name == "sleeve length":
        return f"The sleeve is {format_body_mm(pattern_mm, unit)} long. It is a short one, so your arm is not compared."
    if name == "sleeve hem":
        return f"The lower edge of the sleeve measures {format_body_mm(pattern_mm, unit)}."
    if name == "inside leg":
        return f"The inseam measures {format_body_mm(pattern_mm, unit)}. It follows from body rise and outside leg."
    if name == "leg hem":
        return f"The hem of one leg measures {format_body_mm(pattern_mm, unit)}."
    if name == "armhole":
        return f"One armhole measures {format_body_mm(pattern_mm, unit)}."
    if difference is None:
        title = body_name(name)
        return (
            f"The pattern measures {format_body_mm(pattern_mm, unit)} {place(name)}. Your {title} is not on the card."
        )
    if body is not None:
        about = format_body_mm(body.mm, unit)
        said = "the pattern fits" if too_close else f"the pattern is {_how_much(name, difference, unit)}"
        return (
            f"Your {name} is not on the card. If it is about {about}, as is usual with your other measurements, {said}"
            f"{'' if too_close else ' than you need'}."
        )
    amount = format_body_mm(abs(difference), unit)
    if too_close or amount.startswith("0 "):
        end = ": the difference is too close to call" if too_close else ""
        return f"The pattern fits you {place(name)}{end}."
    said = f"The pattern is {_how_much(name, difference, unit)} than you need"
    if difference > 0 and style is not None and style > 0.5 * difference:
        return f"{said}: {'all' if style >= difference else 'most'} of it is style."
    return f"{said}."


def _how_much(name: str, difference: float, unit: LengthUnit) -> str:
    amount, more = format_body_mm(abs(difference), unit), difference > 0
    if name in ROUND:
        return f"{amount} {'bigger' if more else 'smaller'} {place(name)}"
    if name in _WIDE:
        return f"{amount} {'wider' if more else 'narrower'} {place(name)}"
    if name == "armhole depth":
        return f"{amount} {'deeper' if more else 'shallower'} at the armhole"
    return f"{amount} {'longer' if more else 'shorter'} {place(name)}"


def _cap(mm: float, unit: LengthUnit) -> str:
    """Source of the band: a teacher's 3/8 in on each half at least, to 1 1/2 in, the most of the usual textbook figure.

    https://cfashionedu.com/35-home-sewing-patterns-sleeve-cap-armhole-problem/ and
    http://en.paperblog.com/the-case-of-sleeve-cap-ease-it-depends-419520/; a cap shorter than the armhole is a fault.
    """
    least, most = CAP_PUBLISHED_MM
    amount = format_body_mm(abs(mm), unit)
    usual = format_range_mm(least, most, unit)
    if amount.startswith("0 "):
        return f"The cap of the sleeve is as long as the armhole: little. Usual is {usual} longer."
    if mm < 0:
        return (
            f"The cap of the sleeve is {amount} shorter than the armhole: it can't be sewn in. Look for an edge taken "
            "for another, or an allowance that is not there."
        )
    word = (
        "little"
        if mm < least - _HALF_STEP_MM
        else "a lot; in a plain sleeve, look again"
        if mm > most + _HALF_STEP_MM
        else "about right"
    )
    return f"The cap of the sleeve is {amount} longer than the armhole: {word}. Usual is {usual}."


def ease_words(name: str, ease_mm: float, keeps_mm: float | None, unit: LengthUnit, *, guessed: bool = False) -> str:
    """What the pattern's ease at a level means, and what the block will keep; ``guessed`` if its size is a guess.

    Examples
    --------
    >>> ease_words("wrist", 55.0, 40.0, "cm")
    'The pattern has 5.5 cm of ease at the wrist. The block keeps 4 cm.'
    """
    what = "skirt" if name == "skirt waist" else "pattern"
    lead = f"If the size is guessed right, the {what}" if guessed else f"The {what}"
    said = ease_sentence(name, ease_mm, unit=unit, what=lead)
    return said if keeps_mm is None else f"{said} The block keeps {format_body_mm(keeps_mm, unit)}."
