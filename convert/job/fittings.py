"""``toile.toml`` at the door: the fittings of a job's toile, as a person types them or ``ownblock toile`` adds them.

The file is only ever added to: what a person wrote stays as it stands, an undone fitting is marked and kept.
"""

import datetime
import re
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationError

from calibration.ground.errors import InputError
from convert.block.toile.fittings import Fitting
from convert.body.definitions import closest
from convert.body.typed import read_toml

TOILE_FILE = "toile.toml"
_HEAD = """\
# What the fittings of the toile showed, one [[fitting]] each; "ownblock toile" carries them into the block.
# Write where, which way and how much, one place a line:
#   "side seam, bodice back: in 1 cm"     at a seam: what the pins show, on each piece, left and right alike
#   "waist: out 2 cm"                     at a level: the whole measurement
#   "above the waist: shorten 1.5 cm"
"""
_HEADER = re.compile(r"^[ \t]*\[\[[ \t]*fittings?[ \t]*\]\][ \t]*(?:#.*)?$", re.MULTILINE)
_UNDONE_LINE = re.compile(r"^[ \t]*undone[ \t]*=[ \t]*true[ \t]*(?:#.*)?\r?\n?", re.MULTILINE)
_KEYS = ("date", "changes", "change", "note", "undone")


class _FittingModel(BaseModel):
    model_config = ConfigDict(extra="forbid")
    date: datetime.date | None = None
    changes: list[str] | str = []
    change: list[str] | str = []
    note: str = ""
    undone: bool = False


def read_fittings(folder: Path | str) -> tuple[Fitting, ...]:
    """The fittings that a job folder's ``toile.toml`` holds, in order; none if there is no such file.

    Raises
    ------
    InputError
        If the file can't be read, naming the entry.
    """
    file = Path(folder) / TOILE_FILE
    return fittings_of(read_toml(file)) if file.is_file() else ()


def fittings_of(table: dict[str, Any]) -> tuple[Fitting, ...]:
    """The same from the file as a dictionary.

    Raises
    ------
    InputError
        If an entry is not known, or of the wrong kind.
    """
    strange = [key for key in table if key not in ("fitting", "fittings")]
    if strange:
        raise InputError(
            f"{TOILE_FILE}: “{strange[0]}” stands above the first fitting.",
            "Write [[fitting]] in a line of its own above its date and changes.",
        )
    listed = [one for key in ("fitting", "fittings") for one in _as_list(table.get(key, []))]
    return tuple(_fitting(one, number) for number, one in enumerate(listed, 1))


def _as_list(value: object) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _fitting(table: object, number: int) -> Fitting:
    try:
        read = _FittingModel.model_validate(table)
    except ValidationError as err:
        first = err.errors()[0]
        key = str(first["loc"][0]) if first["loc"] else "the whole"
        near = closest(key, _KEYS) if first["type"] == "extra_forbidden" else None
        what = "is not known" if first["type"] == "extra_forbidden" else f"can't be read: {first['msg'].lower()}"
        raise InputError(
            f"{TOILE_FILE}: fitting {number}: “{key}” {what}{f': did you mean {near}?' if near else '.'}",
            f"A fitting has: {', '.join(_KEYS)}. A date is written {datetime.date(2026, 11, 25)}.",
        ) from err
    changes = (*_lines(read.changes), *_lines(read.change))
    return Fitting(number=number, changes=changes, date=read.date, note=read.note.strip(), undone=read.undone)


def _lines(value: list[str] | str) -> list[str]:
    """Changes as a list, or as text with one on each line."""
    lines = value.splitlines() if isinstance(value, str) else value
    return [line.strip() for line in lines if line.strip()]


def with_fitting(text: str, *, changes: tuple[str, ...], date: datetime.date, note: str = "") -> str:
    """``toile.toml`` with one more fitting at its end; ``text`` is the file as it stands, empty if there is none."""
    lines = [f"[[fitting]]\ndate = {date.isoformat()}\nchanges = ["]
    lines += [f"  {_quoted(change)}," for change in changes]
    lines.append("]" + (f"\nnote = {_quoted(note)}" if note.strip() else ""))
    before = text.rstrip() + "\n" if text.strip() else _HEAD
    return before + "\n" + "\n".join(lines) + "\n"


def with_undone(text: str, number: int, *, fittings: int, undone: bool = True) -> str:
    """``toile.toml`` with a fitting marked as undone, or no longer so; everything else stays as it was typed.

    Parameters
    ----------
    number
        Of the fitting, from 1.
    fittings
        How many there are.

    Raises
    ------
    InputError
        If its place in the file is not plain.
    """
    heads = list(_HEADER.finditer(text))
    if len(heads) != fittings:
        raise InputError(
            f"{TOILE_FILE} is written in a way in which fitting {number} can't be marked.",
            f"Write undone = true below the header of fitting {number}, or take that line out, by hand.",
        )
    start = heads[number - 1].end()
    end = heads[number].start() if number < fittings else len(text)
    body = _UNDONE_LINE.sub("", text[start:end])
    return text[:start] + ("\nundone = true" if undone else "") + body + text[end:]


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(sign if sign.isprintable() else " " for sign in escaped) + '"'
