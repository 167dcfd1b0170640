"""Step 7: the block, its moves one by one, its checks, and what may be chosen."""

from typing import Any

from fastapi import APIRouter

from convert.block.record import to_record
from convert.page.desk import TheDesk, TheFolder
from convert.page.piece_json import block_piece
from convert.page.state import notes_of
from convert.paper.pictures import move_picture
from convert.paper.report_content import check_sentence
from convert.pipeline import Made

router = APIRouter(prefix="/api/jobs/{job}/block", tags=["block"])


@router.get("")
def block(desk: TheDesk, folder: TheFolder) -> dict[str, Any]:
    """The block with every move's picture before and after."""
    made = desk.made(folder)
    return {**desk.shown("block", desk.same(made), lambda: _shown(made)), "revision": folder.revision()}


def _shown(made: Made) -> dict[str, Any]:
    found = made.block
    record = to_record(found, curves=False)
    return {
        "pieces": [block_piece(piece) for piece in found.pieces],
        "moves": [
            {
                "id": f"{move.piece}: {move.move}",
                "move": move.move,
                "piece": move.piece,
                "amount_mm": move.amount_mm,
                "sentence": move.sentence,
                "svg_before_after": move_picture(move),
            }
            for move in found.moves
        ],
        "checks": [
            {**one, "sentence": check_sentence(check)}
            for one, check in zip(record["checks"], found.checks, strict=True)
        ],
        "measurements": record["measurements"],
        "notes": notes_of(made.notes),
    }
