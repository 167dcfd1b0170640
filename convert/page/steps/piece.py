"""Steps 3 and 4: the piece over its flat picture, everything told of it, its seam allowances."""

from dataclasses import replace
from typing import Annotated, Any

import cv2
import numpy as np
from fastapi import APIRouter, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import Response

from calibration.ground.points import Points
from calibration.sheet.on_sheet import PictureOnSheet, pictures_on
from convert.job.file import PictureTable
from convert.job.job import PieceJob
from convert.job.on_picture import tell_on_sheet
from convert.job.tellable import TELLABLE
from convert.job.told import edge_name, edges_of, seam_told
from convert.job.write import changed_job, set_allowances, set_piece, tell
from convert.page.desk.desk import Desk, Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder, PieceEntry
from convert.page.desk.looked import Looked, Sizes
from convert.page.desk.state import notes_of
from convert.page.steps.pictures import jpeg
from convert.piece.names.told import HoleMeaning
from convert.piece.piece import Piece
from convert.piece.record import to_record
from convert.pipeline.look import choose
from convert.pipeline.name import PieceRead, tracing_of
from convert.pipeline.readings import measured, readings
from convert.pipeline.titles import printed_title
from convert.trace.tracing import Tracing

router = APIRouter(prefix="/api/jobs/{job}/pieces/{piece}", tags=["piece"])
_WIDEST = 8000
_SNAP_MM = 8.0
_MANY = 20_000

Pair = Annotated[list[Annotated[float, Field(ge=-1e5, le=1e5)]], Field(min_length=2, max_length=2)]
Line = Annotated[list[Pair], Field(max_length=_MANY)]
_ON_PAPER = tuple(key for key, one in TELLABLE.items() if one.frame == "sheet")


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class Part(_Model):
    """A stretch of the outline in place of what was read between its first and last point."""

    points: Annotated[list[Pair], Field(min_length=2, max_length=_MANY)]


class DartTold(_Model):
    """A dart: a point on each leg, and its one or two points."""

    legs: Annotated[list[Pair], Field(min_length=2, max_length=2)]
    apexes: Annotated[list[Pair], Field(min_length=1, max_length=2)]


class EdgeTold(_Model):
    """An edge's name, by a point on it or by its two ends."""

    name: str = Field(max_length=40)
    at: Pair | None = None
    ends: Annotated[list[Pair], Field(min_length=2, max_length=2)] | None = None


class HolesTold(_Model):
    """What holes mean: those of the group about one place, or those at several."""

    at: Annotated[list[Pair], Field(min_length=1, max_length=_MANY)]
    means: HoleMeaning


class Told(_Model):
    """What is told of a piece, in the sheet's mm; what is not named stays, null takes it back."""

    outline: Annotated[list[Pair], Field(min_length=3, max_length=_MANY)] | None = None
    outline_parts: list[Part] | None = Field(None, max_length=500)
    corners: Line | None = None
    notches: Line | None = None
    add_notches: Line | None = None
    holes: Line | None = None
    add_holes: Line | None = None
    hole_meanings: list[HolesTold] | None = Field(None, max_length=100)
    darts: list[DartTold] | None = Field(None, max_length=40)
    add_darts: list[DartTold] | None = Field(None, max_length=40)
    remove: Line | None = None
    edges: list[EdgeTold] | None = Field(None, max_length=40)
    grain: Annotated[list[Pair], Field(min_length=2, max_length=2)] | None = None
    centre_line: Annotated[list[Pair], Field(min_length=2, max_length=2)] | None = None
    neck_line: Annotated[list[Pair], Field(min_length=2, max_length=_MANY)] | None = None
    tucks: Annotated[list[Annotated[list[Pair], Field(min_length=2, max_length=2)]], Field(max_length=40)] | None = None
    fold: str | None = Field(None, max_length=40)
    face_down: bool | None = None
    allowances: dict[str, Annotated[str, Field(max_length=40)] | None] | None = None


class Points_(_Model):
    """Points to be laid on the paper's edge."""

    points: Annotated[list[Pair], Field(min_length=1, max_length=500)]


@router.get("/sheet")
def sheet(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """The flat picture's frame: pixel (0, 0) lies at ``origin_mm``, y up."""
    _, _, own = desk.piece(folder, piece)
    return _frame(_any_look(desk, folder, own))


def _any_look(desk: Desk, folder: Folder, own: PieceJob) -> Looked:
    """The flat picture, whichever of its sizes is meant."""
    found = desk.reader.choices(own, folder.path)
    return found.looks[0] if isinstance(found, Sizes) else desk.reader.looked(own, folder.path)


def _frame(looked: Looked) -> dict[str, Any]:
    flat = looked.read.sheet
    return {
        "width": looked.size_px[0],
        "height": looked.size_px[1],
        "mm_per_px": flat.mm_per_px,
        "origin_mm": flat.origin_mm.tolist(),
    }


@router.get("/sheet.jpg", response_class=Response)
def sheet_picture(
    desk: TheDesk,
    folder: TheFolder,
    request: Request,
    piece: str,
    width: Annotated[int, Query(ge=16, le=_WIDEST)] = _WIDEST,
) -> Response:
    """The flat picture as a JPEG, at most so wide."""
    _, _, own = desk.piece(folder, piece)
    looked = _any_look(desk, folder, own)
    tag = f'"sheet-{hash(looked.jpeg) & 0xFFFFFFFFFFFFFFFF:x}-{width}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=headers)
    data: bytes | None = looked.jpeg if width >= looked.size_px[0] else desk.previews.get(tag)
    if data is None:
        bgr = cv2.imdecode(np.frombuffer(looked.jpeg, np.uint8), cv2.IMREAD_COLOR)
        data = desk.previews.put(tag, jpeg(np.asarray(bgr)[..., ::-1], width))
    return Response(data, media_type="image/jpeg", headers=headers)


@router.get("/choices")
def choices(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """What can be chosen by pointing: one of several pieces in the picture, or one of several nested sizes."""
    _, entry, own = desk.piece(folder, piece)
    found = desk.reader.choices(own, folder.path)
    if isinstance(found, Sizes):
        looked, what, now = found.looks[0], "size", entry.table.size
        rings = [choose(look.tracings, own.at if len(look.tracings) > 1 else None, "").outline for look in found.looks]
    elif found is not None and len(found.tracings) > 1:
        looked, what, now = found, "at", entry.table.at
        middles = [float(one.outline[:, 0].min() + one.outline[:, 0].max()) for one in found.tracings]
        rings = [found.tracings[k].outline for k in np.argsort(middles)]
        picked = None if now is None else choose(found.tracings, own.at, "").outline
        now = next((n for n, ring in enumerate(rings, 1) if ring is picked), None)
    else:
        return {"what": None, "now": None, "outlines": [], "sheet": None}
    outlines = [np.round(ring[::3], 1).tolist() for ring in rings]
    return {"what": what, "now": now, "outlines": outlines, "sheet": _frame(looked)}


@router.get("/piece")
def piece_view(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """The piece as it was read, where it lies on the mat."""
    return _shown(folder, *desk.piece_read(folder, piece)[1:])


@router.post("/told/try")
def try_piece(desk: TheDesk, folder: TheFolder, piece: str, wanted: Told) -> dict[str, Any]:
    """The piece as it would be; nothing is kept."""
    with folder.lock:
        path = folder.path / "job.toml"
        before = path.read_bytes()
        try:
            _write(desk, folder, piece, folder.piece(piece), wanted.model_dump(exclude_unset=True))
            return _shown(folder, *desk.piece_read(folder, piece)[1:])
        finally:
            folder.put_back(before)


@router.put("/told")
def tell_piece(desk: TheDesk, folder: TheFolder, piece: str, wanted: Told, seen: Seen = None) -> dict[str, Any]:
    """Tell something of a piece; the piece as it is after it. What makes it unreadable is refused and not kept."""
    given = wanted.model_dump(exclude_unset=True)
    with folder.changing(seen):
        entry = folder.piece(piece)
        path = folder.path / "job.toml"
        before = path.read_bytes()
        _write(desk, folder, piece, entry, given)
        try:
            shown = _shown(folder, *desk.piece_read(folder, piece)[1:])
        except Exception:
            if desk.piece_was_read(folder, piece, before):
                folder.put_back(before)
            raise
        return {**shown, "revision": desk.changed(folder)}


@router.get("/title")
def title(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """What the paper's own print calls the piece, and the kind that it means; both null where nothing could be read."""
    _, _, own = desk.piece(folder, piece)
    look = _any_look(desk, folder, own).look(pixels=True)
    found = printed_title(tracing_of(own, look), look.read)
    return {"text": found and found.text, "kind": found and found.kind}


@router.delete("/told")
def take_back(desk: TheDesk, folder: TheFolder, piece: str, seen: Seen = None) -> dict[str, Any]:
    """Back to what was read: outline, marks, names and fold; works whether or not the piece can be read."""
    with folder.changing(seen):
        entry = folder.piece(piece)
        with changed_job(folder.path) as document:
            set_piece(document, entry.number, {"fold": None})
            for name in entry.names:
                tell(
                    document,
                    entry.number,
                    name,
                    dict.fromkeys(_ON_PAPER),
                )
        return {"revision": desk.changed(folder)}


def _write(desk: Desk, folder: Folder, piece: str, entry: PieceEntry, given: dict[str, Any]) -> None:
    allowances, fold = given.pop("allowances", None), given.pop("fold", "")
    down = given.pop("face_down", "")
    kind = folder.job().pieces[entry.number - 1].kind
    widths: dict[str, str | None] = dict(allowances or {})
    seam_told(
        {name: width for name, width in widths.items() if width is not None},
        no_allowance=False,
        unit=folder.card().unit,
        where=kind,
        kind=kind,
    )
    on_sheet = _in_place(given, entry, kind)
    pictures = pictures_on(desk.reader.looked(desk.piece(folder, piece)[2], folder.path).read.sheet) if on_sheet else ()
    if fold not in ("", None, "none"):
        edge_name(fold, kind=kind, where=kind)
    with changed_job(folder.path) as document:
        if widths:
            set_allowances(document, entry.number, widths)
        if fold != "":
            set_piece(document, entry.number, {"fold": fold})
        if down != "":
            set_piece(document, entry.number, {"face_down": down})
        if on_sheet:
            tell_on_sheet(document, entry.number, on_sheet, pictures)


def _in_place(given: dict[str, Any], entry: PieceEntry, kind: Any) -> dict[str, Any]:
    """What is told in mm, as :func:`tell_on_sheet` takes it."""
    told = dict(given)
    if told.get("outline_parts") is not None:
        told["outline_parts"] = [part["points"] for part in told["outline_parts"]]
    if "edges" in told:
        before = {name: None for table in _tables(entry) for name in table.edges}
        edges = {
            edge_name(one["name"], kind=kind, where=kind): one["ends"] if one.get("ends") else [one["at"]]
            for one in told["edges"] or []
            if one.get("ends") or one.get("at")
        }
        told["edges"] = {**before, **edges}
    return told


def _tables(entry: PieceEntry) -> list[PictureTable]:
    return [entry.table, *entry.table.on.values()]


@router.post("/snap")
def snap(desk: TheDesk, folder: TheFolder, piece: str, wanted: Points_) -> dict[str, Any]:
    """The nearest points of the paper's edge as it was seen; a point far from it stays where it is."""
    job, entry, own = desk.piece(folder, piece)
    looked = desk.reader.looked(own, folder.path)
    read = desk.reader.reads(job)[entry.number - 1]
    rings = [tracing.outline for tracing in looked.tracings]
    rings += [read.tracing.outline] if isinstance(read, PieceRead) and not rings else []
    return {"points": [_snapped(np.array(point), rings) for point in wanted.points]}


def _snapped(point: Points, rings: list[Points]) -> list[float]:
    if not rings:
        return [float(one) for one in point]
    ring = np.vstack(rings)
    k = int(np.argmin(np.hypot(*(ring - point).T)))
    near = ring[k] if np.hypot(*(ring[k] - point)) <= _SNAP_MM else point
    return [round(float(near[0]), 3), round(float(near[1]), 3)]


# ---------------------------------------------------------------- as JSON


def _shown(folder: Folder, entry: PieceEntry, read: PieceRead) -> dict[str, Any]:
    record = to_record(on_mat(read.piece), measurements=measured(read.piece))
    place = read.piece.placement
    found = readings(read)
    record["marks"] = [
        {"id": f"m{i}", "confidence": 1.0, "evidence": "measured", **mark} for i, mark in enumerate(record["marks"])
    ]
    record["darts"] = [{"id": f"d{i}", **dart} for i, dart in enumerate(record["darts"])]
    record |= {
        "kind": read.piece.kind,
        "revision": folder.revision(),
        "outline": np.round(read.tracing.outline[::2], 2).tolist(),
        "corners": np.round(read.tracing.outline[read.tracing.corners], 2).tolist(),
        "inferred": _stretches(read.tracing),
        "fold": entry.table.fold if isinstance(entry.table.fold, str) else None,
        "face_down": entry.table.face_down,
        "centre_line": _told(entry, read).get("centre_line"),
        "placement": None if place is None else {"turn_deg": place.turn_deg, "mirrored": place.mirrored},
        "names": list(edges_of(read.piece.kind)),
        "told": _told(entry, read),
        "notes": notes_of((*read.piece.notes, *read.read.notes)),
        "readings": [
            {
                "kind": one.kind,
                "name": one.name,
                "how_sure": one.how_sure,
                "confidence": round(one.confidence, 3),
                "evidence": one.evidence,
                "at": np.round(one.points[: min(len(one.points), 4)], 2).tolist(),
                "picture": one.picture,
                "box_px": list(one.box_px),
            }
            for one in found
        ],
    }
    return record


def _stretches(tracing: Tracing) -> list[list[list[float]]]:
    """Where the outline runs on unseen, as lines."""
    hidden = np.flatnonzero(tracing.inferred)
    if not len(hidden):
        return []
    runs = np.split(hidden, np.flatnonzero(np.diff(hidden) > 1) + 1)
    return [np.round(tracing.outline[run[:: max(1, len(run) // 100)]], 2).tolist() for run in runs]


def on_mat(piece: Piece) -> Piece:
    """The piece with every point where it lies on the mat."""
    place = piece.placement
    if place is None:
        return piece

    def there(points: Points) -> Points:
        return place.to_mat(points)

    def one(point: Points) -> Points:
        return np.asarray(there(point[None])[0])

    return replace(
        piece,
        edges=tuple(
            replace(edge, points=there(edge.points), cut_points=there(edge.cut_points)) for edge in piece.edges
        ),
        darts=tuple(replace(dart, legs=there(dart.legs), apexes=there(dart.apexes)) for dart in piece.darts),
        marks=tuple(
            replace(mark, at=one(mark.at), seam_at=None if mark.seam_at is None else one(mark.seam_at))
            for mark in piece.marks
        ),
        grainline=None if piece.grainline is None else there(piece.grainline),
    )


def _told(entry: PieceEntry, read: PieceRead) -> dict[str, Any]:
    """What was told so far, as it may be told again: in the sheet's mm."""
    told: dict[str, Any] = {}
    for name, picture in zip(entry.names, pictures_on(read.read.sheet), strict=True):
        tables = [entry.table.on[name]] if name in entry.table.on else []
        tables += [entry.table] if name == entry.names[0] else []
        for table in tables:
            add_told(told, table, picture)
    if entry.table.fold is not None:
        told["fold"] = entry.table.fold
    if entry.table.face_down is not None:
        told["face_down"] = entry.table.face_down
    if entry.table.allowance is not None:
        allowance = entry.table.allowance
        told["allowances"] = allowance if isinstance(allowance, dict) else {"rest": allowance}
    return told


def add_told(told: dict[str, Any], table: PictureTable, picture: PictureOnSheet) -> None:
    """What is told on one picture, in the sheet's mm, put to what is told on the others."""

    def mm(points: Any) -> list[list[float]]:
        rows = np.asarray(points, float).reshape(-1, 2)
        pairs: list[list[float]] = np.round(picture.to_mm(rows), 2).tolist() if len(rows) else []
        return pairs

    for key in ("outline", "grain", "centre_line", "neck_line", "corners"):
        if getattr(table, key) is not None:
            told[key] = [*told.get(key, []), *mm(getattr(table, key))]
    for key in ("notches", "add_notches", "holes", "add_holes", "remove"):
        value = getattr(table, key)
        if value is not None:
            told[key] = [*told.get(key, []), *(mm(value) if value is not False else [])]
    for key in ("darts", "add_darts"):
        value = getattr(table, key)
        if value is not None and (value or key == "darts"):
            own = [{"legs": mm(one["legs"]), "apexes": mm(one["apexes"])} for one in value or []]
            told[key] = [*told.get(key, []), *own]
    if table.hole_meanings:
        own = [{"at": mm(one["at"]), "means": one["means"]} for one in table.hole_meanings]
        told["hole_meanings"] = [*told.get("hole_meanings", []), *own]
    if table.outline_parts:
        told["outline_parts"] = [*told.get("outline_parts", []), *({"points": mm(one)} for one in table.outline_parts)]
    if table.tucks:
        told["tucks"] = [*told.get("tucks", []), *(mm(one) for one in table.tucks)]
    for name, points in table.edges.items():
        places = mm(points)
        one = {"name": name, "at": places[0]} if len(places) == 1 else {"name": name, "ends": places}
        told["edges"] = [*told.get("edges", []), one]
