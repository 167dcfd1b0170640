"""A block continued from its own SVG after a person edited that: read, named, measured and checked again."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from calibration.ground.errors import InputError, Note
from convert.block.block import Block, Level, Move
from convert.block.measured.measure import measure
from convert.block.solved.checks import check_block
from convert.body.card import LengthUnit
from convert.body.survey import WAIST_TO_HIP_MM
from convert.body.wording import format_paper_mm, listed
from convert.piece.piece import Piece
from convert.redrawn.read_svg import DrawnPiece, read_layers
from convert.redrawn.redrawn_piece import Redrawn, redrawn_piece

MOVE = "redrawn by hand"
LEVEL_MM = 1.0  # smaller changes of a measurement are not worth a sentence


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RedrawnBlock:
    """The block after the edit, and what it changed, in sentences for the maker; none where nothing was moved."""

    block: Block
    sentences: tuple[str, ...]


def read_drawing(path: Path) -> str:
    """The text of an SVG file.

    Raises
    ------
    InputError
        If it is not there or is no text.
    """
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError as err:
        raise InputError(f"{path} is not a plain SVG.", "Save it as plain SVG, not compressed (.svgz).") from err
    except OSError as err:
        raise InputError(
            f"The drawing {path} can’t be read: {err.strerror or err}.", "Give an SVG that ownblock wrote, edited."
        ) from err


def redrawn_block(block: Block, svg: str, *, source: str = "the drawing") -> RedrawnBlock:
    """The block with every piece that the SVG holds taken from it; pieces that it does not hold stay.

    Each changed piece adds a move “redrawn by hand” with the piece before and after. Girths and lengths are measured
    again, and all checks made; the ease follows from what was drawn.

    Parameters
    ----------
    block
        The block that the SVG was written from.
    svg
        The text of ``block.svg`` or of one piece's SVG, edited in a drawing program.
    source
        What to call it in notes, such as its file name.

    Raises
    ------
    InputError
        If the SVG can't be understood; it says why and what to do.
    """
    drawn = _by_kind(block, read_layers(svg))
    found = {piece.kind: redrawn_piece(piece, drawn[piece.kind]) for piece in block.pieces if piece.kind in drawn}
    changed = {kind: one for kind, one in found.items() if one.changed}
    if not changed:
        return RedrawnBlock(block=block, sentences=())
    unit = block.maker.unit
    moves = [_move(piece, changed[piece.kind], unit) for piece in block.pieces if piece.kind in changed]
    pieces = tuple(changed[piece.kind].piece if piece.kind in changed else piece for piece in block.pieces)
    notes = [note for one in changed.values() for note in one.notes]
    text = f"The shape of the {listed([str(kind) for kind in changed])} comes from {source}, "
    text += "edited by hand; what is changed on the card does not reach it."
    levels = _measured_again(block, pieces)
    after = replace(
        block,
        pieces=pieces,
        levels=levels,
        moves=(*block.moves, *moves),
        checks=check_block(pieces, levels, waist_to_hip=block.maker.mm("waist to hip")),
        notes=(*block.notes, Note("redrawn", text), *notes),
    )
    said = [move.sentence for move in moves] + _level_sentences(block.levels, levels, unit)
    return RedrawnBlock(block=after, sentences=tuple(said))


def _by_kind(block: Block, drawn: Sequence[DrawnPiece]) -> dict[str, DrawnPiece]:
    kinds = [piece.kind for piece in block.pieces]
    out: dict[str, DrawnPiece] = {}
    for one in drawn:
        kind = one.name.lower()
        if kind not in kinds:
            raise InputError(
                f"The drawing holds a piece “{kind}”, which this block does not have.",
                f"Use a drawing of this block. Its pieces: {', '.join(kinds)}.",
            )
        if kind in out:
            raise InputError(
                f"The drawing holds the {kind} twice.", "Delete the copy that is not meant, and save again."
            )
        out[kind] = one
    return out


def _move(before: Piece, one: Redrawn, unit: LengthUnit) -> Move:
    """What was redrawn on one piece, as a move with its pictures."""
    edges = [f"{name} by up to {format_paper_mm(max(far, 1.0), unit)}" for name, far in one.moved.items()]
    parts = []
    if edges:
        parts.append(f"moved the {listed(edges)}")
    if one.others:
        parts.append(f"changed the {listed(list(one.others))}")
    return Move(
        move=MOVE,
        piece=before.kind,
        amount_mm=max(one.moved.values(), default=0.0),
        where=listed(list(one.moved)) or listed(list(one.others)),
        sentence=f"On the {before.kind} you {' and '.join(parts)}.",
        before=before,
        after=one.piece,
    )


def _measured_again(block: Block, pieces: tuple[Piece, ...]) -> tuple[Level, ...]:
    found = {one.name: one for one in measure(pieces, waist_to_hip=block.maker.mm("waist to hip") or WAIST_TO_HIP_MM)}

    def again(level: Level) -> Level:
        now = found.get(level.name)
        if now is None or abs(now.mm - level.block_mm) < 0.05:
            return level
        ease = level.ease_mm if level.body_mm is None else now.mm - level.body_mm
        return replace(level, block_mm=now.mm, uncertainty_mm=now.uncertainty_mm, ease_mm=ease, target_mm=None)

    return tuple(again(level) for level in block.levels)


def _level_sentences(before: Sequence[Level], after: Sequence[Level], unit: LengthUnit) -> list[str]:
    out = []
    for old, new in zip(before, after, strict=True):
        change = new.block_mm - old.block_mm
        if abs(change) >= LEVEL_MM:
            way = "larger" if change > 0 else "smaller"
            now = format_paper_mm(new.block_mm, unit)
            out.append(f"{new.name.capitalize()}: now {now}, {format_paper_mm(abs(change), unit)} {way} than before.")
    return out
