"""Every file of a job's block, with what stands in the report of its pictures and its maker."""

import datetime
from collections.abc import Sequence

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points, closed
from calibration.overlay import accuracy_sentence, draw_lattice, jpeg_of
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
from convert.pipeline.pipeline import Made, PieceRead, compared_with, readings
from convert.pipeline.readings import Reading


def files_of(made: Made, *, printer: Printer | None = None) -> dict[str, bytes | str]:
    """Every file of a job's block by its name, dated today; its reads hold their photographs."""
    return files_for(
        made.job,
        made.block,
        tuple(one.piece for one in made.reads),
        notes=made.notes,
        date=date_in_words(datetime.date.today()),
        photographs=photographs(made.reads),
        printer=printer,
    )


def files_for(
    job: Job,
    block: Block,
    pieces: tuple[Piece, ...],
    *,
    notes: Sequence[Note],
    date: str,
    photographs: Sequence[Photograph] = (),
    printer: Printer | None = None,
) -> dict[str, bytes | str]:
    """The same of a block made from a job's pieces, on the paper that the job tells of."""
    parts = {piece.kind.split()[0] for piece in block.pieces}
    return block_files(
        block,
        date=date,
        patterns=pieces,
        paper=paper_named(job.paper.size or "A4", overlap_mm=job.paper.overlap_mm),
        printer=printer,
        toile_mm=job.paper.allowance_mm,
        photographs=photographs,
        measure_next=next_to_measure(job.maker, parts, like=job.pattern.drafted_for() or None),
        notes=notes,
        comparison=compared_with(job, pieces)[2],
    )


def photographs(reads: Sequence[PieceRead]) -> list[Photograph]:
    """Each piece's pictures: the grid found (none on a scan), and what was read, as a whole and thing by thing."""
    pictures, shown = [], set()
    for one in reads:
        if id(one.read) in shown:
            continue
        shown.add(id(one.read))
        together = [other for other in reads if other.read is one.read]
        name = " and ".join(other.piece.kind for other in together).capitalize()
        if one.read.views:
            view = one.read.views[0]
            pictures.append(
                Photograph(
                    title=f"{name}: the mat's grid",
                    picture=jpeg_of(draw_lattice(one.read.photos[0], view)),
                    caption=f"The grid that was found. {accuracy_sentence(view, one.tracing.outline)}",
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
