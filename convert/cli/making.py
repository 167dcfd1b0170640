"""What ``ownblock make`` does; imported only then."""

import datetime
import json
from pathlib import Path

from calibration.errors import Note
from calibration.files import write_atomically
from convert.block.record import to_record
from convert.cli.options import Voice
from convert.job import read_job
from convert.paper.draw_piece import PieceWords, cut_words, draw_piece
from convert.paper.papers import paper_named
from convert.paper.pdf import write_pdf
from convert.paper.sheets import make_sheets
from convert.paper.svg import svg_page
from convert.pipeline import Made, make


def make_files(folder: Path, *, voice: Voice, overwrite: bool = False) -> tuple[Note, ...]:
    """The whole way, and every file of it; the doubts there are."""
    job = read_job(folder)
    made = make(job, progress=voice.progress)
    voice.progress("drawing and writing")
    out = folder / "out"
    out.mkdir(exist_ok=True)
    for name, content in files_of(made, today=datetime.date.today()).items():
        write_atomically(out / name, content)
    voice.notes(made.notes)
    voice.done(f"A block for {job.maker.name}: {out / 'block.pdf'}.")
    return made.notes


def files_of(made: Made, *, today: datetime.date) -> dict[str, bytes | str]:
    """Every file of a block by its name."""
    date = f"{today.day} {today:%B %Y}"
    title = f"Block of {made.job.maker.name}"
    drawings = [
        draw_piece(
            piece,
            PieceWords(
                whose=title, cut=cut_words(piece), allowance="No seam allowance", ease=(), date=date, version="Version 1"
            ),
        )
        for piece in made.block.pieces
    ]
    sheets = make_sheets(drawings, paper_named(made.job.paper.size or "A4"), title=title, date=date)
    return {
        "block.json": json.dumps(to_record(made.block), ensure_ascii=False),
        "block.svg": svg_page(drawings, title=title),
        "block.pdf": write_pdf(sheets, title=title),
    }
