"""A job's block and the fittings of its toile, on the disk: read, one more, taken back, written.

``toile.toml`` in the job folder holds what the fittings showed. ``out/fittings`` holds the block after each of them
(``0.json`` as made, ``1.json`` …, and ``history.json``), ``out/fitted`` the newest state on paper.
"""

import datetime
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError, Note, OutputError
from calibration.ground.files import write_atomically
from convert.block.block import Block
from convert.block.record import from_record, to_record
from convert.block.toile.fittings import Fitting, State, shown, state_numbered, states
from convert.block.toile.places import toile_places
from convert.block.toile.words import Correction, understand, written
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import STEP_MM, date_in_words
from convert.job.fittings import TOILE_FILE, read_fittings, with_fitting, with_undone
from convert.paper.output import block_files, forget_file, write_files
from convert.paper.report.fitting_page import effect_sentence, state_title, write_fitting_page
from convert.paper.sheets.papers import Paper
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.toile_cut import Outward
from convert.paper.steps.steps import write_steps

HISTORY = "history.json"
QUESTION_PAGE = "question.html"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class History:
    """A job's block and its fittings: every fitting told, and every state that is not undone."""

    folder: Path
    fittings: tuple[Fitting, ...]
    states: tuple[State, ...]
    made: dict[str, Any]
    notes: tuple[Note, ...] = ()

    @property
    def newest(self) -> State:
        """The block as it stands now."""
        return self.states[-1]


def read_history(folder: Path) -> History:
    """The history of a job folder, worked out from its block as made and its ``toile.toml``.

    Raises
    ------
    InputError
        If no block was made yet, or a fitting can't be followed.
    """
    made = made_record(folder)
    fittings = read_fittings(folder)
    return History(folder=folder, fittings=fittings, states=states(from_record(made), fittings), made=made)


def made_record(place: Path) -> dict[str, Any]:
    """What a job folder's ``out/block.json`` holds, or a block.json itself.

    Raises
    ------
    InputError
        If there is none that can be read.
    """
    file = place / "out" / "block.json" if place.is_dir() else place
    if not file.is_file():
        raise InputError(f"There is no block at {file}.", f"Make one first: ownblock make {place}")
    try:
        record: dict[str, Any] = json.loads(file.read_text())
    except (ValueError, OSError) as err:
        raise InputError(f"{file} is not a block that can be read.", "Make it again with ownblock make.") from err
    return record


def add_fitting(
    folder: Path, changes: Sequence[str], *, date: datetime.date, note: str = "", overwrite: bool = False
) -> History:
    """One more fitting: carried into the block, kept in ``toile.toml``, everything written. Nothing on a refusal.

    Raises
    ------
    InputError
        If a change can't be understood or followed; then nothing is written.
    OutputError
        If a file that somebody changed stands in the way.
    """
    before = read_history(folder)
    unit = before.newest.block.maker.unit
    kinds = [piece.kind for piece in before.newest.block.pieces]
    for change in changes:
        understand(change, unit=unit, kinds=kinds)
    text = _toile_text(folder)
    fitting = Fitting(number=len(before.fittings) + 1, changes=tuple(changes), date=date, note=note)
    fittings = (*before.fittings, fitting)
    after = replace(before, fittings=fittings, states=states(before.states[0].block, fittings))
    return _kept(after, with_fitting(text, changes=fitting.changes, date=date, note=note), overwrite=overwrite)


def add_corrections(folder: Path, corrections: Sequence[Correction], *, date: datetime.date, note: str = "") -> History:
    """:func:`add_fitting` for corrections chosen by place and amount; they are kept in words."""
    unit = from_record(made_record(folder)).maker.unit
    return add_fitting(folder, [written(one, unit=unit) for one in corrections], date=date, note=note)


def undo_fitting(folder: Path, *, overwrite: bool = False) -> History:
    """The last fitting that counts is marked as undone; it stays in ``toile.toml``.

    Raises
    ------
    InputError
        If there is none.
    """
    before = read_fittings(folder)
    counting = [one.number for one in before if not one.undone]
    if not counting:
        raise InputError("There is no fitting to take back.", "The block is as it was made.")
    return _marked(folder, before, counting[-1], undone=True, overwrite=overwrite)


def redo_fitting(folder: Path, *, overwrite: bool = False) -> History:
    """The first undone fitting after the last that counts holds again.

    Raises
    ------
    InputError
        If none was undone since.
    """
    before = read_fittings(folder)
    last = max((one.number for one in before if not one.undone), default=0)
    undone = [one.number for one in before if one.undone and one.number > last]
    if not undone:
        raise InputError("There is no undone fitting after the last one.", "Nothing needs to be done.")
    return _marked(folder, before, undone[0], undone=False, overwrite=overwrite)


def _marked(folder: Path, before: tuple[Fitting, ...], number: int, *, undone: bool, overwrite: bool) -> History:
    fittings = tuple(replace(one, undone=undone) if one.number == number else one for one in before)
    text = with_undone(_toile_text(folder), number, fittings=len(before), undone=undone)
    made = made_record(folder)
    after = History(folder=folder, fittings=fittings, states=states(from_record(made), fittings), made=made)
    return _kept(after, text, overwrite=overwrite)


def _toile_text(folder: Path) -> str:
    file = folder / TOILE_FILE
    return file.read_text(encoding="utf-8-sig") if file.is_file() else ""


def _kept(history: History, text: str, *, overwrite: bool) -> History:
    """Write what was told first, then what follows from it; put the former back if the latter can't be written."""
    file = history.folder / TOILE_FILE
    old = file.read_bytes() if file.is_file() else None
    write_atomically(file, text)
    try:
        return write_history(history, overwrite=overwrite)
    except OutputError:
        if old is None:
            file.unlink()
        else:
            write_atomically(file, old)
        raise


def write_history(
    history: History,
    *,
    overwrite: bool = False,
    paper: Paper | None = None,
    printer: Printer | None = None,
    toile_mm: Outward | None = None,
) -> History:
    """Write every state and the newest one's paper; states of a block that was made anew since are kept aside.

    ``paper``, ``printer`` and ``toile_mm`` are those of :func:`convert.paper.output.block_files`.

    Raises
    ------
    OutputError
        If a file that somebody changed stands in the way, unless ``overwrite``.
    """
    out = history.folder / "out"
    aside = _set_aside(out / "fittings", history)
    records = {state.number: _record(state, history.made) for state in history.states}
    files: dict[str, bytes | str] = {f"{number}.json": json.dumps(one) for number, one in records.items()}
    files[HISTORY] = json.dumps(history_record(history), ensure_ascii=False, indent=1)
    newest = history.newest
    block = replace(newest.block, moves=shown(newest.block.moves))
    today = date_in_words(datetime.date.today())
    made = block_files(
        block, date=today, version=version_words(newest), paper=paper, printer=printer, toile_mm=toile_mm
    )
    sheets = {name: data for name, data in made.items() if not name.startswith("report.")}
    sheets["block.json"] = files[f"{newest.number}.json"]
    sheets["fitting.html"] = write_fitting_page(history.states, history.fittings, date=today)
    if shown(newest.moves):
        sheets["steps.pdf"] = write_steps(
            shown(newest.moves), title=f"{state_title(newest)}, {block.maker.name}", date=today, unit=block.maker.unit
        )
    write_files(out / "fitted", sheets, overwrite=overwrite)
    forget_file(out / "fitted", QUESTION_PAGE)  # it was answered
    if "steps.pdf" not in sheets:
        forget_file(out / "fitted", "steps.pdf")  # of a fitting that was taken back
    write_files(out / "fittings", files, overwrite=overwrite)
    return replace(history, notes=(*history.notes, *newest.notes, *([aside] if aside else [])))


def version_words(state: State) -> str:
    """What stands after “Version” on the paper."""
    return "1" if state.fitting is None else f"{state.number + 1}, after fitting {state.number}"


def _record(state: State, made: dict[str, Any]) -> dict[str, Any]:
    """A state as block.json; the moves of the block as made stand before the fittings' own."""
    if state.fitting is None:
        return made
    record = to_record(replace(state.block, moves=shown(state.block.moves)))
    record["moves"] = [*made.get("moves", []), *record["moves"]]
    record["after_fitting"] = state.number
    return record


def fingerprint(made: dict[str, Any]) -> str:
    """Short sign of the block as made, by which it is known again."""
    return hashlib.sha256(json.dumps(made.get("pieces"), sort_keys=True).encode()).hexdigest()[:12]


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


def history_record(history: History) -> dict[str, Any]:
    """The history as plain values for JSON."""
    unit = history.newest.block.maker.unit
    return {
        "format": "ownblock-fittings",
        "version": 1,
        "made": fingerprint(history.made),
        "newest": history.newest.number,
        "fittings": [
            {
                "number": one.number,
                "date": None if one.date is None else one.date.isoformat(),
                "changes": list(one.changes),
                "note": one.note,
                "undone": one.undone,
            }
            for one in history.fittings
        ],
        "states": [
            {
                "number": state.number,
                "sound": state.block.sound,
                "understood": [one.sentence for one in state.told],
                "effects": [
                    {
                        "name": effect.name,
                        "before_mm": effect.before_mm,
                        "after_mm": effect.after_mm,
                        "sentence": effect_sentence(effect, unit),
                    }
                    for effect in state.effects
                ],
                "notes": [{"code": note.code, "text": note.text} for note in state.notes],
            }
            for state in history.states
        ],
    }


def toile_choices(block: Block) -> list[dict[str, Any]]:
    """Every place that this block's toile can be corrected at, for a page to choose from; lengths in mm."""
    kinds = {piece.kind for piece in block.pieces}
    return [
        {
            "place": place.name,
            "pieces": [kind for kind in place.kinds if kind in kinds],
            "usual": [kind for kind in place.usual or place.kinds if kind in kinds],
            "more": place.more[0],
            "less": place.less[0],
            "counts": place.counts,
            "step": STEP_MM[block.maker.unit],
            "low": -place.most_mm,
            "high": place.most_mm,
        }
        for place in toile_places(block.maker.mm("waist to hip") or WAIST_TO_HIP_MM).values()
        if any(kind in kinds for kind in place.kinds)
    ]


def block_after(folder: Path, number: int | None) -> tuple[Block, State]:
    """A job's block after a fitting: 0 as made, None the newest.

    Raises
    ------
    InputError
        If there is no such state.
    """
    history = read_history(folder)
    state = history.newest if number is None else state_numbered(history.states, number)
    return state.block, state
