"""Every file of a job's block, with what stands in the report of its pictures and its maker."""

import datetime
import json
from collections.abc import Sequence

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points, closed
from calibration.overlay import advice, draw_lattice, jpeg_of
from calibration.picture.photo import Photo
from calibration.sheet.on_sheet import PictureOnSheet, pictures_on
from convert.block.block import Block
from convert.body.fill import next_to_measure
from convert.body.wording import date_in_words
from convert.job.job import Job
from convert.paper.output import block_files
from convert.paper.report.patches import patch
from convert.paper.report.photo_picture import outline_on_photo
from convert.paper.report.report_content import Patch, Photograph
from convert.paper.sheets.papers import paper_named
from convert.paper.sheets.printer import Printer
from convert.piece.piece import Piece
from convert.piece.record import to_record
from convert.piece.together.assembled import bared
from convert.piece.together.laid import Laid
from convert.pipeline.compared import compared_with
from convert.pipeline.look import Pictures, pictures_of
from convert.pipeline.make import Made
from convert.pipeline.name import PieceRead
from convert.pipeline.readings import Reading, measured, readings


def files_of(made: Made, *, date: datetime.date, printer: Printer | None = None) -> dict[str, bytes | str]:
    """Every file of a job's block by its name; its reads hold their photographs."""
    return files_for(
        made.job,
        made.block,
        made.pieces,
        laid=made.laid,
        notes=made.notes,
        date=date_in_words(date),
        photographs=photographs(made.job, made.reads),
        printer=printer,
    )


def files_for(
    job: Job,
    block: Block,
    pieces: tuple[Piece, ...],
    *,
    notes: Sequence[Note],
    date: str,
    laid: Sequence[Laid] = (),
    photographs: Sequence[Photograph] = (),
    printer: Printer | None = None,
) -> dict[str, bytes | str]:
    """The same of a block made from a job's plain pieces, on the paper that the job tells of.

    ``laid`` tells how parts were laid together.
    """
    parts = {piece.kind.split()[0] for piece in block.pieces}
    files = block_files(
        block,
        date=date,
        patterns=pieces,
        laid=laid,
        paper=paper_named(job.paper.size or "A4", overlap_mm=job.paper.overlap_mm),
        printer=printer,
        toile_mm=job.paper.allowance_mm,
        photographs=photographs,
        measure_next=next_to_measure(job.maker, parts, like=job.pattern.drafted_for() or None),
        notes=notes,
        comparison=compared_with(job, pieces)[2],
    )
    records = [to_record(bared(piece), measurements=measured(piece)) for piece in pieces]
    return {**files, "pieces.json": json.dumps({"pieces": records}, ensure_ascii=False)}


def photographs(job: Job, reads: Sequence[PieceRead]) -> list[Photograph]:
    """The pictures of a job's pieces: the grid found (none on a scan), and what was read, as a whole and by thing."""
    sheets: dict[Pictures, list[PieceRead]] = {}
    for piece, read in zip(job.pieces, reads, strict=True):
        sheets.setdefault(pictures_of(piece), []).append(read)
    pictures = []
    for together in sheets.values():
        one = together[0]
        name = " and ".join(other.piece.kind for other in together).capitalize()
        if one.read.views:
            view = one.read.views[0]
            pictures.append(
                Photograph(
                    title=f"{name}: the mat's grid",
                    picture=jpeg_of(draw_lattice(one.read.photos[0], view)),
                    caption=f"The grid that was found. {advice(view, one.tracing.outline)}".strip(),
                )
            )
        pictures += _what_was_read(name, together)
    return pictures


def _what_was_read(name: str, together: list[PieceRead]) -> list[Photograph]:
    """What was read of the pieces that lie in the same pictures, on each of these."""
    read = together[0].read
    lines = [_lines_on_mat(one) for one in together]
    drawn = {kind: [line for some in lines for line in some.get(kind, [])] for kind in lines[0]}
    found = [reading for one in together for reading in readings(one)]
    places = pictures_on(read.sheet)
    return [
        Photograph(
            title=f"{name}: what was read{f', picture {number + 1}' if len(places) > 1 else ''}",
            picture=outline_on_photo(photo, place, drawn),
            caption="Full line: where the paper is cut. Dashed: seam line, darts and grain.",
            patches=tuple(
                _patch(photo, place, one) for one in found if one.picture == number and one.kind != "cut line"
            ),
        )
        for number, (photo, place) in enumerate(zip(read.photos, places, strict=True))
    ]


def _patch(photo: Photo, place: PictureOnSheet, one: Reading) -> Patch:
    """One thing that was read, as a small picture with a sentence."""
    return Patch(
        picture=patch(photo, place, one.box_px, one.drawn),
        what=one.name,
        how_sure=one.how_sure,
    )


def _lines_on_mat(one: PieceRead) -> dict[str, list[Points]]:
    """Cut line, seam line, darts and grain of a piece, where they lay on the mat."""
    placement = one.piece.placement
    if placement is None:
        return {}
    piece = one.piece
    darts = [np.vstack([dart.legs[0], apex, dart.legs[1]]) for dart in piece.darts for apex in dart.apexes]
    grain = [] if piece.grainline is None else [piece.grainline]
    return {
        "cut line": [placement.to_mat(closed(piece.cut_line))],
        "seam line": [placement.to_mat(closed(piece.seam_line))],
        "dart": [placement.to_mat(dart) for dart in darts],
        "grainline": [placement.to_mat(line) for line in grain],
    }
