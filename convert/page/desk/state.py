"""A job's whole state as the page shows it: pictures, pieces, and how far each step is."""

from collections.abc import Iterable, Sequence
from typing import Any

from calibration.ground.errors import InputError, Note, OwnblockError
from convert.body.definitions import needed_for
from convert.body.slips import questions
from convert.job.file import PictureTable, PieceTable
from convert.job.job import Job, PieceJob
from convert.page.desk.desk import Desk
from convert.page.desk.jobs import Folder, PictureFile, PieceEntry
from convert.page.desk.printed import how_printed
from convert.page.desk.reading import PieceState
from convert.page.desk.removed import last_removed
from convert.page.server import words
from convert.page.server.problems import problem_of
from convert.piece.names.kinds import garments_of
from convert.pipeline.name import PieceRead

STEPS = ("pictures", "mat", "piece", "seams", "maker", "compare", "block", "paper", "toile")
_LEAST = ("bust", "waist", "hip", "upper arm")  # what a block can't do without, of what its pieces need
_ASKED = ("which-size", "which-piece")
_PLACE = ("step", "piece", "seen", "paper")  # of what the page keeps, what the browser's half keeps itself
_PITCH_DOUBTS = ("pitch-doubtful", "pitch-implausible")


def notes_of(notes: Iterable[Note]) -> list[dict[str, str]]:
    """Doubts and repairs, each once."""
    texts = {words.plainly(note.text): note.code for note in notes}
    return [{"code": code, "text": text} for text, code in texts.items()]


def said(error: OwnblockError | None) -> dict[str, str] | None:
    """A problem as part of a state."""
    return None if error is None else problem_of(error)[1].model_dump()


def job_state(desk: Desk, folder: Folder) -> dict[str, Any]:
    """Everything about a job but its geometry."""
    file = folder.file()
    entries = folder.pieces()
    trouble: OwnblockError | None = None
    job: Job | None = None
    if entries and (file.grid is not None or all(one.table.scan or one.table.grid is not None for one in entries)):
        try:
            job = folder.job()
        except InputError as err:
            trouble = err
    if job is not None:
        desk.reader.resume(folder, list(zip(entries, job.pieces, strict=True)))
    pictures = folder.pictures()
    pieces = _pieces(desk, job, entries, pictures)
    card = _card_state(folder, entries)
    place = {key: value for key, value in folder.place().items() if key in _PLACE}
    return {
        "id": folder.id,
        "revision": folder.revision(),
        "title": folder.title(),
        "unit": card["unit"],
        "grid": None if file.grid is None else str(file.grid),
        "maker": {"name": card["name"]},
        "pictures": [{"id": one.id, "name": one.name.rpartition("/")[2], "problem": _gone(one)} for one in pictures],
        "pieces": pieces,
        "problem": said(trouble),
        "place": place,
        "removed": last_removed(folder),
        "steps": _steps(folder, file.grid is not None, pieces, pictures, card, trouble),
    }


def _gone(picture: PictureFile) -> dict[str, str] | None:
    if picture.path.is_file():
        return None
    return {
        "problem": f"The picture {picture.name} is not there any more.",
        "remedy": "Put it back into the job's folder, or bring it in anew.",
        "code": "missing",
    }


def _pieces(
    desk: Desk, job: Job | None, entries: Sequence[PieceEntry], pictures: Sequence[PictureFile]
) -> list[dict[str, Any]]:
    by_name = {picture.name: picture for picture in pictures}
    reads = desk.reader.reads(job) if job is not None else (None,) * len(entries)
    out = []
    for i, (entry, read) in enumerate(zip(entries, reads, strict=True)):
        own: PieceJob | None = None if job is None else job.pieces[i]
        state = PieceState(state="waiting") if own is None or read is None else desk.reader.state(own, read)
        table = entry.table
        notes = (*read.piece.notes, *read.read.notes) if isinstance(read, PieceRead) else ()
        shown = [by_name[name] for name in entry.names if name in by_name]
        out.append(
            {
                "id": entry.id,
                "kind": entry.kind,
                "pictures": [
                    {"id": one.id, "name": one.name.rpartition("/")[2], "problem": _gone(one)} for one in shown
                ],
                "scan": table.scan,
                "grid": None if table.grid is None else str(table.grid),
                "rotate": table.rotate,
                "at": table.at,
                "size": table.size,
                "face_down": table.face_down,
                "crossings_told": any(one.lattice for one in (table, *table.on.values())),
                "told": _anything_told(table),
                "state": state.state,
                "problem": said(state.problem),
                "notes": notes_of(notes),
            }
        )
    return out


def _anything_told(table: PieceTable) -> bool:
    """Whether something is told of the piece on its pictures, beside crossings of the mat."""
    own = (table, *table.on.values())
    marks = (key for key in PictureTable.model_fields if key not in ("lattice", "crop"))
    return table.fold is not None or any(getattr(one, key) not in (None, {}, []) for key in marks for one in own)


def _card_state(folder: Folder, entries: Sequence[PieceEntry]) -> dict[str, Any]:
    """How far the card is, whatever is wrong with it."""
    try:
        card = folder.card()
    except InputError as err:
        return {"unit": "cm", "name": "", "problem": err, "open": 1, "told": 0}
    parts = garments_of(entry.kind for entry in entries)
    least = [name for name in needed_for(parts) if name in _LEAST and card.mm(name) is None]
    problem = None
    try:
        folder.card(limits=True)
    except InputError as err:
        problem = err
    asked = len(questions(card)) if card.measurements else 0
    return {
        "unit": card.unit,
        "name": card.name,
        "problem": problem,
        "open": len(least) + asked,
        "told": len(card.measurements),
    }


def _steps(
    folder: Folder,
    grid: bool,
    pieces: Sequence[dict[str, Any]],
    pictures: Sequence[PictureFile],
    card: dict[str, Any],
    trouble: OwnblockError | None,
) -> list[dict[str, Any]]:
    """Each step: waiting for another, needs you, working, done or stuck; a sentence only where something is wrong."""
    reading, stuck = _reading(pieces, trouble)
    maker = "done" if card["told"] > 0 and not card["open"] else "needs you"
    measured = card["told"] > 0 and card["problem"] is None
    begun = bool(pieces)
    found = {
        "pictures": "done" if begun and _all_named(pieces, pictures) else "needs you",
        "mat": _mat(reading, pieces, grid=grid) if begun else "waiting",
        "piece": reading,
        "seams": reading,
        "maker": maker if card["problem"] is None else "stuck",
        **_of_block(folder, ready=reading == "done" and measured),
    }
    trouble_of = dict.fromkeys(("mat", "piece", "seams"), stuck) | {"maker": said(card["problem"])}
    return [
        {
            "step": step,
            "state": found[step],
            "sentence": (trouble_of.get(step) or {}).get("problem", "") if found[step] == "stuck" else "",
        }
        for step in STEPS
    ]


def _reading(pieces: Sequence[dict[str, Any]], trouble: OwnblockError | None) -> tuple[str, dict[str, str] | None]:
    """How far the reading of all pieces is, and what it is stuck at; a question is no fault: she has only to point."""
    problems = [piece["problem"] for piece in pieces if piece["state"] == "stuck"]
    stuck = next((one for one in problems if one["code"] not in _ASKED), said(trouble))
    states = {piece["state"] for piece in pieces}
    if not pieces:
        return "waiting", stuck
    if stuck is not None:
        return "stuck", stuck
    if states == {"read"}:
        return "done", None
    return "working" if "working" in states and not problems else "needs you", None


def _all_named(pieces: Sequence[dict[str, Any]], pictures: Sequence[PictureFile]) -> bool:
    """Whether every picture is said to show a piece."""
    named = {one["id"] for piece in pieces for one in piece["pictures"]}
    return all(one.id in named for one in pictures)


def _mat(reading: str, pieces: Sequence[dict[str, Any]], *, grid: bool) -> str:
    """How far the mat is: its pitch has to be told, and looked at where something speaks against it."""
    doubted = any(note["code"] in _PITCH_DOUBTS for piece in pieces for note in piece["notes"])
    untold = not grid and any(piece["state"] != "read" for piece in pieces)
    return "needs you" if untold or (reading == "done" and doubted) else reading


def _of_block(folder: Folder, *, ready: bool) -> dict[str, str]:
    """The steps that need a block; ``ready`` if all pieces are read and she is measured."""
    printed = how_printed(folder)
    made = printed != "none" or (folder.path / "out" / "block.pdf").is_file()
    return {
        "compare": "done" if ready else "waiting",
        "block": "done" if ready else "waiting",
        "paper": "waiting" if not ready else "done" if printed == "fresh" else "needs you",
        "toile": "needs you" if made else "waiting",
    }
