"""A job's block and the fittings of its toile: read, one more, taken back.

``toile.toml`` in the job folder holds what the fittings showed. :mod:`convert.pipeline.fitted` writes what follows.
"""

import datetime
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from calibration.ground.errors import InputError, Note
from convert.block.block import Block
from convert.block.record import from_record
from convert.block.toile.fittings import Fitting, State, state_numbered, states
from convert.block.toile.places import toile_places
from convert.block.toile.words import Correction, understand, written
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import STEP_MM
from convert.job.fittings import TOILE_FILE, read_fittings, with_fitting, with_undone
from convert.paper.report.fitting_page import effect_sentence


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class History:
    """A job's block and its fittings: every fitting told, and every state that is not undone.

    ``told`` is what ``toile.toml`` shall hold from now on; None leaves it as it is.
    """

    folder: Path
    fittings: tuple[Fitting, ...]
    states: tuple[State, ...]
    made: dict[str, Any]
    told: str | None = None
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


def with_one_more(folder: Path, changes: Sequence[str | Correction], *, date: datetime.date, note: str = "") -> History:
    """One more fitting carried into the block, its changes in words or by place and amount; nothing is written yet.

    Raises
    ------
    InputError
        If a change can't be understood or followed.
    """
    before = read_history(folder)
    unit = before.newest.block.maker.unit
    kinds = [piece.kind for piece in before.newest.block.pieces]
    said = tuple(written(one, unit=unit) if isinstance(one, Correction) else one for one in changes)
    for change in said:
        understand(change, unit=unit, kinds=kinds)
    fitting = Fitting(number=len(before.fittings) + 1, changes=said, date=date, note=note)
    fittings = (*before.fittings, fitting)
    return replace(
        before,
        fittings=fittings,
        states=states(before.states[0].block, fittings),
        told=with_fitting(_toile_text(folder), changes=said, date=date, note=note),
    )


def without_last(folder: Path) -> History:
    """The last fitting that counts marked as undone; it stays in the file. Nothing is written yet.

    Raises
    ------
    InputError
        If there is none.
    """
    before = read_fittings(folder)
    counting = [one.number for one in before if not one.undone]
    if not counting:
        raise InputError("There is no fitting to take back.", "The block is as it was made.")
    return _marked(folder, before, counting[-1], undone=True)


def with_undone_again(folder: Path) -> History:
    """The first undone fitting after the last that counts holds again; nothing is written yet.

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
    return _marked(folder, before, undone[0], undone=False)


def _marked(folder: Path, before: tuple[Fitting, ...], number: int, *, undone: bool) -> History:
    fittings = tuple(replace(one, undone=undone) if one.number == number else one for one in before)
    made = made_record(folder)
    return History(
        folder=folder,
        fittings=fittings,
        states=states(from_record(made), fittings),
        made=made,
        told=with_undone(_toile_text(folder), number, fittings=len(before), undone=undone),
    )


def _toile_text(folder: Path) -> str:
    file = folder / TOILE_FILE
    return file.read_text(encoding="utf-8-sig") if file.is_file() else ""


def version_words(state: State) -> str:
    """What stands after “Version” on the paper."""
    return "1" if state.fitting is None else f"{state.number + 1}, after fitting {state.number}"


def fingerprint(made: dict[str, Any]) -> str:
    """Short sign of the block as made, by which it is known again."""
    return hashlib.sha256(json.dumps(made.get("pieces"), sort_keys=True).encode()).hexdigest()[:12]


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
