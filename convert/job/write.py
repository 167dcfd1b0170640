"""Writing what was told into ``job.toml`` and the maker's card; comments and order stay as a person left them.

``with changed_job(folder) as document:`` reads, lets the functions below change the document, checks that it can still
be read, and writes it atomically; an error leaves the file as it was. Every value may be ``None``: then the entry goes.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, cast

import numpy as np
import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from calibration.ground.errors import InputError
from calibration.ground.files import write_atomically
from convert.body.definitions import measurement_name
from convert.body.typed import toml_text
from convert.job.file import JOB_FILE, check_job_file
from convert.job.tellable import TELLABLE

Document = tomlkit.TOMLDocument
_UNSPACED = re.compile(r"(?m)^([^#\n].*)\n(\[\[pieces\]\])")  # a new table leaves no empty line below itself
_ON_A_LINE = 6  # points, of a list that has more
_PX_DECIMALS = 1


# ---------------------------------------------------------------- files


@contextmanager
def changed_job(folder: Path | str, name: str = JOB_FILE) -> Iterator[Document]:
    """The folder's ``job.toml``, to be changed in place; an empty one if there is none yet.

    Raises
    ------
    InputError
        If the file can't be read, or could not after the change; it is then not written.
    OutputError
        If it can't be written.
    """
    with _changed(Path(folder) / name) as document:
        yield document
        check_job_file(document.unwrap(), where=name)


@contextmanager
def changed_card(path: Path | str) -> Iterator[Document]:
    """A measurement card, to be changed in place; an empty one if there is none yet. Raises as :func:`changed_job`."""
    with _changed(Path(path)) as document:
        yield document


@contextmanager
def _changed(path: Path) -> Iterator[Document]:
    before = toml_text(path) if path.is_file() else ""
    try:
        document = tomlkit.parse(before)
    except TOMLKitError as err:
        raise InputError(f"{path.name} can't be read: {err}.", "Mend that line in a text editor.") from err
    yield document
    after = _UNSPACED.sub(r"\1\n\n\2", tomlkit.dumps(document))
    if tomlkit.dumps(document) != before:
        write_atomically(path, after)


# ---------------------------------------------------------------- the job as a whole


def put(table: Any, values: Mapping[str, Any]) -> None:
    """Entries of a table set, or taken out where they are None; all others stay."""
    for key, value in values.items():
        if value is None:
            table.pop(key, None)
        elif key in table and _same(table[key], value):
            continue
        elif isinstance(value, Mapping):
            table[key] = _inline(value)
        else:
            table[key] = value


def set_job(document: Document, values: Mapping[str, Any]) -> None:
    """Entries at the top: title, grid, maker."""
    new = {key: value for key, value in values.items() if key not in document and value is not None}
    put(document, {key: value for key, value in values.items() if key not in new})
    first = next((key for key, item in document.items() if isinstance(item, (Table, AoT))), None)
    for key, value in new.items():
        if first is None:
            document.append(key, tomlkit.item(value))
        else:
            _before(document, first, key, value)


def _before(document: Document, first: str, key: str, value: Any) -> None:
    """An entry put below the other entries of the whole, above the first table."""
    body = list(document.body)
    names = [None if name is None else name.key for name, _ in body]
    at = names.index(first)
    while at and names[at - 1] is None:  # remarks and empty lines belong to the table below them
        at -= 1
    head, tail = tomlkit.document(), tomlkit.document()
    for k, (name, item) in enumerate(body):
        place = head if k < at else tail
        place.append(name, item)
    whole = tomlkit.parse(head.as_string() + tomlkit.dumps({key: value}) + tail.as_string())
    document.clear()
    document.body.clear()
    for name, item in whole.body:
        document.append(name, item)


def set_pattern(document: Document, values: Mapping[str, Any]) -> None:
    """Entries of ``[pattern]``: body (a table of measurements), chart, size, allowance, no_allowance, year."""
    put(_table(document, "pattern"), values)


def set_block(document: Document, values: Mapping[str, Any]) -> None:
    """Entries of ``[block]``: what the block shall be."""
    put(_table(document, "block"), values)


def set_paper(document: Document, values: Mapping[str, Any]) -> None:
    """Entries of ``[paper]``: size, scale, overlap, allowance."""
    put(_table(document, "paper"), values)


def _table(document: Document, name: str) -> Any:
    if name not in document:
        document[name] = tomlkit.table()
    return document[name]


# ---------------------------------------------------------------- pieces


def pieces_of(document: Document) -> list[Any]:
    """The tables of the job's pieces, in their order."""
    return list(document.get("pieces", []))


def piece_table(document: Document, number: int) -> Any:
    """The table of piece ``number``, counted from 1.

    Raises
    ------
    InputError
        If there is none.
    """
    pieces = pieces_of(document)
    if not 1 <= number <= len(pieces):
        raise InputError(f"{JOB_FILE} has {len(pieces)} pieces, not {number}.", "Load the job again.")
    return cast(AoT, document["pieces"])[number - 1]


def add_piece(document: Document, values: Mapping[str, Any]) -> int:
    """A new ``[[pieces]]`` with these entries; its number, counted from 1."""
    if "pieces" not in document:
        document.append("pieces", tomlkit.aot())
    table = tomlkit.table()
    put(table, values)
    cast(AoT, document["pieces"]).append(table)
    return len(pieces_of(document))


def remove_piece(document: Document, number: int) -> None:
    """Piece ``number`` taken out, with all that was told of it."""
    piece_table(document, number)
    cast(AoT, document["pieces"]).pop(number - 1)
    if not pieces_of(document):
        document.pop("pieces")


def set_piece(document: Document, number: int, values: Mapping[str, Any]) -> None:
    """Entries of a piece: piece, pictures, grid, scan, dpi, rotate, fold, at, size, face_down, year."""
    table = piece_table(document, number)
    put(table, {key: value for key, value in values.items() if value is None or key in table})
    late = {key: value for key, value in values.items() if value is not None and key not in table}
    on = table.pop("on", None) if late else None
    put(table, late)
    if on is not None:
        table["on"] = on


def set_allowances(document: Document, number: int, widths: Mapping[str, Any]) -> None:
    """Seam allowance of a piece by edge; ``"rest"`` is every edge not named. None takes an edge's word back."""
    table = piece_table(document, number)
    told = table.get("allowance")
    known: dict[str, Any] = dict(told.unwrap()) if isinstance(told, (Table, InlineTable)) else {}
    if told is not None and not known:
        known = {"rest": told.unwrap() if isinstance(told, Item) else told}
    if table.get("no_allowance"):
        known = {"rest": "none", **known}
    known = {**known, **widths}
    known = {edge: width for edge, width in known.items() if width is not None}
    set_piece(document, number, {"allowance": known or None, "no_allowance": None})


# ---------------------------------------------------------------- on a picture


def tell(document: Document, number: int, picture: str, told: Mapping[str, Any]) -> None:
    """What is told on one picture of a piece, in its pixels: keys of :data:`TELLABLE`; None takes a thing back.

    Points are sequences of pairs or arrays (N, 2); ``edges`` a mapping from name to one or two points, of which only
    the names given change; ``darts`` and ``add_darts`` mappings with ``legs`` and ``apexes``.

    Raises
    ------
    InputError
        If the piece has no such picture.
    """
    table = piece_table(document, number)
    names = picture_names(table)
    if picture not in names:
        raise InputError(f"Piece {number} has no picture {picture}.", f"Its pictures are {', '.join(names)}.")
    unknown = [key for key in told if key not in TELLABLE]
    if unknown:
        raise ValueError(f"nothing called {unknown[0]} can be told on a picture")
    if any(value is not None for value in told.values()) or picture in table.get("on", {}):
        _tell_in(_on(table, names, picture), told)
    elif picture == names[0]:
        _tell_in(table, told)
    _tidy(table)


def picture_names(table: Any) -> list[str]:
    """A piece's pictures as written."""
    listed = table.get("pictures", table.get("picture", []))
    return [str(listed)] if isinstance(listed, str) else [str(name) for name in listed]


def _tell_in(place: Any, told: Mapping[str, Any]) -> None:
    for key, value in told.items():
        if key == "edges" and value is not None:
            edges = {**(place["edges"].unwrap() if "edges" in place else {}), **value}
            value = {name: points for name, points in edges.items() if points is not None} or None
        if value is None:
            place.pop(key, None)
        else:
            place[key] = _told_item(key, value)


def _on(table: Any, names: Sequence[str], picture: str) -> Any:
    """The table of what is told on a picture; what the piece itself tells of its first picture moves there."""
    if "on" not in table:
        table.append("on", tomlkit.table(is_super_table=True))
    if picture not in table["on"]:
        table["on"].append(tomlkit.key(picture) if _bare(picture) else _quoted(picture), tomlkit.table())
    place = table["on"][picture]
    if picture == names[0]:
        for key in [key for key in TELLABLE if key in table]:
            item = table[key]
            table.pop(key)
            place.append(key, item)
    return place


def _bare(name: str) -> bool:
    return name.replace("-", "").replace("_", "").isalnum() and name.isascii()


def _quoted(name: str) -> Any:
    return tomlkit.items.SingleKey(name, tomlkit.items.KeyType.Basic)


def _tidy(table: Any) -> None:
    """Tables that tell nothing any more go."""
    if "on" in table:
        for name in [name for name, one in table["on"].items() if not len(one)]:
            table["on"].pop(name)
        if not len(table["on"]):
            table.pop("on")


def _told_item(key: str, value: Any) -> Any:
    """A value as it stands in the file: points rounded to a tenth of a pixel, long lists on several lines."""
    if isinstance(value, bool):
        return value
    if key in ("darts", "add_darts"):
        rows = [{part: _pairs(dart[part]) for part in ("legs", "apexes")} for dart in value]
        return _parsed("[" + ", ".join(_inline(row).as_string() for row in rows) + "]")
    if key == "hole_meanings":
        said: list[dict[str, Any]] = [{"at": _pairs(one["at"]), "means": str(one["means"])} for one in value]
        return _parsed("[" + ", ".join(_inline(row).as_string() for row in said) + "]")
    if key == "edges":
        return _inline({name: _pairs(points) for name, points in value.items()})
    if key in ("outline_parts", "tucks"):
        return _parsed("[\n" + "".join(f"  {_list(_pairs(part), '  ')},\n" for part in value) + "]")
    if key == "lattice":
        return _parsed(_list([[_number(x), _number(y), int(i), int(j)] for x, y, i, j in value], ""))
    return _parsed(_list(_pairs(value), ""))


def _pairs(points: Any) -> list[list[float | int]]:
    return [[_number(x), _number(y)] for x, y in np.asarray(points, float).reshape(-1, 2)]


def _number(value: float) -> float | int:
    rounded = round(float(value), _PX_DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def _list(rows: Sequence[Sequence[float | int]], indent: str) -> str:
    words = ["[" + ", ".join(str(one) for one in row) + "]" for row in rows]
    if len(words) <= _ON_A_LINE:
        return "[" + ", ".join(words) + "]"
    lines = [", ".join(words[k : k + _ON_A_LINE]) for k in range(0, len(words), _ON_A_LINE)]
    return "[\n" + "".join(f"{indent}  {line},\n" for line in lines) + indent + "]"


def _parsed(text: str) -> Array:
    return cast(Array, tomlkit.parse(f"x = {text}\n")["x"])


def _inline(values: Mapping[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    for key, value in values.items():
        table.append(key, tomlkit.item(value))
    return table


def _same(item: Any, value: Any) -> bool:
    """Whether an entry already says so: then its place and its comment stay."""
    plain = item.unwrap() if isinstance(item, Item) else item
    return type(plain) is type(value) and bool(plain == value)


# ---------------------------------------------------------------- the card


def set_measurements(document: Document, typed: Mapping[str, Any]) -> None:
    """Rows of a card as typed, by name; None empties a row. A plain number is written as one."""
    for name, text in typed.items():
        places = [document, *([document["measurements"]] if "measurements" in document else [])]
        row = next(((place, key) for place in places for key in place if _names(str(key), name)), None)
        place, key = row or (_table(document, "measurements"), name)
        put(place, {key: None if text is None else _as_typed(text)})


def _names(key: str, name: str) -> bool:
    """Whether a row as a person wrote it is that measurement."""
    try:
        return key == name or measurement_name(key) == name
    except InputError:
        return False


def set_answered(document: Document, name: str, *, right: bool = True) -> None:
    """That a row which was asked about is right as it stands, or that nothing was said of it."""
    told = [str(one) for one in document.get("answered", []) if str(one) != name]
    set_job(document, {"answered": [*told, name] if right else told or None})


def _as_typed(text: Any) -> Any:
    if not isinstance(text, str):
        return text
    try:
        number = float(text)
    except ValueError:
        return text.strip()
    return int(number) if number == int(number) and "." not in text else number
