"""Step 2: the mat's lattice over each picture, and crossings put right by hand."""

from collections.abc import Sequence
from typing import Annotated, Any

import cv2
import numpy as np
from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from calibration.ground.errors import Note
from calibration.overlay import accuracy_sentence
from calibration.view.view import MatView
from convert.job.file import PictureTable
from convert.job.write import changed_job, set_job, set_piece, tell
from convert.page.desk.desk import Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder, PieceEntry, digest_of
from convert.page.desk.looked import Looked
from convert.page.desk.state import notes_of
from convert.page.server import words
from convert.page.steps.jobs import check_grid
from convert.pipeline.name import PieceRead

router = APIRouter(prefix="/api/jobs/{job}/pieces/{piece}", tags=["mat"])
_SAMPLES = 24  # points of a lattice line as drawn: it bends with the lens
_CROSSINGS = 60
_FEWEST = 4  # crossings that a lattice can be told by
_FILLED = 12
_NEAR = 2.5  # pitches: what was found so near a crossing told may be as wrong as that was
_HERS = "crossings"  # in the page's own file
_KNOWN = ("pitch-confirmed",)

Pair = Annotated[list[float], Field(min_length=2, max_length=2)]


class Crossing(BaseModel):
    """A crossing of the lattice: where it lies in the upright picture, and its column and row."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)
    px: Pair
    at: Pair


class MatChange(BaseModel):
    """The grid told, or crossings on one picture (the first if none is named); null takes them back."""

    model_config = ConfigDict(extra="forbid")
    grid: str | None = Field(None, max_length=40)
    picture: str | None = Field(None, max_length=40)
    lattice: list[Crossing] | None = Field(None, max_length=400)


@router.get("/mat")
def mat(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """The lattice found in each picture of a piece, in that picture's pixels; no lines for a scan."""
    job, entry, own = desk.piece(folder, piece)
    looked = desk.reader.looked(own, folder.path)
    read = desk.reader.reads(job)[entry.number - 1]
    outline = read.tracing.outline if isinstance(read, PieceRead) else None
    views = looked.read.views or (None,) * len(looked.photo_sizes_px)
    file = folder.file()
    pitch = entry.table.grid if entry.table.grid is not None else file.grid
    pictures = []
    for number, (name, view) in enumerate(zip(entry.names, views, strict=True)):
        shown: dict[str, Any] = {"picture": f"p{digest_of(name)}", "told": _told(folder, entry, number)}
        if view is None:
            shown |= {"width": looked.photo_sizes_px[number][0], "height": looked.photo_sizes_px[number][1]}
            shown |= {"sentence": "", "notes": notes_of(looked.read.notes)}
        else:
            shown |= _view(view, outline if len(views) == 1 else None)
        pictures.append(shown)
    return {
        "revision": folder.revision(),
        "pitch_told": None if pitch is None else str(pitch),
        "pictures": pictures,
        "notes": notes_of(note for note in looked.read.notes if note.code != "pitch-doubtful"),
        "pitch_doubt": _pitch_doubt([*looked.read.notes, *(read.piece.notes if isinstance(read, PieceRead) else ())]),
    }


def _pitch_doubt(notes: Sequence[Note]) -> dict[str, Any] | None:
    """The doubt that changes every length: what speaks against the pitch told, and which it may be instead."""
    texts = list(dict.fromkeys(note.text for note in notes if note.code == "pitch-doubtful"))
    if not texts:
        return None
    likely = next((grid for text in texts for said, grid in words.LIKELY_GRIDS.items() if said in text), None)
    return {"sentences": [words.plainly(text) for text in texts], "likely": likely}


def _view(view: MatView, outline: Any) -> dict[str, Any]:
    known = next((note.text for note in view.notes if note.code in _KNOWN), None)
    return {
        "width": view.size_px[0],
        "height": view.size_px[1],
        "pitch_mm": view.lattice.pitch_mm,
        "lines": lattice_lines(view),
        "crossings": crossings(view, _CROSSINGS),
        "trusted": _rounded(cv2.convexHull(view.seen_px.astype(np.float32))[:, 0]),
        "residual_mm": round(float(view.rms_mm), 4),
        "sentence": accuracy_sentence(view, outline),
        "notes": notes_of(note for note in view.notes if note.code != "pitch-doubtful"),
        "known_object": None if known is None else {"sentence": known},
    }


def lattice_lines(view: MatView) -> list[list[list[float]]]:
    """Each line of the lattice that was seen, bent as the lens bends it, in photo pixels."""
    low, high = view.seen_mm.min(0), view.seen_mm.max(0)
    lines = []
    for axis, pitch in enumerate(view.lattice.pitches_mm):
        along = np.linspace(low[1 - axis], high[1 - axis], _SAMPLES)
        for k in range(int(np.ceil(low[axis] / pitch - 1e-6)), int(np.floor(high[axis] / pitch + 1e-6)) + 1):
            mm = np.empty((_SAMPLES, 2))
            mm[:, axis], mm[:, 1 - axis] = k * pitch, along
            lines.append(_rounded(view.to_px(mm)))
    return lines


def crossings(view: MatView, count: int) -> list[dict[str, Any]]:
    """About so many crossings spread over what was seen, well inside the picture."""
    pitch = np.array(view.lattice.pitches_mm)
    low, high = np.ceil(view.seen_mm.min(0) / pitch - 1e-6), np.floor(view.seen_mm.max(0) / pitch + 1e-6)
    step = max(1, round(float(np.sqrt(np.prod(high - low + 1) / count))))
    columns, rows = (np.arange(low[i] + (high[i] - low[i]) % step // 2, high[i] + 1, step) for i in (0, 1))
    at = np.stack(np.meshgrid(columns, rows), axis=-1).reshape(-1, 2)
    px = view.to_px(at * pitch)
    inside = ((px > 0.02 * np.array(view.size_px)) & (px < 0.98 * np.array(view.size_px))).all(1)
    return [
        {"px": [round(float(x), 1), round(float(y), 1)], "at": [int(i), int(j)]}
        for (x, y), (i, j) in zip(px[inside], at[inside], strict=True)
    ]


def _rounded(points: Any) -> list[list[float]]:
    pairs: list[list[float]] = np.round(np.asarray(points, float), 1).tolist()
    return pairs


def _told(folder: Folder, entry: PieceEntry, number: int) -> list[dict[str, Any]]:
    """The crossings that she put right herself."""
    mine = _mine(folder, entry.id, f"p{digest_of(entry.names[number])}")
    rows = _rows(entry, number)
    return [{"px": one[:2], "at": one[2:]} for one in rows if mine is None or one[2:] in mine]


def _rows(entry: PieceEntry, number: int) -> list[list[float]]:
    """All crossings written for a picture: x, y, column, row."""
    table: PictureTable | None = entry.table.on.get(entry.names[number]) or (entry.table if number == 0 else None)
    return [[*one[:2], int(one[2]), int(one[3])] for one in (table.lattice if table else []) if len(one) == 4]


def _mine(folder: Folder, piece: str, picture: str) -> list[list[float]] | None:
    """Which of the crossings written are hers; the others only hold the rest in place. None: nobody knows."""
    kept = folder.place().get(_HERS) or {}
    found: list[list[float]] | None = kept.get(f"{piece}/{picture}")
    return found


def _keep_mine(folder: Folder, piece: str, picture: str, lattice: list[Crossing]) -> None:
    kept = {**(folder.place().get(_HERS) or {}), f"{piece}/{picture}": [one.at for one in lattice] or None}
    folder.keep_place({_HERS: {key: at for key, at in kept.items() if at} or None})


@router.put("/mat")
def tell_mat(desk: TheDesk, folder: TheFolder, piece: str, wanted: MatChange, seen: Seen = None) -> dict[str, Any]:
    """Tell the grid's pitch for this piece, or crossings; the piece wants to be read again after it."""
    given = wanted.model_dump(exclude_unset=True)
    with folder.changing(seen):
        _, entry, own = desk.piece(folder, piece)
        ids = [f"p{digest_of(name)}" for name in entry.names]
        number = ids.index(wanted.picture) if wanted.picture in ids else 0
        lattice = None
        if wanted.lattice:
            looked = desk.reader.looked(own, folder.path)
            lattice = [
                [*one.px, *one.at] for one in _enough(wanted.lattice, looked, number, _held(folder, entry, number))
            ]
        if given.get("grid") is not None:
            check_grid(given["grid"], folder)
        with changed_job(folder.path) as document:
            if "grid" in given and len(folder.pieces()) == 1:
                set_job(document, {"grid": given["grid"]})
            elif "grid" in given:
                set_piece(document, entry.number, {"grid": given["grid"]})
            if "lattice" in given:
                tell(document, entry.number, entry.names[number], {"lattice": lattice})
                _keep_mine(folder, entry.id, ids[number], wanted.lattice or [])
        return {"revision": desk.changed(folder)}


def _held(folder: Folder, entry: PieceEntry, number: int) -> list[Crossing]:
    """The crossings that hold the rest in place since she put the first one right."""
    mine = _mine(folder, entry.id, f"p{digest_of(entry.names[number])}")
    if mine is None:
        return []
    return [Crossing(px=one[:2], at=one[2:]) for one in _rows(entry, number) if one[2:] not in mine]


def _enough(told: list[Crossing], looked: Looked, number: int, held: list[Crossing]) -> list[Crossing]:
    """What was told; where that is too little for a lattice, with crossings as they were found, far from those told."""
    if len(told) >= _FEWEST or not looked.read.views:
        return told
    found = [Crossing(px=one["px"], at=one["at"]) for one in crossings(looked.read.views[number], _FILLED)]
    mine = np.array([one.at for one in told])
    rest = [one for one in held or found if np.hypot(*(mine - one.at).T).min() > _NEAR]
    return [*told, *rest]
