"""What ``ownblock make`` does; imported only then."""

import datetime
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from calibration.errors import InputError, Note
from calibration.on_sheet import PictureOnSheet, pictures_on
from calibration.overlay import accuracy_sentence, draw_lattice, jpeg_of
from calibration.photo import Photo
from calibration.points import Points, closed
from convert.body.fill import next_to_measure
from convert.cli.options import Voice
from convert.job import read_job
from convert.job_fittings import TOILE_FILE
from convert.paper.output import block_files, write_files
from convert.paper.papers import paper_named
from convert.paper.patches import patch
from convert.paper.photo_picture import outline_on_photo
from convert.paper.printer import Printer
from convert.paper.report_content import Patch, Photograph
from convert.pipeline import Made, PieceRead, compare_pieces, make, readings
from convert.readings import Reading


def make_files(folder: Path, *, voice: Voice, overwrite: bool = False) -> tuple[Note, ...]:
    """The whole way, and every file of it; the doubts there are."""
    job = read_job(folder)
    made = make(job, progress=voice.progress)
    voice.progress("drawing and writing")
    out = folder / "out"
    write_files(out, files_of(made), overwrite=overwrite)
    notes = (*made.notes, *fitted_again(folder, voice=voice, overwrite=overwrite))
    voice.notes(notes)
    voice.done(last_line(made, out))
    return notes


def files_of(made: Made, *, printer: Printer | None = None) -> dict[str, bytes | str]:
    """Every file of a job's block by its name, dated today; its reads hold their photographs."""
    paper = made.job.paper
    return block_files(
        made.block,
        date=in_words(datetime.date.today()),
        patterns=[one.piece for one in made.reads],
        paper=paper_named(paper.size or "A4", overlap_mm=paper.overlap_mm),
        printer=printer,
        toile_mm=paper.allowance_mm,
        photographs=photographs(made.reads),
        measure_next=what_to_measure(made),
        notes=made.notes,
        comparison=compare_pieces(made.job, made.reads).comparison,
    )


def fitted_again(folder: Path, *, voice: Voice, overwrite: bool) -> tuple[Note, ...]:
    """Carry the fittings of ``toile.toml``, if there is one, into the block just made; what can't be is a note."""
    if not (folder / TOILE_FILE).is_file():
        return ()
    from convert.cli.toiling import read_history, write_history

    voice.progress("carrying the fittings of the toile into it")
    try:
        history = write_history(read_history(folder), overwrite=overwrite)
    except InputError as err:
        return (Note("toile-not-followed", f"The fittings are not in this block. {err.problem} {err.remedy}"),)
    counting = sum(not one.undone for one in history.fittings)
    said = f"The block after {counting} fitting{'s' if counting > 1 else ''} lies in {folder / 'out' / 'fitted'}."
    return (*history.notes, *([Note("toile-followed", said)] if counting else []))


def what_to_measure(made: Made) -> tuple[str, ...]:
    """What to measure next for these pieces, and how; the most useful first."""
    parts = {piece.kind.split()[0] for piece in made.block.pieces}
    return next_to_measure(made.job.maker, parts, like=made.job.pattern.drafted_for() or None)


def in_words(day: datetime.date) -> str:
    """A date as it stands on the paper."""
    return f"{day.day} {day:%B %Y}"


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


def last_line(made: Made, out: Path) -> str:
    """What was made, where, how accurate."""
    worst = max(one.piece.uncertainty_mm for one in made.reads)
    sound = "" if made.block.sound else " Not every check holds: the report says which."
    return (
        f"A block for {made.job.maker.name} in {len(made.block.pieces)} pieces: open {out / 'report.html'}. "
        f"Outlines accurate to about {max(worst, 0.1):.1f} mm.{sound}"
    )
