"""How ``job.toml`` lies on the disk: which entries it may have, and what is said about one that is not known."""

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from calibration.ground.errors import InputError, Note
from convert.body.definitions import closest

# Entries that a person may add for her own use.
_REMARKS = ("note", "notes", "comment", "date", "source", "about")

JOB_FILE = "job.toml"


class _Table(BaseModel):
    model_config = ConfigDict(extra="allow")


class PatternTable(_Table):
    """What the size was drafted for, and what the envelope states."""

    body: dict[str, Any] = {}
    chart: str | None = None
    size: str | int | None = None
    allowance: Any = None
    no_allowance: bool = False
    year: int | None = None


class MoveTable(_Table):
    """A move whose amount the maker has fixed."""

    piece: str | None = None
    move: str | None = None
    amount: Any = None


class BlockTable(_Table):
    """What the block shall be."""

    ease: str | dict[str, Any] | None = None
    drawn: str | list[str] | None = None
    darts: str | None = None
    back_darts: str | None = None
    draft: bool | str | list[str] | None = None
    moves: list[MoveTable] = []


class PaperTable(_Table):
    """What is printed, and on what."""

    size: str | None = None
    scale: str | float | int | None = None
    overlap: Any = None
    allowance: Any = None


class PictureTable(_Table):
    """What is told or corrected by hand on one picture, in pixels of the upright picture."""

    lattice: list[list[float]] = []
    edges: dict[str, Any] = {}
    darts: list[dict[str, Any]] | bool | None = None
    add_darts: list[dict[str, Any]] = []
    centre_line: list[list[float]] | None = None
    neck_line: list[list[float]] | None = None
    tucks: list[list[list[float]]] = []
    grain: list[list[float]] | None = None
    notches: list[list[float]] | bool | None = None
    add_notches: list[list[float]] | None = None
    holes: list[list[float]] | bool | None = None
    add_holes: list[list[float]] | None = None
    hole_meanings: list[dict[str, Any]] = []
    outline: list[list[float]] | None = None
    outline_parts: list[list[list[float]]] = []
    corners: list[list[float]] | None = None
    remove: list[list[float]] | None = None
    crop: list[list[float]] | None = None


class PieceTable(PictureTable):
    """One piece: its pictures and what is told of it."""

    piece: str | None = None
    pictures: str | list[str] | None = None
    picture: str | None = None
    grid: Any = None
    mat_check: Any = None
    scan: bool = False
    dpi: float | None = None
    rotate: int = 0
    allowance: Any = None
    no_allowance: bool = False
    fold: str | bool | None = None
    at: str | int | None = None
    size: str | int | None = None
    face_down: bool | None = None
    dart_above: Any = None
    year: int | None = None
    on: dict[str, PictureTable] = {}


class JobFile(_Table):
    """A job as it lies on the disk."""

    title: str = ""
    grid: Any = None
    maker: str = "maker.toml"
    pattern: PatternTable = Field(default_factory=PatternTable)
    block: BlockTable = Field(default_factory=BlockTable)
    paper: PaperTable = Field(default_factory=PaperTable)
    mat_check: Any = None
    pieces: list[PieceTable] = []


def check_job_file(data: Mapping[str, Any], *, where: str) -> tuple[JobFile, tuple[Note, ...]]:
    """The file's entries with their kinds checked; entries that mean nothing here come back as notes.

    Raises
    ------
    InputError
        If an entry is of the wrong kind, or spelled almost like a known one.
    """
    try:
        read = JobFile.model_validate(_spelled(dict(data)))
    except ValidationError as err:
        raise _wrong_kind(err, where) from err
    return read, tuple(_unknown(read, "", where))


def _spelled(table: dict[str, Any], *, names: bool = True) -> dict[str, Any]:
    """Structural keys as the fields are called: ``no allowance`` and ``no-allowance`` mean ``no_allowance``."""
    free = ("body", "allowance", "ease", "edges", "mat_check")
    spelled: dict[str, Any] = {}
    for key, value in table.items():
        plain = key.strip().lower().replace("-", "_").replace(" ", "_") if names else key
        if isinstance(value, dict) and plain not in free:
            value = _spelled(value, names=plain != "on")
        elif isinstance(value, list):
            value = [_spelled(one) if isinstance(one, dict) else one for one in value]
        spelled[plain] = value
    return spelled


def _unknown(table: _Table, path: str, where: str) -> list[Note]:
    known = tuple(type(table).model_fields)
    notes: list[Note] = []
    for key in table.model_extra or {}:
        near = closest(key, [name.replace("_", " ") for name in known], at_least=0.75)
        if near is not None:
            near = near.replace(" ", "_")
            raise InputError(
                f"{where}: unknown entry “{key}”{path}: did you mean {near}?", f"Write {near} in its place."
            )
        if key not in _REMARKS:
            notes.append(Note("entry-unknown", f"{where}: the entry “{key}”{path} is not known and is not used."))
    for name in known:
        value = getattr(table, name)
        for words, one in _tables(name, value, path):
            notes += _unknown(one, words, where)
    return notes


def _tables(name: str, value: object, path: str) -> list[tuple[str, _Table]]:
    if isinstance(value, _Table):
        return [(f" in [{name}]{path}", value)]
    if isinstance(value, list):
        return [(f" of piece {i}", one) for i, one in enumerate(value, 1) if isinstance(one, _Table)]
    if isinstance(value, dict):
        return [(f" for “{key}”{path}", one) for key, one in value.items() if isinstance(one, _Table)]
    return []


_EXAMPLES = {
    "pieces": 'Start each piece with a line [[pieces]], in two brackets, then piece = "bodice front".',
    "pattern": 'Write a line [pattern] and below it, for example, body = { bust = "90 cm" }.',
    "block": 'Write a line [block] and below it ease = "usual".',
    "ease": 'Write ease = "usual", or ease = { bust = "6 cm" }.',
    "body": 'Write body = { bust = "90 cm", waist = "71 cm" }.',
    "pictures": 'Write pictures = ["front.jpg"].',
    "size": 'Write size = "14".',
    "dpi": "Write dpi = 300.",
    "year": "Write year = 1958.",
}


def _wrong_kind(err: ValidationError, where: str) -> InputError:
    words = [str(part) for part in err.errors()[0]["loc"] if isinstance(part, str) and " " not in part]
    named = [part for part in words if part not in ("str", "int", "float", "bool") and "[" not in part]
    key = named[-1] if named else "job"
    at = next((f" of piece {part + 1}" for part in err.errors()[0]["loc"] if isinstance(part, int)), "")
    kind = err.errors()[0]["type"]
    remedy = _EXAMPLES.get(key, f"Write {key} = true or {key} = false." if "bool" in kind else f'Write {key} = "…".')
    return InputError(f"{where}: “{key}”{at if key != 'pieces' else ''} is not written as it should be.", remedy)
