"""A job's block after its fittings, written: ``toile.toml``, every state, and the newest one on paper.

``out/fittings`` holds the block after each fitting (``0.json`` as made, ``1.json`` …, and ``history.json``),
``out/fitted`` the newest state's sheets.
"""

import datetime
import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from calibration.ground.errors import Note, OutputError
from calibration.ground.files import write_atomically
from convert.block.record import to_record
from convert.block.toile.fittings import State, shown
from convert.body.wording import date_in_words
from convert.job.fittings import TOILE_FILE
from convert.paper.output import block_files, forget_file, write_files
from convert.paper.report.fitting_page import state_title, write_fitting_page
from convert.paper.sheets.papers import Paper
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.toile_cut import Outward
from convert.paper.steps.steps import write_steps
from convert.pipeline.history import History, fingerprint, history_record, version_words

HISTORY = "history.json"
QUESTION_PAGE = "question.html"


def write_history(
    history: History,
    *,
    date: datetime.date,
    overwrite: bool = False,
    paper: Paper | None = None,
    printer: Printer | None = None,
    toile_mm: Outward | None = None,
) -> History:
    """Write what was told first, then what follows from it; what was told before stands again where that can't be.

    States of a block that was made anew since are kept aside. ``paper``, ``printer`` and ``toile_mm`` are those of
    :func:`convert.paper.output.block_files`; ``date`` stands on the paper.

    Raises
    ------
    OutputError
        If a file that somebody changed stands in the way, unless ``overwrite``.
    """
    out, newest = history.folder / "out", history.newest
    with _told(history):
        aside = _set_aside(out / "fittings", history)
        records = {state.number: json.dumps(_record(state, history.made)) for state in history.states}
        sheets = fitted_sheets(history, date=date, paper=paper, printer=printer, toile_mm=toile_mm)
        write_files(out / "fitted", {**sheets, "block.json": records[newest.number]}, overwrite=overwrite)
        forget_file(out / "fitted", QUESTION_PAGE)  # it was answered
        if "steps.pdf" not in sheets:
            forget_file(out / "fitted", "steps.pdf")  # of a fitting that was taken back
        files: dict[str, bytes | str] = {f"{number}.json": record for number, record in records.items()}
        files[HISTORY] = json.dumps(history_record(history), ensure_ascii=False, indent=1)
        write_files(out / "fittings", files, overwrite=overwrite)
    return replace(history, notes=(*history.notes, *newest.notes, *([aside] if aside else [])))


def fitted_sheets(
    history: History,
    *,
    date: datetime.date,
    paper: Paper | None = None,
    printer: Printer | None = None,
    toile_mm: Outward | None = None,
) -> dict[str, bytes | str]:
    """The newest state on paper by name of file: its sheets, what each fitting changed, and the steps of the last."""
    newest, day = history.newest, date_in_words(date)
    block = replace(newest.block, moves=shown(newest.block.moves))
    made = block_files(block, date=day, version=version_words(newest), paper=paper, printer=printer, toile_mm=toile_mm)
    sheets = {name: data for name, data in made.items() if not name.startswith("report.")}
    sheets["fitting.html"] = write_fitting_page(history.states, history.fittings, date=day)
    if shown(newest.moves):
        sheets["steps.pdf"] = write_steps(
            shown(newest.moves), title=f"{state_title(newest)}, {block.maker.name}", date=day, unit=block.maker.unit
        )
    return sheets


@contextmanager
def _told(history: History) -> Iterator[None]:
    """``toile.toml`` as the history tells it; as it was before if what follows from it can't be written."""
    file = history.folder / TOILE_FILE
    if history.told is None:
        yield
        return
    old = file.read_bytes() if file.is_file() else None
    write_atomically(file, history.told)
    try:
        yield
    except OutputError:
        if old is None:
            file.unlink()
        else:
            write_atomically(file, old)
        raise


def _record(state: State, made: dict[str, Any]) -> dict[str, Any]:
    """A state as block.json; the moves of the block as made stand before the fittings' own."""
    if state.fitting is None:
        return made
    record = to_record(replace(state.block, moves=shown(state.block.moves)))
    record["moves"] = [*made.get("moves", []), *record["moves"]]
    record["after_fitting"] = state.number
    return record


def _set_aside(folder: Path, history: History) -> Note | None:
    """Move the states of an older block out of the way, whole; None if there is nothing to move."""
    try:
        old = json.loads((folder / HISTORY).read_text())
        known, fitted = str(old["made"]), len(old["states"]) > 1
    except (OSError, ValueError, KeyError, TypeError):
        return None
    if known == fingerprint(history.made) or not fitted:
        return None
    number = 1
    while (place := folder.with_name(f"fittings of an older block {number}")).exists():
        number += 1
    folder.rename(place)
    return Note(
        "block-made-anew",
        f"The block was made anew since its last fitting. The fittings are carried into the new one; the old states "
        f"are kept in {place}. Check that each change is still wanted, or take it back with --undo.",
    )
