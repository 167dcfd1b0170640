"""Step 7: the block, its moves one by one, amounts tried and told, its checks, ease and the place of the darts."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from fastapi import APIRouter
from pydantic import BaseModel, ConfigDict, Field

from calibration.ground.errors import InputError
from calibration.ground.units import MM_PER_INCH
from convert.block.block import Block, Move
from convert.block.compared.ease import EASE_WORDS, block_ease
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Rule
from convert.block.record import to_record
from convert.block.shape.shape import Shape, shape_of
from convert.block.solved.choices import DART_PLACES, ONLY_TOLD, Choices, ToldMove, dart_place, known_moves, told_move
from convert.block.solved.least_moves import Solved
from convert.block.solved.problem import steps_for
from convert.body.card import LengthUnit
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import STEP_MM
from convert.job.job import Job
from convert.job.write import changed_job, set_block
from convert.page.desk.desk import Desk, Seen, TheDesk, TheFolder
from convert.page.desk.jobs import Folder
from convert.page.desk.piece_json import block_piece
from convert.page.desk.state import notes_of
from convert.paper.report.check_words import check_sentence
from convert.paper.steps.pictures import move_picture
from convert.piece.piece import PieceKind
from convert.pipeline.make import Made, fitted_near

router = APIRouter(prefix="/api/jobs/{job}/block", tags=["block"])
AS_PATTERN = "as the pattern"
_REACH_MM = 40.0  # of a slider, to either side of what was suggested
_SAME_MM = 0.05
# what a bust alteration can be, opened at the bust point: our choice, because beyond it another size is a better start
_BUST_MM = (-60.0, 120.0)

Amount = Annotated[float, Field(ge=-600, le=600)]


class Choice(BaseModel):
    """Ease as a word, and where the front's fullness goes."""

    model_config = ConfigDict(extra="forbid")
    ease: Annotated[str, Field(max_length=20)] | None = None
    darts: Annotated[str, Field(max_length=40)] | None = None


class Wanted(BaseModel):
    """Amounts of moves by id, mm; null lets a move be solved again. What is not named stays."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)
    amounts: dict[Annotated[str, Field(max_length=120)], Amount | None] = Field(default_factory=dict, max_length=100)
    choices: Choice = Choice()


def id_of(piece: str, move: str) -> str:
    """A move's id: one piece has each move once, but for darts that are moved."""
    return f"{piece}: {move}"


@router.get("")
def block(desk: TheDesk, folder: TheFolder) -> dict[str, Any]:
    """The block with every move's picture before and after."""
    return _view(desk, folder)


def _view(desk: Desk, folder: Folder) -> dict[str, Any]:
    made = desk.made(folder)
    suggested = _suggested(desk, made)
    view = desk.shown("block", made.job, lambda: _shown(made.job, made.block, made, suggested, every=True))
    return {**view, "notes": notes_of(made.notes), "revision": folder.revision()}


def _suggested(desk: Desk, made: Made) -> Block:
    """The block as it is without any amount told."""
    return _untold(desk, made)[0] if made.job.choices.moves else made.block


def _untold(desk: Desk, made: Made) -> tuple[Block, Solved]:
    """The block without any amount told, and where its solution lies: from there what is told or tried is near."""
    key = ("untold", desk.key(made.job))
    found: tuple[Block, Solved] | None = desk.blocks.get(key)
    if found is None:
        untold = replace(made.job, choices=replace(made.job.choices, moves=()))
        found = desk.blocks.put(key, fitted_near(untold, made.pieces))
    return found


@router.post("/try")
def try_out(desk: TheDesk, folder: TheFolder, wanted: Wanted) -> dict[str, Any]:
    """The block as it would be; nothing is kept, and only moves that are named come with a picture."""
    made = desk.made(folder)
    job = _with(made.job, wanted)
    same = (job.choices.darts, job.ease) == (made.job.choices.darts, made.job.ease)
    near = _untold(desk, made)[1] if same else None
    found, _ = fitted_near(job, made.pieces, near)
    return _shown(job, found, made, _suggested(desk, made), every=False, named=set(wanted.amounts))


@router.put("")
def keep(desk: TheDesk, folder: TheFolder, wanted: Wanted, seen: Seen = None) -> dict[str, Any]:
    """Fix amounts, ease and darts in ``job.toml``; a block that can't be made of them is refused and not kept."""
    with folder.changing(seen):
        made = desk.made(folder)
        suggested = {id_of(move.piece, move.move): move.amount_mm for move in _suggested(desk, made).moves}
        if wanted.choices.darts is None and wanted.choices.ease is None:
            same = {
                name
                for name, mm in wanted.amounts.items()
                if mm is not None and name in suggested and abs(mm - suggested[name]) < _SAME_MM
            }
            wanted = wanted.model_copy(
                update={"amounts": {name: None if name in same else mm for name, mm in wanted.amounts.items()}}
            )
        job = _with(made.job, wanted)
        before = (folder.path / "job.toml").read_bytes()
        with changed_job(folder.path) as document:
            values: dict[str, Any] = {"moves": _table(job.choices, job.maker.unit) or None, "darts": job.choices.darts}
            if wanted.choices.ease is not None:
                values["ease"] = job.ease.word
            set_block(document, values)
        try:
            view = _view(desk, folder)
        except InputError:
            folder.put_back(before)
            raise
        return {**view, "revision": desk.changed(folder)}


def _with(job: Job, wanted: Wanted) -> Job:
    """The job with what is wanted over what it tells."""
    choices = job.choices
    told = {id_of(one.piece, one.move): one for one in choices.moves}
    if wanted.choices.darts is not None:
        place = None if wanted.choices.darts == AS_PATTERN else dart_place(wanted.choices.darts)
        if place != choices.darts:  # other darts, other moves of the front
            told = {name: one for name, one in told.items() if one.piece != "bodice front"}
        choices = replace(choices, darts=place)
    for name, mm in wanted.amounts.items():
        told.pop(name, None)
        if mm is not None:
            told[name] = _told(name, mm, job)
    ease = job.ease if wanted.choices.ease is None else block_ease(wanted.choices.ease)
    return replace(job, choices=replace(choices, moves=tuple(told.values())), ease=ease)


def _told(name: str, mm: float, job: Job) -> ToldMove:
    kinds: dict[str, PieceKind] = {piece.kind: piece.kind for piece in job.pieces}
    piece, _, move = name.partition(": ")
    if piece not in kinds or move not in known_moves():
        raise InputError(f"There is no move “{name}” whose amount can be told.", "Load the page again.")
    return told_move(move, kinds[piece], round(mm, 2))


def _table(choices: Choices, unit: str) -> list[dict[str, str]]:
    """Amounts told as they stand in ``job.toml``."""
    per, word = (10.0, "cm") if unit == "cm" else (MM_PER_INCH, "in")
    return [
        {"piece": one.piece, "move": one.move, "amount": f"{round(one.amount_mm / per, 4):g} {word}"}
        for one in choices.moves
    ]


# ---------------------------------------------------------------- as JSON


def _shown(
    job: Job, found: Block, made: Made, suggested: Block, *, every: bool, named: set[str] | None = None
) -> dict[str, Any]:
    reach = _reach(made)
    usual = {id_of(move.piece, move.move): move.amount_mm for move in suggested.moves}
    return {
        "pieces": [block_piece(piece) for piece in found.pieces],
        "moves": [_move(move, reach, usual, job, picture=every or _id(move) in (named or ())) for move in found.moves],
        "more_moves": [
            {"id": name, "piece": piece, "move": move, **own.shown(job.maker.unit)}
            for (piece, move), own in reach.items()
            if (name := id_of(piece, move)) not in {_id(one) for one in found.moves}
        ],
        "checks": [
            {
                "check": check.check,
                "value": check.value,
                "limit": check.limit,
                "where": check.where,
                "sound": check.sound,
                "unit": check.unit,
                "sentence": check_sentence(check, job.maker.unit),
            }
            for check in found.checks
        ],
        "measurements": to_record(replace(found, pieces=(), moves=()))["measurements"],
        "notes": notes_of(found.notes),
        "choices": {
            "ease": _options(EASE_WORDS, "own" if job.ease.overridden else job.ease.word),
            "darts": _options((AS_PATTERN, *DART_PLACES), job.choices.darts or AS_PATTERN),
        },
    }


def _id(move: Move) -> str:
    return id_of(move.piece, move.move)


def _options(words: tuple[str, ...], value: str) -> dict[str, Any]:
    return {"value": value, "options": [{"id": word, "words": word} for word in words]}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reach:
    """How far a move goes, and the words for either way, with ``{amount}`` in them."""

    least: float
    most: float
    more: str
    less: str

    def shown(self, unit: LengthUnit) -> dict[str, Any]:
        """As the page draws its slider."""
        words = {"more": self.more, "less": self.less}
        return {"low": self.least, "high": self.most, "step": STEP_MM[unit], "words": words}


def _of(rule: Rule, least: float, most: float) -> _Reach:
    return _Reach(least=least, most=most, more=rule.more, less=rule.less)


def _reach(made: Made) -> Mapping[tuple[str, str], _Reach]:
    """Every move whose amount can be told on these pieces, with the least and the most of it."""
    shapes: dict[str, Shape] = {one.piece.kind: shape_of(one.piece) for one in made.reads}
    hip = made.job.maker.mm("waist to hip") or WAIST_TO_HIP_MM
    steps = steps_for(shapes, hip=hip, apex_moves="bodice front" in shapes)
    known = known_moves()
    reach = {(one.kind, one.rule.name): _of(one.rule, one.least, one.most) for one in steps if one.rule.name in known}
    for rule, on, most in ONLY_TOLD:
        for kind in on:
            if kind in shapes:
                reach.setdefault((kind, rule.name), _of(rule, -most, most))
    if "bodice front" in shapes:
        reach["bodice front", ALTER_BUST.name] = _of(ALTER_BUST, *_BUST_MM)
    return reach


def _move(
    move: Move,
    reach: Mapping[tuple[str, str], _Reach],
    usual: Mapping[str, float],
    job: Job,
    *,
    picture: bool,
) -> dict[str, Any]:
    name = _id(move)
    shown: dict[str, Any] = {
        "id": name,
        "move": move.move,
        "piece": move.piece,
        "amount_mm": round(move.amount_mm, 2),
        "suggested_mm": round(usual.get(name, 0.0 if move.told else move.amount_mm), 2),
        "sentence": move.sentence,
        "told": move.told,
    }
    if (move.piece, move.move) in reach:
        own = reach[move.piece, move.move]
        middle = shown["suggested_mm"]
        low, high = max(own.least, middle - _REACH_MM), min(own.most, middle + _REACH_MM)
        shown |= own.shown(job.maker.unit)
        shown |= {"low": min(low, move.amount_mm), "high": max(high, move.amount_mm)}
    if picture:
        shown["svg_before_after"] = move_picture(move)
    return shown
