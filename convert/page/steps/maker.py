"""Step 5: the maker's card, slips of the pen asked kindly, and the size the pattern was drafted for."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from convert.body.card import Card
from convert.body.charts import charts
from convert.body.definitions import definitions, measurement_name
from convert.body.fill import fill_missing, measure_next
from convert.body.slips import Question, questions
from convert.body.typed import read_toml, typed_length_mm
from convert.job.file import PatternTable
from convert.job.write import changed_card, changed_job, put, set_answered, set_job, set_measurements, set_pattern
from convert.page.desk.desk import Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder
from convert.page.desk.state import said
from convert.page.server import words
from convert.page.server.problems import missing
from convert.page.steps.jobs import set_unit
from convert.paper.card.measurement_drawing import measurement_drawing
from convert.piece.names.kinds import garments_of

router = APIRouter(tags=["maker"])
_NEXT = 5
_TABLE_COLUMNS = ("high bust", "bust", "waist", "hip", "back waist length")  # as envelopes print them, in their order
_LONGEST = 40

Typed = Annotated[str, Field(max_length=_LONGEST)]


class CardChange(BaseModel):
    """What is written on the card, as typed; null empties a row."""

    model_config = ConfigDict(extra="forbid")
    name: str | None = Field(None, max_length=80)
    unit: Literal["cm", "in"] | None = None
    entries: dict[str, Typed | None] | None = None


class Answer(BaseModel):
    """An answer to a question about the card: it is right as it stands, or what was offered is."""

    model_config = ConfigDict(extra="forbid")
    id: str = Field(max_length=80)
    answer: Literal["right", "offer"]


class PatternChange(BaseModel):
    """What the size was drafted for, and what the envelope states; null takes an entry out."""

    model_config = ConfigDict(extra="forbid")
    chart: str | None = Field(None, max_length=80)
    size: str | int | None = None
    year: int | None = None
    body: dict[str, Typed | None] | None = None
    allowance: Typed | None = None


@router.get("/api/measures")
def measures() -> dict[str, Any]:
    """Every measurement a card may hold: its name, where it sits, how to take it, its drawing, what needs it."""
    return {
        "measures": [
            {
                "name": one.name,
                "words": one.where,
                "how": one.how,
                "svg": measurement_drawing(one.name),
                "group": list(one.parts),
            }
            for one in definitions().values()
        ]
    }


@router.get("/api/jobs/{job}/maker")
def maker(folder: TheFolder) -> dict[str, Any]:
    """The card as typed and as understood, what to ask about it, what to measure next, the pattern's size."""
    return _maker(folder)


def _maker(folder: Folder) -> dict[str, Any]:
    card = folder.card()
    pattern = folder.file().pattern
    problem: InputError | None = None
    try:
        folder.card(limits=True)
    except InputError as err:
        problem = err
    asked = _all_asked(card, problem)
    doubtful = {name for one in asked for name in one["names"]}
    parts = garments_of(piece.kind for piece in folder.pieces()) or {"bodice", "sleeve", "skirt"}
    known = definitions()
    return {
        "revision": folder.revision(),
        "name": card.name,
        "unit": card.unit,
        "entries": _entries(folder, card, doubtful),
        "questions": asked,
        "problem": said(problem),
        "next": [{"name": name, "how": known[name].how} for name in measure_next(card, parts)[:_NEXT]],
        "pattern": _pattern(pattern),
        "charts": _charts(),
        "envelope": [
            {"name": name, "text": str(pattern.body.get(name, ""))}
            for name in dict.fromkeys([*_envelope(parts), *(measurement_name(one) for one in pattern.body)])
        ],
    }


def _all_asked(card: Card, problem: InputError | None) -> list[dict[str, Any]]:
    """Every row that she is asked about: likely slips, then what can't be."""
    asked = [_asked(one) for one in (questions(card) if card.measurements else ())]
    if problem is None:
        return asked
    impossible = [name for name in _impossible(card) if not any(name in one["names"] for one in asked)]
    sentence = f"{problem.problem} {problem.remedy}"
    return [*asked, *({"id": name, "names": [name], "sentence": sentence, "offer": None} for name in impossible)]


def _pattern(pattern: PatternTable) -> dict[str, Any]:
    """What the pattern's size was drafted for, as told."""
    return {
        "chart": pattern.chart,
        "size": None if pattern.size is None else str(pattern.size),
        "year": pattern.year,
        "body": {name: str(value) for name, value in pattern.body.items()},
        "allowance": pattern.allowance if isinstance(pattern.allowance, str) else None,
    }


def _charts() -> list[dict[str, Any]]:
    """The size charts that she can choose from."""
    return [
        {
            "id": one.name,
            "words": words.CHARTS.get(one.name, one.title),
            "sizes": list(one.sizes),
            "columns": [
                {"name": name, "mm": list(one.columns[name])} for name in _TABLE_COLUMNS if name in one.columns
            ],
        }
        for one in sorted(charts().values(), key=lambda one: list(words.CHARTS).index(one.name))
    ]


def _envelope(parts: set[str]) -> list[str]:
    """What an envelope is likely to state of the body, for the pieces at hand."""
    upper, lower = parts & {"bodice", "sleeve", "dress"}, parts & {"skirt", "dress", "trousers"}
    names = {"bust": upper, "waist": parts, "hip": lower, "back waist length": upper}
    return [name for name, wanted in names.items() if wanted]


def _asked(one: Question) -> dict[str, Any]:
    names = [one.name] if one.other is None else [one.name, one.other]
    return {"id": one.name, "names": names, "sentence": one.sentence, "offer": one.offered_mm}


def _impossible(card: Card) -> list[str]:
    """Rows that no body has, unless she said that they are right."""
    known = definitions()
    return [
        name
        for name, mm in card.told().items()
        if name not in card.answered and not known[name].low_mm <= mm <= known[name].high_mm
    ]


def _entries(folder: Folder, card: Card, doubtful: set[str]) -> dict[str, Any]:
    typed = _typed(folder)
    try:
        filled: Card | None = fill_missing(card, like=folder.job().pattern.drafted_for() or None)
    except InputError:
        filled = fill_missing(card) if card.measurements else None
    entries: dict[str, Any] = {}
    for name in definitions():
        told, likely = card.measurements.get(name), None if filled is None else filled.measurements.get(name)
        if told is not None:
            state = "doubtful" if name in doubtful else "told"
            entries[name] = {"text": typed.get(name, ""), "mm": told.mm, "state": state}
        elif likely is not None and card.measurements:
            entries[name] = {"text": "", "mm": likely.mm, "state": "estimated", "uncertainty_mm": likely.uncertainty_mm}
            entries[name]["why"] = likely.why
        else:
            entries[name] = {"text": "", "mm": None, "state": "missing"}
    return entries


def _typed(folder: Folder) -> dict[str, str]:
    """The card's rows as they stand in the file, by the measurement each means."""
    if not folder.card_path.is_file():
        return {}
    data = read_toml(folder.card_path)
    rows = {
        **{key: value for key, value in data.items() if not isinstance(value, dict)},
        **data.get("measurements", {}),
    }
    out = {}
    for key, value in rows.items():
        try:
            out[measurement_name(str(key))] = str(value)
        except InputError:
            continue
    return out


@router.put("/api/jobs/{job}/maker")
def write_maker(desk: TheDesk, folder: TheFolder, wanted: CardChange, seen: Seen = None) -> dict[str, Any]:
    """Write on the card. A row that is no length is refused; one that is unlikely is kept and asked about."""
    with folder.changing(seen):
        unit = wanted.unit or folder.card().unit
        entries = {measurement_name(name): text for name, text in (wanted.entries or {}).items()}
        for name, text in entries.items():
            if text is not None:
                _check_row(name, text, unit)
        with changed_card(folder.card_path) as document:
            if wanted.unit is not None:
                set_unit(document, wanted.unit, folder)
            if wanted.name is not None:
                set_job(document, {"name": " ".join(wanted.name.split())})
            set_measurements(
                document, {name: None if not (text or "").strip() else text for name, text in entries.items()}
            )
            for name in entries:
                set_answered(document, name, right=False)
        folder.card()
        return {**_maker(folder), "revision": desk.changed(folder)}


def _check_row(name: str, text: str, unit: str) -> None:
    if not text.strip():
        return
    mm = typed_length_mm(text, unit=unit)
    if mm <= 0:
        raise InputError(f"The {name} can't be {text.strip()}.", "Write what the tape shows.")


@router.post("/api/jobs/{job}/maker/answers")
def answer(desk: TheDesk, folder: TheFolder, wanted: Answer, seen: Seen = None) -> dict[str, Any]:
    """Answer a question about the card: what she says is right is not asked about again."""
    with folder.changing(seen):
        card = folder.card()
        asked = next((one for one in questions(card) if one.name == wanted.id), None)
        if asked is None and wanted.id not in _impossible(card):
            raise missing("question")
        names = [wanted.id] if asked is None or asked.other is None else [asked.name, asked.other]
        with changed_card(folder.card_path) as document:
            if wanted.answer == "right":
                for name in names:
                    set_answered(document, name)
            elif asked is None or asked.offered_mm is None:
                raise InputError("Nothing was offered for that row.", "Measure again and write what the tape shows.")
            else:
                meant = {asked.name: asked.offered_mm}
                if asked.other is not None:
                    meant[asked.other] = asked.given_mm
                set_measurements(document, {name: _in_unit(mm, card.unit) for name, mm in meant.items()})
        return {**_maker(folder), "revision": desk.changed(folder)}


def _in_unit(mm: float, unit: str) -> str:
    return f"{round(mm / (10.0 if unit == 'cm' else MM_PER_INCH), 4):g}"


@router.put("/api/jobs/{job}/pattern")
def write_pattern(desk: TheDesk, folder: TheFolder, wanted: PatternChange, seen: Seen = None) -> dict[str, Any]:
    """Say what the pattern's size was drafted for."""
    given = wanted.model_dump(exclude_unset=True)
    with folder.changing(seen):
        before = (folder.path / "job.toml").read_bytes()
        for name, text in (given.get("body") or {}).items():
            if (text or "").strip():
                _check_row(measurement_name(name), text, folder.card().unit)
        with changed_job(folder.path) as document:
            if given.get("body") is not None:
                known = dict(folder.file().pattern.body)
                known |= {measurement_name(name): text for name, text in given["body"].items()}
                given["body"] = {name: text for name, text in known.items() if str(text or "").strip()} or None
            if "chart" in given and given["chart"] is None:
                given.setdefault("size", None)
            set_pattern(document, given)
            if not document.get("pattern"):
                put(document, {"pattern": None})
        try:
            folder.check_pattern()
        except InputError:
            folder.put_back(before)
            raise
        return {**_maker(folder), "revision": desk.changed(folder)}
