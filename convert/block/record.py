"""The block as plain values for JSON, in the ``ownblock-block`` format, version 1."""

from typing import Any

from convert.block.block import Block
from convert.piece.record import to_record as piece_record

FORMAT, VERSION = "ownblock-block", 1


def to_record(block: Block) -> dict[str, Any]:
    """The block with its maker, pieces, measurements, moves, checks and notes; millimetres, girths all the way round."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "maker": {
            "name": block.maker.name,
            "measurements": {name: one.mm for name, one in block.maker.measurements.items()},
        },
        "pieces": [piece_record(piece) for piece in block.pieces],
        "measurements": [
            {
                "name": level.name,
                "body_mm": level.body_mm,
                "ease_mm": None if level.body_mm is None else level.ease_mm,
                "block_mm": level.block_mm,
                "uncertainty_mm": level.uncertainty_mm,
                "pattern_mm": level.pattern_mm,
                "pattern_ease_mm": level.pattern_ease_mm,
                "drafted_for_mm": level.drafted_for_mm,
                "target_mm": level.target_mm,
                "body_is_estimated": level.body_is_estimated,
            }
            for level in block.levels
        ],
        "moves": [
            {
                "move": move.move,
                "piece": move.piece,
                "amount_mm": move.amount_mm,
                "where": move.where,
                "sentence": move.sentence,
            }
            for move in block.moves
        ],
        "checks": [
            {
                "check": check.check,
                "value": check.value,
                "limit": check.limit,
                "unit": check.unit,
                "where": check.where,
                "sound": check.sound,
            }
            for check in block.checks
        ],
        "notes": [{"code": note.code, "text": note.text} for note in block.notes],
    }
