"""The block as it is written to ``block.json``, and read back."""

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from calibration.ground.errors import InputError, Note
from convert.block.block import Block, Check, Level, Measured
from convert.block.measured.on_paper import measure_paper
from convert.body.card import BodyMeasurement, Card, LengthUnit, Source
from convert.piece.piece import Piece
from convert.piece.record import from_record as piece_from_record
from convert.piece.record import to_record as piece_to_record

FORMAT, VERSION = "ownblock-block", 1


def to_record(block: Block, *, curves: bool = True) -> dict[str, Any]:
    """A block as plain values for JSON, in the ``ownblock-block`` format, version 1; nothing is rounded but points."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "maker": {
            "name": block.maker.name,
            "unit": block.maker.unit,
            "measurements": {name: one.mm for name, one in block.maker.measurements.items()},
            "estimated": [name for name, one in block.maker.measurements.items() if one.source == "estimated"],
        },
        "pieces": [_piece(piece, curves=curves) for piece in block.pieces],
        "measurements": [_level(level) for level in block.levels],
        "moves": [
            {
                "move": move.move,
                "piece": move.piece,
                "amount_mm": move.amount_mm,
                "where": move.where,
                "sentence": move.sentence,
                "evidence": "told" if move.told else "deduced",
                "cuts": [cut.tolist() for cut in move.cuts],
                "hinges": move.hinges.tolist(),
            }
            for move in block.moves
        ],
        "checks": [
            {
                "check": check.check,
                "value": check.value,
                "limit": check.limit,
                "where": check.where,
                "sound": check.sound,
                "unit": check.unit,
            }
            for check in block.checks
        ],
        "notes": [{"code": note.code, "text": note.text} for note in block.notes],
    }


def _piece(piece: Piece, *, curves: bool) -> dict[str, Any]:
    return piece_to_record(piece, measurements=[_measured(one) for one in measure_paper(piece)], curves=curves)


def _measured(one: Measured) -> dict[str, Any]:
    return {"name": one.name, "mm": one.mm, "uncertainty_mm": one.uncertainty_mm}


def _level(level: Level) -> dict[str, Any]:
    return {
        "name": level.name,
        "body_mm": level.body_mm,
        "ease_mm": None if level.body_mm is None else level.ease_mm,
        "block_mm": level.block_mm,
        "uncertainty_mm": level.uncertainty_mm,
        "pattern_mm": level.pattern_mm,
        "pattern_ease_mm": level.pattern_ease_mm,
        "pattern_uncertainty_mm": level.pattern_uncertainty_mm,
        "drafted_for_mm": level.drafted_for_mm,
        "target_mm": level.target_mm,
        "body_is_estimated": level.body_is_estimated,
    }


class _Model(BaseModel):
    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)


class _MakerModel(_Model):
    name: str
    unit: LengthUnit = "cm"
    measurements: dict[str, float] = {}
    estimated: list[str] = []


class _LevelModel(_Model):
    name: str
    body_mm: float | None = None
    ease_mm: float | None = None
    block_mm: float
    uncertainty_mm: float = 0.0
    pattern_mm: float | None = None
    pattern_ease_mm: float | None = None
    pattern_uncertainty_mm: float = 0.0
    drafted_for_mm: float | None = None
    target_mm: float | None = None
    body_is_estimated: bool = False


class _CheckModel(_Model):
    check: str
    value: float
    limit: float
    where: str
    sound: bool
    unit: str = "mm"


class _NoteModel(_Model):
    code: str
    text: str


class _BlockModel(_Model):
    format: str = Field(pattern=f"^{FORMAT}$")
    version: int = Field(ge=VERSION, le=VERSION)
    maker: _MakerModel
    pieces: list[dict[str, Any]] = Field(min_length=1)
    measurements: list[_LevelModel] = []
    checks: list[_CheckModel] = []
    notes: list[_NoteModel] = []


def from_record(record: Mapping[str, Any]) -> Block:
    """A block from what ``to_record`` wrote; its moves, which need the pattern's pieces, are not read back.

    Raises
    ------
    InputError
        If something is missing or of the wrong kind.
    """
    try:
        model = _BlockModel.model_validate(dict(record))
    except ValidationError as err:
        first = err.errors()[0]
        where = " › ".join(str(part) for part in first["loc"]) or "the whole"
        raise InputError(
            f"This is not a block that can be read: {where}: {first['msg'][:1].lower()}{first['msg'][1:]}.",
            "Take a block.json that ownblock make has written, or mend that entry.",
        ) from err
    return Block(
        maker=_card(model.maker),
        pieces=tuple(piece_from_record(piece) for piece in model.pieces),
        levels=tuple(_level_value(level) for level in model.measurements),
        checks=tuple(Check(**check.model_dump()) for check in model.checks),
        notes=tuple(Note(note.code, note.text) for note in model.notes),
    )


def _card(maker: _MakerModel) -> Card:
    def source(name: str) -> Source:
        return "estimated" if name in maker.estimated else "told"

    return Card(
        name=maker.name,
        unit=maker.unit,
        measurements={name: BodyMeasurement(mm=mm, source=source(name)) for name, mm in maker.measurements.items()},
    )


def _level_value(level: _LevelModel) -> Level:
    values = level.model_dump()
    values["ease_mm"] = values["ease_mm"] or 0.0
    return Level(**values)
