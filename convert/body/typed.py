"""What a person typed: TOML files forgiving of small mistakes, and lengths as people write them."""

import re
import tomllib
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH, parse_length_mm

_BARE = re.compile(r"^\s*\"?(?P<key>[A-Za-z][\w \-]*?)\"?\s*=\s*(?P<value>[^\"'\[{#]*?)\s*(?P<comment>#.*)?$")
_KEY = re.compile(r"^\s*[\"']?(?P<key>[A-Za-z][\w \-]*?)[\"']?\s*=")
_NUMBER = re.compile(r"^[-+]?[\d.,]+(?:\s+\d+\s*/\s*\d+)?$|^[-+]?\d+\s*/\s*\d+$")
_FEET = re.compile(
    r"^\s*(?P<feet>\d+)\s*(?:ft|foot|feet|['′’])\s*(?P<inches>[\d./ ]*\d)?\s*(?:in|inch|inches|[\"″”]|'')?\s*$"
)
_VULGAR = str.maketrans({"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"})
_SHOWN = 60  # characters of a faulty line or value that are shown
_TOO_LONG_MM = 1e6
_LENGTH_EXAMPLES = "Write it like 39.5, 39,5, 39 1/2, 39.5 cm or 15 1/2 in."


def _quoted(line: str) -> str:
    """A line with the quotation marks TOML wants and people leave out: two-word names, 39,5, 39 1/2, 94 cm."""
    found = _BARE.match(line)
    if not found or not found["value"]:
        return line
    key = found["key"].strip()
    key = key if re.fullmatch(r"[\w-]+", key) else f'"{key}"'
    value = found["value"]
    if value not in ("true", "false") and not re.fullmatch(r"[-+]?\d+(\.\d+)?", value):
        value = f'"{value}"'
    return f"{key} = {value} {found['comment'] or ''}".rstrip()


def _line_of(err: Exception) -> int | None:
    found = re.search(r"line (\d+)", str(err))
    return int(found[1]) if found else None


def _repeated(text: str) -> int | None:
    """The line that gives a name of the same table a second time, or None."""
    seen: set[str] = set()
    for number, line in enumerate(text.splitlines(), 1):
        if line.lstrip().startswith("["):
            seen.clear()
        found = _KEY.match(line)
        if found and found["key"].strip() in seen:
            return number
        if found:
            seen.add(found["key"].strip())
    return None


def read_toml(path: Path | str) -> dict[str, Any]:
    """A TOML file as a dictionary; quotation marks that a person left out are put in.

    Raises
    ------
    InputError
        If there is no such file, or it can't be read as TOML, naming the line.
    """
    return tomllib.loads(toml_text(path))


def toml_text(path: Path | str) -> str:
    """The text of a TOML file that a person wrote, mended as :func:`read_toml` does, which raises alike."""
    file = Path(path)
    try:
        text = file.read_text(encoding="utf-8-sig")
    except FileNotFoundError as err:
        raise InputError(f"There is no file {file}.", "Check the name and the folder.") from err
    except UnicodeDecodeError as err:
        raise InputError(f"{file} is not plain text in UTF-8.", "Save it again as plain text (UTF-8).") from err
    except OSError as err:
        raise InputError(f"{file} can't be read: {err.strerror or err}.", "Check that you may open it.") from err
    try:
        tomllib.loads(text)
        return text
    except (ValueError, RecursionError):  # also numbers of thousands of digits, and brackets within brackets
        straight = text.translate(str.maketrans("“”„″", '""""'))
    mended = "".join(f"{_quoted(line)}\n" for line in straight.splitlines())
    try:
        tomllib.loads(mended)
    except (ValueError, RecursionError) as err:
        raise _unreadable(file, straight, _repeated(straight) or _line_of(err)) from err
    return mended


def _unreadable(file: Path, text: str, number: int | None) -> InputError:
    if number is None or not 1 <= number <= len(text.splitlines()):
        return InputError(
            f"{file.name} can't be read to its end.", 'Check its last line, and that each [ { and " is closed again.'
        )
    line = text.splitlines()[number - 1].strip()
    found = _BARE.match(line)
    if found and not found["value"]:
        key = found["key"].strip()
        return InputError(
            f"{file.name}, line {number}: “{key}” is empty.",
            "Write a value after the = sign, or take the line out.",
        )
    return InputError(
        f"{file.name}, line {number} can't be read: {line[:_SHOWN]}",
        "Write a name, an = sign and a value, text in straight quotation marks, each name once.",
    )


def typed_length_mm(value: object, *, unit: str) -> float:
    """Length in mm from what was typed: a number in ``unit``, or text such as ``39,5``, ``39 1/2``, ``5 ft 4 in``.

    Raises
    ------
    InputError
        If it is empty, or no length.

    Examples
    --------
    >>> typed_length_mm("39 1/2", unit="in")
    1003.3
    """
    shown = str(value)[:_SHOWN] if not isinstance(value, int) or abs(value) < _TOO_LONG_MM else "a number that long"
    no_length = InputError(f"“{shown}” is not a length.", _LENGTH_EXAMPLES)
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise no_length
    if not isinstance(value, str):
        if not abs(value) < _TOO_LONG_MM:
            raise no_length
        return parse_length_mm(f"{value:.9f}", default_unit=unit)
    text = " ".join(value.translate(_VULGAR).split())
    if not text:
        raise InputError("nothing is written there.", "Write a number, or take the row out if it was not measured.")
    if len(text) > _SHOWN:
        raise no_length
    feet = _FEET.match(text)
    if feet:
        inches = parse_length_mm(feet["inches"], default_unit="in") if feet["inches"] else 0.0
        return 12 * MM_PER_INCH * int(feet["feet"]) + inches
    number = re.sub(r"\s*(?:[A-Za-z]+|[\"″])$", "", text)
    if not _NUMBER.match(number):
        raise no_length
    return parse_length_mm(re.sub(r"\s*/\s*", "/", text), default_unit=unit)
