"""The job folder at the door: ``job.toml``, the maker's card, and which picture is which piece.

What is told becomes plain frozen values here; the pipeline turns pixels into millimetres once a picture is calibrated.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, get_args

from calibration.ground.errors import InputError, Note
from calibration.ground.files import is_file, names_in
from convert.block.compared.ease import BlockEase, block_ease
from convert.block.solved.choices import NOTHING_CHOSEN, Choices
from convert.body.card import Card, LengthUnit
from convert.body.charts import Chart, chart, row
from convert.body.definitions import closest, plain
from convert.body.read_card import body_from_toml, read_card
from convert.body.typed import read_toml, typed_length_mm
from convert.job.choices import block_choices
from convert.job.file import JOB_FILE, JobFile, PatternTable, PieceTable, check_job_file
from convert.job.mat import MatCheck, mat_check
from convert.job.told import PictureTold, SeamTold, edge_name, picture_told, piece_kind, seam_told
from convert.piece.names.kinds import KINDS
from convert.piece.piece import CENTRES, EdgeName, PieceKind

PIECE_KINDS: tuple[str, ...] = get_args(PieceKind)
_PLACES = ("left", "right", "top", "bottom")
PITCH_MM = (1.0, 200.0)  # our choice: a ruler's millimetres, and the squares of a large quilting mat
_DPI = (50.0, 4800.0)
_YEARS = (1850, 2100)
_DART_ABOVE_MOST_MM = 60.0  # wider than any shoulder or neck dart: a slip of the pen


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceJob:
    """One piece of a job: its pictures and what was told of it.

    Attributes
    ----------
    pictures
        Paths; several are tiles or overlapping photographs of one piece.
    pitch_mm
        The grid's pitch; None for a scan.
    mat
        What a steel rule read along the grid.
    scan, dpi
        Whether the pictures are flatbed scans, and at what resolution if it was told.
    rotate_deg
        Quarter turns told, clockwise, after what the file itself says.
    at
        Which one, where several pieces lie in one picture: left, right, top, bottom or a number from the left.
    size
        Of nested sizes: an int counts from the innermost (1), text is the number printed beside the line.
    dart_above_mm
        By how much a panel seam opens at its upper end when the panels are laid together.
    fold
        The edge on a fold, ``"none"``, or None if nothing was said.
    on
        What was told on each picture, in its pixels, by the picture's name as written in ``pictures``.
    names
        The pictures' names as written there.
    """

    kind: PieceKind
    pictures: tuple[Path, ...]
    pitch_mm: float | None
    mat: MatCheck | None = None
    scan: bool = False
    dpi: float | None = None
    rotate_deg: int = 0
    seam: SeamTold = field(default_factory=SeamTold)
    fold: EdgeName | str | None = None
    at: str | int | None = None
    size: int | str | None = None
    face_down: bool | None = None
    dart_above_mm: float = 0.0
    year: int | None = None
    on: Mapping[str, PictureTold] = field(default_factory=dict)
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "on", MappingProxyType(dict(self.on)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternTold:
    """What the pattern's size was drafted for, as told: measurements (mm), or a row of a chart, or nothing."""

    body: Mapping[str, float] = field(default_factory=dict)
    chart: Chart | None = None
    size: str | None = None
    year: int | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "body", MappingProxyType(dict(self.body)))

    def drafted_for(self) -> dict[str, float]:
        """The body told, chart row first and single measurements over it; empty if nothing was told."""
        of_row = row(self.chart, self.size) if self.chart is not None and self.size is not None else {}
        return {**of_row, **self.body}


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperTold:
    """What to print on: paper size and scale as written, overlap (mm), seam allowance to add (mm)."""

    size: str | None = None
    scale: str | None = None
    overlap_mm: float | None = None
    allowance_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Job:
    """A job folder, read and checked; ``drawn`` are SVGs of the block, edited by hand, that it shall be taken from."""

    folder: Path
    title: str
    maker: Card
    pieces: tuple[PieceJob, ...]
    pattern: PatternTold = field(default_factory=PatternTold)
    ease: BlockEase = field(default_factory=block_ease)
    paper: PaperTold = field(default_factory=PaperTold)
    drawn: tuple[Path, ...] = ()
    choices: Choices = NOTHING_CHOSEN
    notes: tuple[Note, ...] = ()


def read_job(folder: Path | str, *, card: Card | None = None) -> Job:
    """The job that lies in a folder: ``job.toml``, the maker's card, and its pictures, which must be there.

    ``card`` stands in for the one in the folder, for whoever has read that already.

    Raises
    ------
    InputError
        If the folder, a file or a picture is missing, or an entry can't be used; it names the entry.
    """
    place = Path(folder)
    if not place.is_dir():
        raise InputError(f"There is no folder {place}.", f"Give the folder that holds {JOB_FILE} and the pictures.")
    if not (place / JOB_FILE).is_file():
        raise InputError(f"The folder {place} has no {JOB_FILE}.", f"Write a {JOB_FILE} that names the pictures.")
    read, notes = check_job_file(read_toml(place / JOB_FILE), where=JOB_FILE)
    if not read.pieces:
        raise InputError(
            f"{JOB_FILE} names no pictures.",
            'Write [[pieces]], and below it piece = "bodice front" and pictures = ["front.jpg"].',
        )
    maker = _maker(place, read.maker) if card is None else card
    unit = maker.unit if card is None else _unit(place / read.maker, card)
    whole = seam_told(read.pattern.allowance, no_allowance=read.pattern.no_allowance, unit=unit, where=JOB_FILE)
    pieces = tuple(
        _piece(table, number, read=read, whole=whole, unit=unit, folder=place)
        for number, table in enumerate(read.pieces, 1)
    )
    _once_each(pieces)
    return Job(
        folder=place,
        title=read.title.strip() or place.resolve().name,
        maker=maker,
        pieces=pieces,
        pattern=pattern_told(read.pattern, unit=unit, folder=place),
        ease=_ease(read.block.ease, unit),
        paper=_paper(read, unit),
        drawn=_drawn(read.block.drawn, place),
        choices=block_choices(read.block, unit=unit),
        notes=notes,
    )


def _drawn(names: str | list[str] | None, folder: Path) -> tuple[Path, ...]:
    paths = tuple(folder / name for name in ([names] if isinstance(names, str) else names or []))
    for path in paths:
        if not is_file(path):
            raise InputError(
                f"{JOB_FILE}: the drawing {path.name} under [block] is not there.",
                f"Put it into {path.parent}, correct its name, or take the line “drawn” out.",
            )
    return paths


def _maker(folder: Path, name: str) -> Card:
    if not is_file(folder / name):
        raise InputError(
            f"The folder {folder} has no measurement card {name}.", f"Write one with: ownblock card {folder / name}"
        )
    return read_card(folder / name)


def _unit(own: Path, card: Card) -> LengthUnit:
    """The unit of bare numbers in the job file: that of the folder's own card, whoever the block is made for."""
    try:
        return read_card(own).unit if own.is_file() else card.unit
    except InputError:
        return card.unit


def _length(value: object, unit: LengthUnit, what: str) -> float:
    try:
        return typed_length_mm(value, unit=unit)
    except InputError as err:
        raise InputError(f"{JOB_FILE}: {what}: {err.problem}", err.remedy) from err


def _piece(
    table: PieceTable, number: int, *, read: JobFile, whole: SeamTold, unit: LengthUnit, folder: Path
) -> PieceJob:
    kind = _kind(table.piece, number)
    names = _picture_names(table, kind, number)
    if table.dpi is not None and not _DPI[0] <= table.dpi <= _DPI[1]:
        raise InputError(
            f"{JOB_FILE}: {kind}: a scan of {table.dpi:g} dpi can't be used.", "Write, for example, dpi = 300."
        )
    if table.rotate % 90:
        raise InputError(f"{JOB_FILE}: {kind}: rotate = {table.rotate}.", "Write 90, 180 or 270 degrees.")
    own = seam_told(table.allowance, no_allowance=table.no_allowance, unit=unit, where=f"{JOB_FILE}: {kind}", kind=kind)
    check = read.mat_check if table.mat_check is None else table.mat_check
    return PieceJob(
        kind=kind,
        pictures=tuple(_existing(folder / name, kind) for name in names),
        pitch_mm=_pitch(read.grid if table.grid is None else table.grid, kind, unit, scan=table.scan),
        mat=None if check is None else mat_check(check, where=f"{JOB_FILE}: {kind}"),
        scan=table.scan,
        dpi=table.dpi,
        rotate_deg=table.rotate % 360,
        seam=own.over(whole.for_kind(kind)),
        fold=_fold(table.fold, kind),
        at=_at(table.at, kind),
        size=table.size.strip() if isinstance(table.size, str) else _count(table.size, kind),
        face_down=table.face_down,
        dart_above_mm=_dart_above(table.dart_above, kind, unit),
        year=_year(table.year if table.year is not None else read.pattern.year),
        on=_told_on(table, names, kind),
        names=names,
    )


def _dart_above(value: object, kind: PieceKind, unit: LengthUnit) -> float:
    """How wide a dart opens above the bust where two panels are laid together, mm."""
    if value is None:
        return 0.0
    where = f"{JOB_FILE}: {kind}: dart_above"
    mm = typed_length_mm(value, unit=unit)
    if KINDS[kind].garment != "bodice" or KINDS[kind].part not in ("centre", "side"):
        raise InputError(f"{where}: only a bodice's centre and side panels leave one.", "Leave it out.")
    if not 0 <= mm <= _DART_ABOVE_MOST_MM:
        raise InputError(
            f"{where}: {value} is no width of a dart.",
            'Write how wide it is at the seam\'s upper end, such as "1.5 cm".',
        )
    return mm


def _kind(text: str | None, number: int) -> PieceKind:
    if text is None:
        kinds = ", ".join(PIECE_KINDS)
        raise InputError(f"{JOB_FILE}: piece {number} has no name.", f"Write piece = … with one of: {kinds}.")
    return piece_kind(text, where=JOB_FILE)


def _picture_names(table: PieceTable, kind: str, number: int) -> tuple[str, ...]:
    listed = [table.pictures] if isinstance(table.pictures, str) else list(table.pictures or [])
    names = tuple(name for name in (*listed, table.picture or "") if name.strip())
    if not names:
        raise InputError(
            f"{JOB_FILE}: {kind} (piece {number}) has no pictures.", 'Write, for example, pictures = ["front.jpg"].'
        )
    return names


def _existing(path: Path, kind: str) -> Path:
    if is_file(path):
        return path
    here = names_in(path.parent)
    near = closest(path.name, {plain(name) for name in here})
    real = next((name for name in here if plain(name) == near), None)
    remedy = f"Did you mean {real}?" if real else f"Put it into {path.parent}, or correct its name in {JOB_FILE}."
    raise InputError(f"{JOB_FILE}: the picture {path.name} of {kind} is not there.", remedy)


def _pitch(value: object, kind: str, unit: LengthUnit, *, scan: bool) -> float | None:
    if value is None:
        if scan:
            return None
        raise InputError(
            f"{JOB_FILE}: the grid's pitch is not told for {kind}.", 'Write grid = "1cm" (or "1in") near the top.'
        )
    mm = _length(value, unit, f"grid of {kind}")
    if not PITCH_MM[0] <= mm <= PITCH_MM[1]:
        raise InputError(
            f"{JOB_FILE}: a grid of {mm:g} mm can't be right.",
            'Write how far apart its lines are, such as "1cm" or "1in".',
        )
    return mm


def _fold(value: str | bool | None, kind: PieceKind) -> EdgeName | str | None:
    if value is None:
        return None
    if value is False or (isinstance(value, str) and plain(value) in ("none", "no", "no fold")):
        return "none"
    if value is True:
        centre = next((name for name in KINDS[kind].edges if name in CENTRES), None)
        if centre is None:
            raise InputError(f"{JOB_FILE}: the fold of {kind} is not told.", "Name the edge that lies on the fold.")
        return centre
    return edge_name(value, kind=kind, where=f"{JOB_FILE}: fold of {kind}")


def _at(value: str | int | None, kind: str) -> str | int | None:
    if value is None or isinstance(value, bool):
        return None
    if isinstance(value, str) and value.strip().isdigit():
        value = int(value)
    if isinstance(value, int):
        return _count(value, kind, what="at")
    place = plain(value)
    if place not in _PLACES:
        near = closest(place, _PLACES)
        guess = f": did you mean {near}?" if near else "."
        raise InputError(
            f"{JOB_FILE}: {kind}: unknown place “{value}”{guess}",
            f"Write {', '.join(_PLACES)}, or a number from the left.",
        )
    return place


def _count(value: int | None, kind: str, what: str = "size") -> int | None:
    if value is not None and value < 1:
        raise InputError(f"{JOB_FILE}: {kind}: {what} = {value}.", "Count from 1.")
    return value


def _year(value: int | None) -> int | None:
    if value is not None and not _YEARS[0] <= value <= _YEARS[1]:
        raise InputError(f"{JOB_FILE}: the year {value} can't be right.", "Write it like year = 1958, or leave it out.")
    return value


def _told_on(table: PieceTable, names: tuple[str, ...], kind: PieceKind) -> dict[str, PictureTold]:
    """What is told on each picture; what stands in the piece itself belongs to its first picture."""
    told: dict[str, PictureTold] = {}
    for name, one in table.on.items():
        if name not in names:
            raise InputError(
                f"{JOB_FILE}: {kind} has something told on “{name}”, which is none of its pictures.",
                f"Its pictures are {', '.join(names)}.",
            )
        told[name] = picture_told(one, kind=kind, where=f"{JOB_FILE}: {kind}, {name}")
    first = picture_told(table, kind=kind, where=f"{JOB_FILE}: {kind}")
    if first != PictureTold():
        if names[0] in told:
            raise InputError(
                f"{JOB_FILE}: {kind} has points told twice for {names[0]}.", f'Keep them all under on."{names[0]}".'
            )
        told[names[0]] = first
    return told


def _once_each(pieces: tuple[PieceJob, ...]) -> None:
    for number, piece in enumerate(pieces, 1):
        for earlier, other in enumerate(pieces[: number - 1], 1):
            if piece.kind == other.kind:
                raise InputError(
                    f"{JOB_FILE}: {piece.kind} is there twice (pieces {earlier} and {number}).",
                    "Give one piece all its pictures, or take one of the two out.",
                )


def pattern_told(table: PatternTable, *, unit: LengthUnit, folder: Path) -> PatternTold:
    """What is told of the pattern's size, checked.

    Raises
    ------
    InputError
        If a chart, a size or a measurement is not known.
    """
    size = None if table.size is None else str(table.size).strip()
    found = None if table.chart is None else chart(table.chart, folder=folder)
    if found is not None and size is None and not table.body:
        raise InputError(f"{JOB_FILE}: [pattern] names a chart but no size.", f'Write size = "{found.sizes[0]}".')
    told = PatternTold(
        body=body_from_toml(table.body, unit=unit, where=f"{JOB_FILE}: [pattern] body"),
        chart=found,
        size=size,
        year=_year(table.year),
    )
    told.drafted_for()  # a size that the chart does not have is said here, not later
    return told


def _ease(value: str | Mapping[str, Any] | None, unit: LengthUnit) -> BlockEase:
    try:
        if value is None or isinstance(value, str):
            return block_ease(value or "usual")
        told = dict(value)
        word = str(told.pop("word", "usual"))
        return block_ease(word, {level: _length(mm, unit, f"ease of {level}") for level, mm in told.items()})
    except InputError as err:
        problem = err.problem if err.problem.startswith(JOB_FILE) else f"{JOB_FILE}: [block] ease: {err.problem}"
        raise InputError(problem, err.remedy) from err


def _paper(read: JobFile, unit: LengthUnit) -> PaperTold:
    table = read.paper
    return PaperTold(
        size=table.size,
        scale=None if table.scale is None else str(table.scale),
        overlap_mm=None if table.overlap is None else _length(table.overlap, unit, "overlap"),
        allowance_mm=None if table.allowance is None else _length(table.allowance, unit, "[paper] allowance"),
    )
