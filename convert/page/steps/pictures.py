"""Step 1: pictures brought in, looked at at the door, shown; and which piece each one is."""

import os
import tempfile
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import unquote

import cv2
import numpy as np
from fastapi import APIRouter, Header, Query, Request
from pydantic import BaseModel, ConfigDict, Field
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from calibration.ground.errors import InputError, OutputError
from calibration.picture.photo import read_photo
from convert.job.job import PIECE_KINDS
from convert.job.write import add_piece, changed_job, remove_piece, set_piece
from convert.page.desk.desk import Desk, Seen, TheDesk, TheFolder
from convert.page.desk.jobs import PICTURES, Folder, digest_of
from convert.page.server.problems import PageError, missing
from convert.paper.draw.svg import slug

router = APIRouter(prefix="/api/jobs/{job}", tags=["pictures"])
_STEM = 40  # characters kept of a file's own name
_RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
_ENDINGS = (
    (b"\xff\xd8", ".jpg"),
    (b"\x89PNG", ".png"),
    (b"%PDF", ".pdf"),
    (b"II*\0", ".tif"),
    (b"MM\0*", ".tif"),
    (b"RIFF", ".webp"),
)
_WIDEST = 6000
_QUALITY = 85


class NewPiece(BaseModel):
    """A piece: its kind, and the pictures that show it."""

    model_config = ConfigDict(extra="forbid")
    kind: str = Field(max_length=40)
    pictures: list[str] = Field(min_length=1, max_length=40)
    scan: bool = False
    at: str | int | None = None
    size: str | int | None = None
    face_down: bool = False


class PieceChange(BaseModel):
    """What may change about a piece; null takes an entry out."""

    model_config = ConfigDict(extra="forbid")
    kind: str | None = Field(None, max_length=40)
    pictures: list[str] | None = Field(None, min_length=1, max_length=40)
    scan: bool | None = None
    dpi: float | None = Field(None, ge=50, le=4800)
    rotate: int | None = Field(None, ge=0, le=270, multiple_of=90)
    grid: str | None = Field(None, max_length=40)
    at: str | int | None = None
    size: str | int | None = None
    face_down: bool | None = None


@router.post(
    "/pictures",
    status_code=201,
    openapi_extra={
        "requestBody": {
            "required": True,
            "content": {"image/*": {"schema": {"type": "string", "format": "binary"}}},
        }
    },
)
async def bring(
    desk: TheDesk,
    folder: TheFolder,
    request: Request,
    name: Annotated[str, Header(alias="X-File-Name", max_length=2000)] = "picture",
) -> dict[str, Any]:
    """Bring in a picture: the body is the file. What it is is seen from its content, never from its name."""
    shown = shown_name(name)
    (folder.path / PICTURES).mkdir(exist_ok=True)
    handle, part = tempfile.mkstemp(prefix=".coming-", dir=folder.path / PICTURES)
    try:
        with os.fdopen(handle, "wb") as stream:
            async for chunk in request.stream():
                await run_in_threadpool(stream.write, chunk)
        width, height = await run_in_threadpool(_checked, desk, Path(part), shown)
        target = await run_in_threadpool(_settled, folder, Path(part), shown)
    except OSError as err:
        raise OutputError(
            f"The picture could not be kept: {err.strerror or err}.", "Make room on the disk and bring it in again."
        ) from err
    finally:
        Path(part).unlink(missing_ok=True)
    own = f"{PICTURES}/{target.name}"
    return {
        "picture": f"p{digest_of(own)}",
        "name": target.name,
        "width": width,
        "height": height,
        "revision": desk.changed(folder),
    }


def shown_name(name: str) -> str:
    """What to call a file that somebody brings: the last part of its name, printable, not long."""
    last = unquote(name, errors="replace").replace("\\", "/").rpartition("/")[2]
    return "".join(char if char.isprintable() else " " for char in last).strip()[:80] or "The picture"


def _checked(desk: Desk, part: Path, shown: str) -> tuple[int, int]:
    """The size of a picture that can be read to its end; looked at by a worker, so that nothing breaks here."""
    size: tuple[int, int] = desk.workers.submit("check_picture", part, shown).result.result()
    return size


def _settled(folder: Folder, part: Path, shown: str) -> Path:
    """The file under a name of its own: words from its name, and the ending that its content has."""
    with part.open("rb") as stream:
        head = stream.read(16)
    ending = next(
        (one for start, one in _ENDINGS if head.startswith(start)), ".heic" if head[4:8] == b"ftyp" else ".jpg"
    )
    stem = slug(Path(shown).stem)[:_STEM].strip("-")
    stem = f"picture-{stem}" if stem in _RESERVED or not stem or stem == "part" else stem
    os.chmod(part, 0o644)
    with folder.lock:
        for number in range(1, 10_000):
            target = part.parent / f"{stem}{'' if number == 1 else f'-{number}'}{ending}"
            try:
                os.link(part, target)  # fails if there is one already, where a rename would replace it
            except FileExistsError:
                continue
            except OSError:
                if target.exists():
                    continue
                os.replace(part, target)
            return target
    raise OutputError(f"There are too many pictures called {stem}.", "Rename the file and bring it in again.")


@router.delete("/pictures/{picture}")
def take_out(desk: TheDesk, folder: TheFolder, picture: str, seen: Seen = None) -> dict[str, Any]:
    """Take a picture out; only one that was brought in here, and that no piece needs, leaves the disk."""
    with folder.changing(seen):
        found = folder.picture(picture)
        if any(found.name in piece.names for piece in folder.pieces()):
            raise PageError(
                409, "in-use", "A piece is read from this picture.", "Take the picture from that piece first."
            )
        found.path.unlink(missing_ok=True)
        return {"revision": desk.changed(folder)}


@router.get("/pictures/{picture}/image", response_class=Response)
def image(
    desk: TheDesk,
    folder: TheFolder,
    request: Request,
    picture: str,
    width: Annotated[int, Query(ge=16, le=_WIDEST)] = 1200,
    rotate: Annotated[int, Query(ge=0, le=270, multiple_of=90)] = 0,
) -> Response:
    """The picture upright as a JPEG, at most so wide."""
    found = folder.picture(picture)
    tag = f'"{desk.reader.digest(found.path)}-{width}-{rotate}"'
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=_kept(tag))
    data: bytes | None = desk.previews.get(tag)
    if data is None:
        data = desk.previews.put(tag, jpeg(read_photo(found.path, rotate_deg=rotate).pixels, width))
    return Response(data, media_type="image/jpeg", headers=_kept(tag))


def _kept(tag: str) -> dict[str, str]:
    return {"ETag": tag, "Cache-Control": "private, no-cache"}


def jpeg(pixels: Any, width: int) -> bytes:
    """Pixels (height, width, 3) as a JPEG, made smaller if they are wider."""
    high, wide = pixels.shape[:2]
    if wide > width:
        pixels = cv2.resize(pixels, (width, max(1, round(high * width / wide))), interpolation=cv2.INTER_AREA)
    done, data = cv2.imencode(
        ".jpg", cv2.cvtColor(np.asarray(pixels), cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, _QUALITY]
    )
    if not done:
        raise ValueError("the picture could not be coded")
    return data.tobytes()


# ---------------------------------------------------------------- pieces


@router.post("/pieces", status_code=201)
def name_piece(desk: TheDesk, folder: TheFolder, wanted: NewPiece, seen: Seen = None) -> dict[str, Any]:
    """Say which piece some pictures show."""
    with folder.changing(seen):
        kind = _kind(folder, wanted.kind)
        values: dict[str, Any] = {"piece": kind, "pictures": _names(folder, wanted.pictures)}
        values |= {"scan": True} if wanted.scan else {}
        values |= {"face_down": True} if wanted.face_down else {}
        values |= {key: getattr(wanted, key) for key in ("at", "size") if getattr(wanted, key) is not None}
        with changed_job(folder.path) as document:
            number = add_piece(document, values)
        return {"id": folder.pieces()[number - 1].id, "revision": desk.changed(folder)}


@router.patch("/pieces/{piece}")
def change_piece(
    desk: TheDesk, folder: TheFolder, piece: str, wanted: PieceChange, seen: Seen = None
) -> dict[str, Any]:
    """Change what a piece is, or which pictures show it."""
    given = wanted.model_dump(exclude_unset=True)
    with folder.changing(seen):
        entry = folder.piece(piece)
        if "kind" in given:
            kind = given.pop("kind")
            if kind is not None and kind != entry.kind:
                given["piece"] = _kind(folder, kind)
        if given.get("pictures") is not None:
            given["pictures"] = _names(folder, given["pictures"])
        else:
            given.pop("pictures", None)
        for flag in ("scan", "face_down", "rotate"):
            if flag in given:
                given[flag] = given[flag] or None
        with changed_job(folder.path) as document:
            set_piece(document, entry.number, given)
        return {"id": folder.pieces()[entry.number - 1].id, "revision": desk.changed(folder)}


@router.delete("/pieces/{piece}")
def unname_piece(desk: TheDesk, folder: TheFolder, piece: str, seen: Seen = None) -> dict[str, Any]:
    """Take a piece out of the job; its pictures stay."""
    with folder.changing(seen):
        entry = folder.piece(piece)
        _keep_pictures(folder, entry.names)
        with changed_job(folder.path) as document:
            remove_piece(document, entry.number)
        return {"revision": desk.changed(folder)}


def _keep_pictures(folder: Folder, names: list[str]) -> None:
    """Pictures that lie elsewhere in the folder are put among those brought in, or they would be lost to sight."""
    own = folder.path / PICTURES
    for name in names:
        path = folder.path / name
        still = sum(name in piece.names for piece in folder.pieces()) > 1
        if still or path.parent == own or not path.is_file():
            continue
        own.mkdir(exist_ok=True)
        target = own / f"{slug(Path(name).with_suffix('').as_posix())[:_STEM]}{path.suffix.lower()}"
        if not target.exists():
            try:
                os.link(path, target)
            except OSError as err:
                raise OutputError(f"{path.name} could not be kept.", "Look whether the disk is full.") from err


@router.post("/pieces/{piece}/read", status_code=202)
def read(desk: TheDesk, folder: TheFolder, piece: str) -> dict[str, Any]:
    """Begin to read a piece's pictures; ``work`` is null if they are read already."""
    _, entry, own = desk.piece(folder, piece)
    return {"work": desk.reader.begin(folder, entry, own)}


def _kind(folder: Folder, kind: str) -> str:
    plain = " ".join(kind.lower().split())
    if plain not in PIECE_KINDS:
        raise InputError(f"“{kind[:40]}” is no piece that is known here.", f"Choose one of: {', '.join(PIECE_KINDS)}.")
    if any(piece.kind == plain for piece in folder.pieces()):
        raise InputError(f"There is a {plain} already.", "Give that one this picture too, or take it out first.")
    return plain


def _names(folder: Folder, ids: list[str]) -> list[str]:
    by_id = {picture.id: picture.name for picture in folder.pictures()}
    if any(one not in by_id for one in ids):
        raise missing("picture")
    return [by_id[one] for one in dict.fromkeys(ids)]
