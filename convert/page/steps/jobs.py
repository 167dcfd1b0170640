"""Jobs: listed, begun, looked at as a whole; and news of them."""

from typing import Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field
from starlette.responses import StreamingResponse

from calibration.ground.errors import InputError
from convert.body.typed import typed_length_mm
from convert.job.write import changed_card, changed_job, set_job
from convert.page.desk.desk import Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder
from convert.page.desk.state import job_state

router = APIRouter(prefix="/api/jobs", tags=["jobs"])
_GRID_MM = (1.0, 200.0)


class NewJob(BaseModel):
    """A job to begin: with a title, or a copy of the demo."""

    model_config = ConfigDict(extra="forbid")
    title: str = Field("", max_length=400)
    unit: Literal["cm", "in"] = "cm"
    demo: bool = False


class JobChange(BaseModel):
    """What may change about a job as a whole; null takes an entry out."""

    model_config = ConfigDict(extra="forbid")
    title: str | None = Field(None, max_length=400)
    grid: str | None = Field(None, max_length=40)
    unit: Literal["cm", "in"] | None = None


class PlaceChange(BaseModel):
    """Where the maker is, and what she called right. Nothing that a block depends on."""

    model_config = ConfigDict(extra="forbid")
    step: str | None = Field(None, max_length=40)
    piece: str | None = Field(None, max_length=60)
    seen: list[str] | None = Field(None, max_length=400)
    paper: dict[str, str | None] | None = None


@router.get("")
def jobs(desk: TheDesk) -> dict[str, Any]:
    """Every job, the one changed last first."""
    return {
        "jobs": [
            {
                "id": folder.id,
                "title": folder.title(),
                "changed": int((folder.path / "job.toml").stat().st_mtime),
                "steps_done": _steps_done(folder),
            }
            for folder in desk.shelf.folders()
        ],
        "demo": desk.shelf.has_demo,
    }


def _steps_done(folder: Folder) -> int:
    seen = folder.place().get("seen")
    return len({str(one).split("/")[0] for one in seen}) if isinstance(seen, list) else 0


@router.post("", status_code=201)
def begin(desk: TheDesk, wanted: NewJob) -> dict[str, Any]:
    """Begin a job."""
    folder = desk.shelf.begin_demo() if wanted.demo else desk.shelf.begin(wanted.title, unit=wanted.unit)
    return {"id": folder.id, "revision": folder.revision()}


@router.get("/{job}")
def state(desk: TheDesk, folder: TheFolder) -> dict[str, Any]:
    """The whole state; whatever is not read yet and was not stopped is begun."""
    return job_state(desk, folder)


@router.patch("/{job}")
def change(desk: TheDesk, folder: TheFolder, wanted: JobChange, seen: Seen = None) -> dict[str, Any]:
    """Change title, grid or unit."""
    given = wanted.model_dump(exclude_unset=True)
    with folder.changing(seen):
        unit = given.pop("unit", None)
        if given.get("grid") is not None:
            check_grid(given["grid"], folder)
        if unit is not None:
            with changed_card(folder.card_path) as card:
                set_unit(card, unit, folder)
        if given:
            with changed_job(folder.path) as document:
                set_job(document, given)
        return {"revision": desk.changed(folder)}


def check_grid(text: str, folder: Folder) -> None:
    """Refuse a pitch that no mat has.

    Raises
    ------
    InputError
        If it is no length, or far too small or large.
    """
    mm = typed_length_mm(text, unit=folder.card().unit)
    if not _GRID_MM[0] <= mm <= _GRID_MM[1]:
        raise InputError(
            f"A grid of {mm:g} mm can't be right.", "Tell how far apart its lines are, such as 1cm or 1in."
        )


def set_unit(card: Any, unit: str, folder: Folder) -> None:
    """The card's unit changed; what was typed keeps its length."""
    before = folder.card().unit
    if before == unit:
        return
    for place in (card, card.get("measurements", {})):
        for key in list(place):
            if isinstance(place[key], (int, float)) and not isinstance(place[key], bool):
                place[key] = f"{place[key]:g} {before}"
    card["unit"] = unit


@router.put("/{job}/place")
def keep_place(folder: TheFolder, wanted: PlaceChange) -> dict[str, Any]:
    """Remember where the maker is; needs no revision, and changes none."""
    return folder.keep_place(wanted.model_dump(exclude_unset=True))


@router.get("/{job}/events", response_class=StreamingResponse)
async def events(desk: TheDesk, folder: TheFolder) -> StreamingResponse:
    """News of the job as ``text/event-stream``: stages of work, its end, changes of the revision."""
    stream = desk.news.listen(folder.id, {"revision": folder.revision()})
    return StreamingResponse(stream, media_type="text/event-stream", headers={"Cache-Control": "no-store"})


@router.delete("/{job}/work/{work}", status_code=204)
def stop(desk: TheDesk, folder: TheFolder, work: str) -> None:
    """Stop a work."""
    desk.reader.stop(work)
