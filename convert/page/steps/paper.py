"""Step 8: the sheets seen beforehand, the print test, the files to keep."""

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from calibration.picture.photo import read_photo
from convert.block.toile.fittings import State
from convert.body.typed import typed_length_mm
from convert.body.wording import date_in_words
from convert.job.write import changed_job, set_paper
from convert.page.desk.desk import Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder, digest_of
from convert.page.desk.sheet_picture import sheet_picture
from convert.page.server.problems import missing
from convert.paper.files.pdf import write_pdf
from convert.paper.output import block_sheets, print_sheets, write_files
from convert.paper.sheets.papers import PAPERS, paper_named
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.sheets import Sheet
from convert.pipeline.files import files_of
from convert.pipeline.history import read_history, version_words, write_history
from convert.pipeline.pipeline import Made, PieceRead

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
_TEST = "print-test.pdf"
_CHOSEN: Mapping[str, str] = {"full": "sheets", "half": "sheets-half", "quarter": "sheets-quarter"}


class Wanted(BaseModel):
    """What to print: paper, scale, seam allowance to add as typed, and what the 100 mm square measured."""

    model_config = ConfigDict(extra="forbid")
    paper: str = Field("A4", max_length=20)
    scale: Scale = "full"
    allowance: str | None = Field(None, max_length=40)
    square: str | None = Field(None, max_length=40)
    test: bool = False


@router.get("/sheets")
def sheets(
    desk: TheDesk,
    folder: TheFolder,
    paper: Annotated[str, Query(max_length=20)] = "A4",
    scale: Scale = "full",
    allowance: Annotated[str, Query(max_length=40)] = "",
    square: Annotated[str, Query(max_length=40)] = "",
) -> dict[str, Any]:
    """The sheets as they will be printed, each as a small picture."""
    _, state = desk.newest(folder)
    pages = _sheets(state, Wanted(paper=paper, scale=scale, allowance=allowance or None, square=square or None), folder)
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
    """The printer that drew the 100 mm square as she measured it: once, or across and up."""
    if wanted.square is None or not wanted.square.strip():
        return Printer()
    unit = folder.card().unit
    try:
        sides = [_side(wanted.square, unit)]
    except InputError:  # no single length: across and up
        sides = [_side(text, unit) for text in wanted.square.replace(";", ",").split(",", 1)]
    return Printer(square_x=sides[0], square_y=sides[-1])


def _side(text: str, unit: str) -> float:
    mm = typed_length_mm(text, unit=unit)
    return mm / (10.0 if unit == "cm" else MM_PER_INCH) if mm > 500.0 else mm  # "98.5": the line is marked in mm


@router.post("/files")
def make_files(desk: TheDesk, folder: TheFolder, wanted: Wanted, seen: Seen = None) -> dict[str, Any]:
    """Write the block's files into the job's folder, as ``ownblock make`` and ``ownblock print`` do."""
    with folder.changing(seen):
        out = folder.path / "out"
        chosen = f"{_CHOSEN[wanted.scale]}{'' if _allowance(wanted, folder) is None else '-to-sew'}.pdf"
        if wanted.test:
            _, state = desk.newest(folder)
            write_files(out, {_TEST: _test_sheet(state, wanted, folder)})
            return {"files": [_file(folder, _TEST)], "revision": desk.changed(folder)}
        paper_named(wanted.paper)
        printer = _printer(wanted, folder)
        with changed_job(folder.path) as document:  # so that the command line prints the same
            set_paper(document, {"size": wanted.paper, "allowance": (wanted.allowance or "").strip() or None})
        made, state = desk.newest(folder)
        files = files_of(with_photos(made), printer=printer)
        files[chosen] = _pdf(state, wanted, folder)
        write_files(out, files)
        if state.number:
            write_history(read_history(folder.path))
        return {**files_there(folder), "revision": desk.changed(folder)}


def _pdf(state: State, wanted: Wanted, folder: Folder) -> bytes:
    """The sheets as chosen, of the block as it stands now: what ``ownblock print`` writes."""
    return print_sheets(state.block, **_printed(state, wanted, folder))


def _test_sheet(state: State, wanted: Wanted, folder: Folder) -> bytes:
    """The first sheet alone: the squares to measure, and how the sheets join."""
    name = state.block.maker.name
    pages = _sheets(state, wanted, folder)[:1]
    return write_pdf(pages, title=f"Print test for the block of {name}", author=name, subject="Measure the square.")


def with_photos(made: Made) -> Made:
    """The same with the photographs in full, which are not kept in memory."""
    whole: dict[int, Any] = {}
    reads: list[PieceRead] = []
    for piece, one in zip(made.job.pieces, made.reads, strict=True):
        if id(one.read) not in whole:
            photos = tuple(read_photo(path, rotate_deg=piece.rotate_deg) for path in piece.pictures)
            whole[id(one.read)] = replace(one.read, photos=photos)
        reads.append(replace(one, read=whole[id(one.read)]))
    return replace(made, reads=tuple(reads))


_WHAT = {
    "sheets.pdf": "print",
    "sheets-to-sew.pdf": "print",
    "sheets-half.pdf": "print",
    "sheets-half-to-sew.pdf": "print",
    "sheets-quarter.pdf": "print",
    "sheets-quarter-to-sew.pdf": "print",
    "block.pdf": "block",
    "toile.pdf": "toile",
    "practice.pdf": "practice",
    "steps.pdf": "steps",
    "report.pdf": "report",
    "report.html": "report",
    "fitting.html": "fitting",
    "block.svg": "drawing",
    "block.dxf": "cutting-room",
    "block.png": "picture",
    "block.json": "numbers",
    _TEST: "test",
}
_IN = ("", "fitted/")


def _file(folder: Folder, name: str) -> dict[str, Any]:
    size = (folder.path / "out" / name).stat().st_size
    last = name.rpartition("/")[2]
    return {
        "id": f"f{digest_of(name)}",
        "name": last,
        "size": size,
        "what": _WHAT.get(last, "piece"),
        "fitted": last != name,
    }


@router.get("/files")
def files_there(folder: TheFolder) -> dict[str, Any]:
    """The files that were made, those wanted most first; those after the fittings of a toile are ``fitted``."""
    out, order = folder.path / "out", [*_WHAT]
    names = [f"{under}{one.name}" for under in _IN for one in _listed(out / under)]

    def wanted(name: str) -> tuple[bool, int, str]:
        last = name.rpartition("/")[2]
        return "/" in name, order.index(last) if last in order else len(order), last

    return {"files": [_file(folder, name) for name in sorted(names, key=wanted)], "revision": folder.revision()}


def _listed(place: Path) -> list[Path]:
    return [one for one in place.iterdir() if one.is_file() and one.name[0] != "."] if place.is_dir() else []


@router.get("/files/{file}", response_class=Response)
def download(folder: TheFolder, file: str) -> Response:
    """One of them, to keep; nothing of it is shown here, so that no file can act as part of the page."""
    out = folder.path / "out"
    for path in (one for under in _IN for one in _listed(out / under)):
        if file == f"f{digest_of(path.relative_to(out).as_posix())}":
            kind = _TYPES.get(path.suffix, "application/octet-stream")
            name = path.name.encode("ascii", "replace").decode().replace('"', "'")
            return Response(
                path.read_bytes(), media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'}
            )
    raise missing("file")
