"""Step 8: the sheets seen beforehand, the print test, the files to keep."""

import datetime
from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated, Any, Literal
from urllib.parse import quote

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from calibration.ground.errors import InputError, WordsError
from calibration.ground.units import MM_PER_INCH
from calibration.picture.photo import read_photo
from convert.block.toile.fittings import State
from convert.body.card import LengthUnit
from convert.body.typed import typed_length_mm
from convert.body.wording import date_in_words
from convert.job.write import changed_job, set_paper
from convert.page.desk.desk import Desk, Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder, digest_of
from convert.page.desk.printed import as_shown, how_printed, kept_as, note_printed
from convert.page.desk.sheet_picture import sheet_picture
from convert.page.server import words
from convert.page.server.problems import missing
from convert.paper.files.printer_test import SQUARE_OF_UNIT_MM, printer_test
from convert.paper.output import block_sheets, print_sheets, write_files
from convert.paper.sheets.furniture import SQUARE_MM
from convert.paper.sheets.papers import PAPERS, paper_named
from convert.paper.sheets.printer import SQUARE_LEAST_MM, SQUARE_MOST_MM, Printer
from convert.paper.sheets.sheets import Sheet
from convert.pipeline.files import files_of
from convert.pipeline.fitted import write_history
from convert.pipeline.history import read_history, version_words
from convert.pipeline.look import Pictures, SheetRead, pictures_of
from convert.pipeline.make import Made
from convert.pipeline.name import PieceRead

router = APIRouter(prefix="/api/jobs/{job}", tags=["paper"])
Scale = Literal["full", "half", "quarter"]
SCALES: Mapping[str, float] = {"full": 1.0, "half": 0.5, "quarter": 0.25}
_TYPES = {
    ".pdf": "application/pdf",
    ".svg": "image/svg+xml",
    ".dxf": "image/vnd.dxf",
    ".png": "image/png",
    ".json": "application/json",
    ".html": "text/html; charset=utf-8",
}
_TEST = "printer-test.pdf"
_MARKED_MM = 500.0  # a side longer than this was read off a ruler marked in mm


class Wanted(BaseModel):
    """What to print: paper, scale, seam allowance to add as typed, what a side of the test square measured, and of
    which unit's square that is."""

    model_config = ConfigDict(extra="forbid")
    paper: str = Field("A4", max_length=20)
    scale: Scale = "full"
    allowance: str | None = Field(None, max_length=40)
    square: str | None = Field(None, max_length=40)
    square_of: LengthUnit | None = None
    test: bool = False


@router.get("/sheets")
def sheets(
    desk: TheDesk,
    folder: TheFolder,
    paper: Annotated[str, Query(max_length=20)] = "A4",
    scale: Scale = "full",
    allowance: Annotated[str, Query(max_length=40)] = "",
    square: Annotated[str, Query(max_length=40)] = "",
    square_of: LengthUnit | None = None,
) -> dict[str, Any]:
    """The sheets as they will be printed, each as a small picture."""
    _, state = desk.newest(folder)
    wanted = Wanted(paper=paper, scale=scale, allowance=allowance or None, square=square or None, square_of=square_of)
    pages = _sheets(state, wanted, folder)
    return {
        "revision": folder.revision(),
        "count": len(pages),
        "pages": [
            {
                "number": number,
                "name": page.name,
                "width_mm": page.width,
                "height_mm": page.height,
                "svg": sheet_picture(page, f"{page.name}, {number} of {len(pages)}"),
            }
            for number, page in enumerate(pages, 1)
        ],
        "papers": [
            {"id": one.name, "name": one.name, "width_mm": one.width, "height_mm": one.height}
            for one in PAPERS.values()
        ],
    }


def _sheets(state: State, wanted: Wanted, folder: Folder) -> tuple[Sheet, ...]:
    """What is printed, to be looked at beforehand."""
    return block_sheets(state.block, **_printed(state, wanted, folder))


def _printed(state: State, wanted: Wanted, folder: Folder) -> dict[str, Any]:
    """How the sheets are laid out, as ``ownblock print`` does with the same words."""
    told = folder.file().paper.overlap
    unit = folder.card().unit
    return {
        "date": _today(),
        "version": version_words(state),
        "paper": paper_named(wanted.paper, overlap_mm=None if told is None else typed_length_mm(told, unit=unit)),
        "scale": SCALES[wanted.scale],
        "printer": _printer(wanted, folder),
        "outward_mm": _allowance(wanted, folder),
    }


def _today() -> str:
    return date_in_words(datetime.date.today())


def _allowance(wanted: Wanted, folder: Folder) -> float | None:
    if wanted.allowance is None or not wanted.allowance.strip():
        return None
    return typed_length_mm(wanted.allowance, unit=folder.card().unit)


def _printer(wanted: Wanted, folder: Folder) -> Printer:
    """The printer that drew the test square as she measured it: once, or across and up."""
    if wanted.square is None or not wanted.square.strip():
        return Printer()
    unit = wanted.square_of or folder.card().unit
    try:
        sides = [_side(wanted.square, unit)]
    except InputError:  # no single length: across and up
        sides = [_side(text, unit) for text in wanted.square.replace(";", ",").split(",", 1)]
    low, high = (limit / SQUARE_MM * SQUARE_OF_UNIT_MM[unit] for limit in (SQUARE_LEAST_MM, SQUARE_MOST_MM))
    if not all(low <= side <= high for side in sides):
        raise WordsError(*words.no_such_square(wanted.square.strip(), low, high, unit))
    square = [side / SQUARE_OF_UNIT_MM[unit] * SQUARE_MM for side in sides]
    return Printer(square_x=square[0], square_y=square[-1])


def _side(text: str, unit: LengthUnit) -> float:
    mm = typed_length_mm(text, unit=unit)
    return mm / (10.0 if unit == "cm" else MM_PER_INCH) if mm > _MARKED_MM else mm  # "98.5": the ruler is marked in mm


@router.post("/files")
def make_files(desk: TheDesk, folder: TheFolder, wanted: Wanted, seen: Seen = None) -> dict[str, Any]:
    """Write the block's files into the job's folder, as ``ownblock make`` and ``ownblock print`` do."""
    with folder.changing(seen):
        return _made_test(desk, folder, wanted) if wanted.test else _made_sheets(desk, folder, wanted)


def _made_test(desk: Desk, folder: Folder, wanted: Wanted) -> dict[str, Any]:
    """One square to measure; it needs no block."""
    card = folder.card()
    name = words.file_name(card.name, words.kind_of_file(_TEST, "test", paper=wanted.paper), 0, ".pdf")
    data = printer_test(paper_named(wanted.paper), card.unit, title=name.removesuffix(".pdf"))
    write_files(folder.path / "out", {_TEST: data})
    file = {
        "id": f"f{digest_of(_TEST)}",
        "file": _TEST,
        "name": name,
        "what": "test",
        "size": len(data),
        "stale": False,
    }
    return {"files": [file], "revision": desk.changed(folder)}


def _made_sheets(desk: Desk, folder: Folder, wanted: Wanted) -> dict[str, Any]:
    """Every file of the block as it stands now; all on the paper chosen, for this printer."""
    out = folder.path / "out"
    paper, printer = paper_named(wanted.paper), _printer(wanted, folder)
    chosen = kept_as(wanted.scale, to_sew=_allowance(wanted, folder) is not None)
    with changed_job(folder.path) as document:  # so that the command line prints the same
        set_paper(document, {"size": wanted.paper, "allowance": (wanted.allowance or "").strip() or None})
    made, state = desk.newest(folder)
    today = datetime.date.today()
    files = files_of(with_photos(made), date=today, printer=printer)
    files[chosen] = print_sheets(state.block, **_printed(state, wanted, folder))
    write_files(out, files)
    if state.number:
        write_history(
            read_history(folder.path),
            date=today,
            paper=_printed(state, wanted, folder)["paper"],
            printer=printer,
            toile_mm=_allowance(wanted, folder),
        )
    note_printed(folder, files, state, sheets=chosen, paper=paper.name)
    return {**files_there(folder), "revision": desk.changed(folder)}


def with_photos(made: Made) -> Made:
    """The same with the photographs in full, which are not kept in memory."""
    whole: dict[Pictures, SheetRead] = {}
    reads: list[PieceRead] = []
    for piece, one in zip(made.job.pieces, made.reads, strict=True):
        pictures = pictures_of(piece)
        if pictures not in whole:
            photos = tuple(read_photo(path, rotate_deg=piece.rotate_deg) for path in piece.pictures)
            whole[pictures] = replace(one.read, photos=photos)
        reads.append(replace(one, read=whole[pictures]))
    return replace(made, reads=tuple(reads))


@router.get("/files")
def files_there(folder: TheFolder) -> dict[str, Any]:
    """The files that were made, those wanted most first; ``stale`` are those of a block that has changed since."""
    return {"files": as_shown(folder), "printed": how_printed(folder), "revision": folder.revision()}


@router.get("/files/{file}", response_class=Response)
def download(folder: TheFolder, file: str) -> Response:
    """One of them, to keep; nothing of it is shown here, so that no file can act as part of the page."""
    found = next((one for one in as_shown(folder) if one["id"] == file), None)
    if found is None and file == f"f{digest_of(_TEST)}":
        found = {"file": _TEST, "name": words.file_name(folder.card().name, "printer test", 0, ".pdf")}
    path = folder.path / "out" / (found or {"file": _TEST})["file"]
    if found is None or not path.is_file():
        raise missing("file")
    kind = _TYPES.get(path.suffix, "application/octet-stream")
    disposition = f"attachment; filename*=UTF-8''{quote(found['name'])}"
    return Response(path.read_bytes(), media_type=kind, headers={"Content-Disposition": disposition})
