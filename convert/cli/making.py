"""What ``ownblock make`` does; imported only then."""

import datetime
from pathlib import Path

from calibration.ground.errors import InputError, Note
from convert.body.wording import accuracy_words
from convert.cli.options import Voice
from convert.job.fittings import TOILE_FILE
from convert.job.job import read_job
from convert.paper.cautions import TOILE_FIRST
from convert.paper.output import write_files
from convert.piece.accuracy import accuracy_mm
from convert.pipeline.files import files_of
from convert.pipeline.fitted import write_history
from convert.pipeline.history import read_history
from convert.pipeline.make import Made, make


def make_files(folder: Path, *, voice: Voice, overwrite: bool = False) -> tuple[Note, ...]:
    """The whole way, and every file of it; the doubts there are."""
    job = read_job(folder)
    made = make(job, progress=voice.progress)
    voice.progress("drawing and writing")
    out, today = folder / "out", datetime.date.today()
    write_files(out, files_of(made, date=today), overwrite=overwrite)
    notes = (*made.notes, *fitted_again(folder, date=today, voice=voice, overwrite=overwrite))
    voice.notes(notes)
    voice.done(last_line(made, out))
    return notes


def fitted_again(folder: Path, *, date: datetime.date, voice: Voice, overwrite: bool) -> tuple[Note, ...]:
    """Carry the fittings of ``toile.toml``, if there is one, into the block just made; what can't be is a note."""
    if not (folder / TOILE_FILE).is_file():
        return ()
    voice.progress("carrying the fittings of the toile into it")
    try:
        history = write_history(read_history(folder), date=date, overwrite=overwrite)
    except InputError as err:
        return (Note("toile-not-followed", f"The fittings are not in this block. {err.problem} {err.remedy}"),)
    counting = sum(not one.undone for one in history.fittings)
    said = f"The block after {counting} fitting{'s' if counting > 1 else ''} lies in {folder / 'out' / 'fitted'}."
    return (*history.notes, *([Note("toile-followed", said)] if counting else []))


def last_line(made: Made, out: Path) -> str:
    """What was made, where, how accurate."""
    worst = max(accuracy_mm(one.piece) for one in made.reads)
    sound = "" if made.block.sound else " Not every check holds: the report says which."
    return (
        f"A block for {made.job.maker.name} in {len(made.block.pieces)} pieces: open {out / 'report.html'}. "
        f"{accuracy_words(worst, made.job.maker.unit)}{sound} {TOILE_FIRST}"
    )
