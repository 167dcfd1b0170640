"""One call of ``ownblock toile``: what it was asked, done, and said."""

import datetime
import json
from dataclasses import asdict
from pathlib import Path

import click

from calibration.ground.errors import InputError, Note, WordsError
from convert.body.wording import date_in_words
from convert.cli.options import Voice
from convert.paper.cautions import TOILE_FIRST
from convert.paper.output import write_files
from convert.paper.report.fitting_page import effect_sentence, history_lines, state_title
from convert.paper.report.question_page import answered, answered_text, write_question_page
from convert.pipeline.fitted import QUESTION_PAGE, write_history
from convert.pipeline.history import (
    History,
    history_record,
    read_history,
    with_one_more,
    with_undone_again,
    without_last,
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
    InputError
        If a sentence can't be followed, or has to be asked back.
    """
    if sum([bool(changes), undo, redo]) > 1:
        raise WordsError("Only one of --change, --undo and --redo at a time.", "Call ownblock toile once for each.")
    if note and not changes:
        raise WordsError("A note belongs to a fitting.", 'Add what was changed: --change "side seam: in 1 cm".')
    voice = Voice(quiet=quiet)
    voice.progress("carrying the fitting into the block")
    today = datetime.date.today()
    if changes:
        _ask_back(folder, changes, as_json=as_json, overwrite=overwrite)
        history = with_one_more(folder, changes, date=today if date is None else date.date(), note=note)
    elif undo or redo:
        history = (without_last if undo else with_undone_again)(folder)
    else:
        history = read_history(folder)
    history = write_history(history, date=today, overwrite=overwrite)
    click.echo(json.dumps(history_record(history), ensure_ascii=False) if as_json else history_text(history))
    voice.notes(history.notes)
    voice.done(last_line(history))
    return history.notes


def _ask_back(folder: Path, changes: tuple[str, ...], *, as_json: bool, overwrite: bool) -> None:
    """Answer what is no order yet: where, how much, or what a sign may come from; nothing if all are orders.

    Raises
    ------
    InputError
        If anything was asked; nothing is changed then.
    """
    block = read_history(folder).newest.block
    answers = [answered(block, text) for text in changes]
    if all(one.becomes in ("done", "unknown") for one in answers):
        return  # a word that nobody knows is refused where the change is read
    page = write_question_page(block, answers, date=date_in_words(datetime.date.today()))
    write_files(folder / "out" / "fitted", {QUESTION_PAGE: page}, overwrite=overwrite)
    record = {"changed": False, "answers": [asdict(one) for one in answers]}
    click.echo(json.dumps(record, ensure_ascii=False) if as_json else answered_text(answers))
    raise InputError(
        "Nothing was changed yet.",
        f"Choose, write how much, and say it again. The pictures are in {folder / 'out' / 'fitted' / QUESTION_PAGE}.",
    )


def history_text(history: History) -> str:
    """The history for the command line: one fitting after another, with what each changed."""
    there = {state.number: state for state in history.states}
    unit = history.newest.block.maker.unit
    lines = []
    for number, line in enumerate(history_lines(history.states, history.fittings)):
        lines.append(line.title)
        fitting = None if number == 0 else history.fittings[number - 1]
        if fitting is not None:
            state = there.get(fitting.number)
            lines += [f"   {'undone: ' if fitting.undone else ''}{change}" for change in fitting.changes]
            if state is not None:
                lines += [f"     {effect_sentence(effect, unit)}" for effect in state.effects]
    return "\n".join(lines)


def last_line(history: History) -> str:
    """What was made, where, and whether it is sound."""
    newest = history.newest
    sound = "" if newest.block.sound else " Not every check holds: the page says which."
    return f"{state_title(newest)}: open {history.folder / 'out' / 'fitted' / 'fitting.html'}.{sound} {TOILE_FIRST}"
