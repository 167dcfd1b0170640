"""The measurement card at the door: a TOML file that a person types, and the empty one to start from."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from calibration.ground.errors import InputError, OutputError
from calibration.ground.files import write_atomically
from calibration.ground.units import MM_PER_INCH
from convert.body.card import BodyMeasurement, Card, LengthUnit
from convert.body.definitions import Definition, closest, definitions, measurement_name
from convert.body.slips import questions
from convert.body.typed import read_toml, typed_length_mm
from convert.body.wording import format_body_mm

_UNITS: Mapping[str, LengthUnit] = {
    "cm": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
}
_CARD_KEYS = ("name", "unit", "measurements", "answered", "date", "note", "notes")
# A row that she confirmed may lie outside the limits, but not further than this factor: no body does.
_CONFIRMED_FACTOR = 2.0


class _CardFile(BaseModel):
    """A card as it lies on the disk."""

    model_config = ConfigDict(extra="allow")
    name: str = ""
    unit: str = "cm"
    measurements: dict[str, Any] = {}
    answered: list[str] = []


def read_card(path: Path | str, *, limits: bool = True) -> Card:
    """A maker's card from a TOML file.

    Lengths are numbers in the card's unit, or text with a fraction, a decimal comma or a unit. Without ``limits``
    impossible values are let in, for whoever asks about them (:mod:`convert.body.slips`).

    Raises
    ------
    InputError
        If a row is negative, empty, no length, impossible for a body, or unknown; it names the row.
    """
    file = Path(path)
    return card_from_toml(read_toml(file), where=file.name, limits=limits)


def card_from_toml(data: Mapping[str, Any], *, where: str = "the card", limits: bool = True) -> Card:
    """A card from TOML already read; ``where`` names it in what is said, ``limits`` as in :func:`read_card`.

    Raises
    ------
    InputError
        As :func:`read_card`.
    """
    try:
        card = _CardFile.model_validate(dict(data))
    except ValidationError as err:
        raise _misshapen(err, where) from err
    rows = dict(card.measurements)
    for key, value in (card.model_extra or {}).items():
        if key not in _CARD_KEYS and not isinstance(value, dict):
            rows[_row_outside(key, where)] = value
    unit = _UNITS.get(card.unit.strip().lower())
    if unit is None:
        raise InputError(f"{where}: the unit “{card.unit}” is not known.", 'Write unit = "cm" or unit = "in".')
    answered = tuple(measurement_name(name) for name in card.answered)
    told = body_from_toml(rows, unit=unit, where=where, answered=answered, limits=limits)
    measurements = {name: BodyMeasurement(mm=mm) for name, mm in told.items()}
    return Card(name=card.name.strip() or "maker", measurements=measurements, unit=unit, answered=answered)


def body_from_toml(
    rows: Mapping[str, Any], *, unit: LengthUnit, where: str, answered: tuple[str, ...] = (), limits: bool = True
) -> dict[str, float]:
    """Body measurements in mm by name, in the card's order, from rows as typed.

    Raises
    ------
    InputError
        As :func:`read_card`.
    """
    told: dict[str, float] = {}
    for key, value in rows.items():
        try:
            name = measurement_name(str(key))
        except InputError as err:
            raise InputError(f"{where}: {err.problem}", err.remedy) from err
        if name in told:
            raise InputError(f"{where}: {name} is there twice.", "Keep the right one and take the other out.")
        told[name] = _row_mm(name, value, unit, where)
    if limits:
        _check_limits(told, unit=unit, where=where, answered=answered)
    return {name: told[name] for name in definitions() if name in told}


def _misshapen(err: ValidationError, where: str) -> InputError:
    key = str(err.errors()[0]["loc"][0])
    remedy = {
        "measurements": "Write [measurements] on a line of its own and one measurement a row below it.",
        "answered": 'Write it like answered = ["bust"].',
    }.get(key, f'Write it like {key} = "…", in quotation marks.')
    return InputError(f"{where}: “{key}” is not written as it should be.", remedy)


def _row_outside(key: str, where: str) -> str:
    """A measurement written above [measurements] is taken as one of its rows."""
    try:
        return measurement_name(key)
    except InputError as err:
        near = closest(key, _CARD_KEYS)
        if near is None:
            raise InputError(f"{where}: {err.problem}", err.remedy) from err
        raise InputError(
            f"{where}: unknown entry “{key}”: did you mean {near}?", f"Write {near} in its place."
        ) from err


def _row_mm(name: str, value: object, unit: LengthUnit, where: str) -> float:
    try:
        mm = typed_length_mm(value, unit=unit)
    except InputError as err:
        raise InputError(f"{where}: {name}: {err.problem}", err.remedy) from err
    if mm <= 0:
        what = "below zero" if mm < 0 else "zero"
        raise InputError(
            f"{where}: {name} is {what} ({value}).",
            "Write what the tape shows, or take the row out if it was not measured.",
        )
    return mm


def _check_limits(told: Mapping[str, float], *, unit: LengthUnit, where: str, answered: tuple[str, ...]) -> None:
    for name, mm in told.items():
        one = definitions()[name]
        factor = _CONFIRMED_FACTOR if name in answered else 1.0
        if not one.low_mm / factor <= mm <= one.high_mm * factor:
            low, high = format_body_mm(one.low_mm, unit), format_body_mm(one.high_mm, unit)
            raise InputError(
                f"{where}: {name} is {format_body_mm(mm, unit)}, and no grown body that we know of lies outside {low} "
                f"to {high}.",
                _remedy(one, told, unit),
            )


def _remedy(one: Definition, told: Mapping[str, float], unit: LengthUnit) -> str:
    """What was probably meant; a body outside the limits can be confirmed if nothing explains the number."""
    mm = told[one.name]
    written = f"{mm / (10.0 if unit == 'cm' else MM_PER_INCH):g}"
    if one.low_mm <= mm / 10.0 <= one.high_mm and unit == "cm":
        return f"If it was measured in millimetres, write “{written} mm”: that is {format_body_mm(mm / 10.0, unit)}."
    if _is_other_unit(told, unit):
        words, other = ("inches", "in") if unit == "cm" else ("centimetres", "cm")
        return f'If the whole card is in {words}, write unit = "{other}" above [measurements].'
    card = Card(name="", measurements={name: BodyMeasurement(mm=of) for name, of in told.items()}, unit=unit)
    asked = next((one_asked for one_asked in questions(card) if one_asked.name == one.name), None)
    if asked is not None and asked.offered_mm is not None:
        meant = format_body_mm(asked.offered_mm, unit)
        if asked.kind in ("inches for centimetres", "centimetres for inches"):
            used, short = ("inches", "in") if unit == "cm" else ("centimetres", "cm")
            return f"If it was measured in {used}, write “{written} {short}”: that is {meant}."
        return f"{meant} would be likely ({asked.kind}): write that{_or_confirm(one, mm)}."
    return f"Measure again and write what the tape shows{_or_confirm(one, mm)}."


def _is_other_unit(told: Mapping[str, float], unit: LengthUnit) -> bool:
    """Whether every row of a card would be a body's in the other unit, as that of one measured in inches is."""
    factor = MM_PER_INCH / 10.0 if unit == "cm" else 10.0 / MM_PER_INCH
    known = definitions()
    return len(told) > 1 and all(known[name].low_mm <= mm * factor <= known[name].high_mm for name, mm in told.items())


def require_measured(card: Card) -> None:
    """Refuse a card on which nothing is written: no block can be anybody's.

    Raises
    ------
    InputError
        Saying what to measure first.
    """
    if not card.measurements:
        raise InputError(
            "Nothing is written on the measurement card yet.", "Write down what you can measure, the bust first."
        )


def _or_confirm(one: Definition, mm: float) -> str:
    if not one.low_mm / _CONFIRMED_FACTOR <= mm <= one.high_mm * _CONFIRMED_FACTOR:
        return ""
    return f', or, if it is right as it is, add answered = ["{one.name}"] above [measurements]'


def write_card(
    path: Path | str, *, name: str = "", unit: LengthUnit = "cm", card: Card | None = None, overwrite: bool = False
) -> None:
    """Write a card to fill in: one measurement a row, its definition above it; rows that ``card`` has are filled.

    Raises
    ------
    OutputError
        If there is one already and ``overwrite`` is not set, or it can't be written.
    """
    if Path(path).exists() and not overwrite:
        raise OutputError(
            f"{path} is there already and may hold measurements.", "Choose another name, or say --overwrite."
        )
    write_atomically(path, card_text(card or Card(name=name, unit=unit)))


def card_text(card: Card) -> str:
    """The card as TOML that a person can type in; estimated rows stay open, for her to measure."""
    unit_words = "centimetres, half centimetres are enough" if card.unit == "cm" else "inches, in eighths"
    example = '94.5 or "94,5"' if card.unit == "cm" else '"37 1/8" or 37.125'
    lines = [
        "# Measurement card. Measure over thin clothes, tape flat, not tight. Ask somebody to help.",
        f"# Write in {unit_words}: {example}.",
        "# To fill in a row: take away the # before its name and write the number after the = sign.",
        "# Leave out what was not measured.",
        "",
        f"name = {_toml_text(card.name)}",
        f'unit = "{card.unit}"',
    ]
    if card.answered:
        lines.append(f"answered = [{', '.join(_toml_text(one) for one in card.answered)}]")
    lines += ["", "[measurements]"]
    told = card.told()
    for one in definitions().values():
        key = f'"{one.name}"' if " " in one.name else one.name
        row = f"{key} = {_typed(told[one.name], card.unit)}" if one.name in told else f"# {key} ="
        lines += ["", f"# {one.how}", row]
    return "\n".join(lines) + "\n"


def _toml_text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(char if char.isprintable() else " " for char in escaped) + '"'


def _typed(mm: float, unit: LengthUnit) -> str:
    """A number that reads back to the same length (to 0.001 mm)."""
    number = mm / (10.0 if unit == "cm" else MM_PER_INCH)
    return f"{round(number, 6):.6f}".rstrip("0").rstrip(".")
