"""Step 9: what was pinned where on the toile, carried into the block; every fitting can be taken back."""

import datetime
import json
from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from calibration.ground.errors import WordsError
from convert.block.record import from_record, to_record
from convert.block.toile.fittings import states
from convert.block.toile.words import Correction, understand
from convert.job.fittings import read_fittings
from convert.page.desk.desk import Desk, Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder
from convert.page.desk.piece_json import block_piece
from convert.page.desk.printed import how_printed
from convert.page.desk.state import notes_of
from convert.paper.output import write_files
from convert.paper.report.question_page import answered
from convert.paper.steps.pictures import move_picture
from convert.pipeline.fitted import write_history
from convert.pipeline.history import toile_choices, with_one_more, with_undone_again, without_last

router = APIRouter(prefix="/api/jobs/{job}/toile", tags=["toile"])


class Change(BaseModel):
    """One thing pinned: where, how much (positive: what the place counts as more), on which pieces."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)
    place: str = Field(max_length=60)
    amount_mm: float = Field(ge=-500, le=500)
    on: list[Annotated[str, Field(max_length=40)]] | None = Field(None, max_length=10)


class Fitted(BaseModel):
    """All that one fitting showed."""

    model_config = ConfigDict(extra="forbid")
    changes: list[Change] = Field(default_factory=list, max_length=60)
    words: list[Annotated[str, Field(max_length=300)]] = Field(default_factory=list, max_length=60)
    note: str = Field("", max_length=1000)


@router.get("")
def toile(desk: TheDesk, folder: TheFolder) -> dict[str, Any]:
    """Where the toile can be corrected, what was corrected so far, and the block as it stands."""
    return _toile(desk, folder)


def _toile(desk: Desk, folder: Folder) -> dict[str, Any]:
    made = from_record(to_record(desk.made(folder).block))
    fittings = read_fittings(folder.path)
    history = states(made, fittings)
    newest = history[-1]
    kinds = [piece.kind for piece in made.pieces]
    changes = []
    for state in history[1:]:
        for one in state.told:
            correction = one.correction
            changes.append(
                {
                    "fitting": state.number,
                    "place": correction.place,
                    "amount_mm": correction.amount_mm,
                    "on": list(correction.on),
                    "sentence": one.sentence,
                }
            )
    undone = [
        {"fitting": one.number, "sentence": understand(text, unit=made.maker.unit, kinds=kinds).sentence}
        for one in fittings
        if one.undone
        for text in one.changes
    ]
    return {
        "revision": folder.revision(),
        "printed": how_printed(folder),
        "places": toile_choices(newest.block),
        "changes": changes,
        "undone": undone,
        "pieces": [block_piece(piece) for piece in newest.block.pieces],
        "moves": [
            {"move": move.move, "piece": move.piece, "sentence": move.sentence, "svg_before_after": move_picture(move)}
            for move in newest.moves
        ],
        "notes": notes_of(newest.notes),
    }


@router.get("/say")
def say(desk: TheDesk, folder: TheFolder, text: Annotated[str, Query(min_length=1, max_length=300)]) -> dict[str, Any]:
    """What a fitter's sentence means: done, asked back, its likely causes, or a word not known. Nothing is changed."""
    made = from_record(to_record(desk.made(folder).block))
    return asdict(answered(states(made, read_fittings(folder.path))[-1].block, text))


@router.post("")
def correct(desk: TheDesk, folder: TheFolder, wanted: Fitted, seen: Seen = None) -> dict[str, Any]:
    """One more fitting, kept in ``toile.toml``."""
    with folder.changing(seen):
        kinds = [piece.kind for piece in desk.made(folder).block.pieces]
        corrections = [_correction(one, kinds) for one in wanted.changes]
        if not corrections and not wanted.words:
            raise WordsError("The fitting holds no change.", "Say where, which way and how much.")
        _as_made(desk, folder)
        today = datetime.date.today()
        write_history(
            with_one_more(folder.path, [*corrections, *wanted.words], date=today, note=wanted.note), date=today
        )
        return {**_toile(desk, folder), "revision": desk.changed(folder)}


def _correction(one: Change, kinds: list[Any]) -> Correction:
    strange = [kind for kind in one.on or [] if kind not in kinds]
    if strange:
        raise WordsError(f"The block has no {strange[0]}.", f"Its pieces are {', '.join(kinds)}.")
    return Correction(
        place=one.place, amount_mm=one.amount_mm, on=tuple(kind for kind in kinds if kind in (one.on or []))
    )


@router.post("/undo")
def undo(desk: TheDesk, folder: TheFolder, seen: Seen = None) -> dict[str, Any]:
    """Take the last fitting back; it is kept, marked as undone."""
    with folder.changing(seen):
        _as_made(desk, folder)
        write_history(without_last(folder.path), date=datetime.date.today())
        return {**_toile(desk, folder), "revision": desk.changed(folder)}


@router.post("/redo")
def redo(desk: TheDesk, folder: TheFolder, seen: Seen = None) -> dict[str, Any]:
    """Let the fitting that was taken back hold again."""
    with folder.changing(seen):
        _as_made(desk, folder)
        write_history(with_undone_again(folder.path), date=datetime.date.today())
        return {**_toile(desk, folder), "revision": desk.changed(folder)}


def _as_made(desk: Desk, folder: Folder) -> None:
    """Write the block down as it is made now: fittings stand on what is written."""
    record = json.dumps(to_record(desk.made(folder).block), ensure_ascii=False)
    write_files(folder.path / "out", {"block.json": record})
