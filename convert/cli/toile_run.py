"""One call of ``ownblock toile``: what it was asked, done, and said."""

import datetime
import json
from pathlib import Path

import click

from calibration.errors import Note, WordsError
from convert.cli.options import Voice
from convert.cli.toiling import (
    add_fitting,
    history_record,
    history_text,
    last_line,
    read_history,
    redo_fitting,
    undo_fitting,
    write_history,
)


def run_toile(
    folder: Path,
    *,
    changes: tuple[str, ...],
    note: str,
    undo: bool,
    redo: bool,
    date: datetime.datetime | None,
    as_json: bool,
    overwrite: bool,
    quiet: bool,
) -> tuple[Note, ...]:
    """Do it; the notes there are.

    Raises
    ------
    WordsError
        If the options contradict each other.
    """
    if sum([bool(changes), undo, redo]) > 1:
        raise WordsError("Only one of --change, --undo and --redo at a time.", "Call ownblock toile once for each.")
    if note and not changes:
        raise WordsError("A note belongs to a fitting.", 'Add what was changed: --change "side seam: in 1 cm".')
    voice = Voice(quiet=quiet)
    voice.progress("carrying the fitting into the block")
    if changes:
        day = datetime.date.today() if date is None else date.date()
        history = add_fitting(folder, changes, date=day, note=note, overwrite=overwrite)
    elif undo or redo:
        history = (undo_fitting if undo else redo_fitting)(folder, overwrite=overwrite)
    else:
        history = write_history(read_history(folder), overwrite=overwrite)
    click.echo(json.dumps(history_record(history), ensure_ascii=False) if as_json else history_text(history))
    voice.notes(history.notes)
    voice.done(last_line(history))
    return history.notes
