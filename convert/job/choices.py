"""What a job's ``[block]`` table decides: amounts of moves, and where the front's fullness goes."""

from collections.abc import Iterable

from calibration.ground.errors import InputError
from convert.block.drafts.draft import DRAFTABLE
from convert.block.solved.choices import Choices, ToldMove, back_dart_place, dart_place, told_moves
from convert.body.card import LengthUnit
from convert.body.definitions import plain
from convert.body.typed import typed_length_mm
from convert.job.file import BlockTable, MoveTable
from convert.job.told import piece_kind

_WHERE = "job.toml: [block]"
_EXAMPLE = 'Write [[block.moves]], and below it piece = "bodice back", move = "round back" and amount = "1 cm".'


def block_choices(table: BlockTable, *, unit: LengthUnit) -> Choices:
    """The choices, checked.

    Raises
    ------
    InputError
        If a place, a piece, a move or an amount can't be understood.
    """
    try:
        darts = None if table.darts is None else dart_place(table.darts)
        back = None if table.back_darts is None else back_dart_place(table.back_darts)
        moves = tuple(_moves(table.moves, unit))
        return Choices(moves=moves, darts=darts, back_darts=back, draft=_draft(table.draft))
    except InputError as err:
        raise InputError(f"{_WHERE}: {err.problem}", err.remedy) from err


def _moves(tables: Iterable[MoveTable], unit: LengthUnit) -> Iterable[ToldMove]:
    for number, table in enumerate(tables, 1):
        if table.move is None or table.amount is None:
            missing = next(name for name in ("move", "amount") if getattr(table, name) is None)
            raise InputError(f"move {number} does not say its {missing}.", _EXAMPLE)
        piece = None if table.piece is None else piece_kind(table.piece, where=f"move {number}")
        yield from told_moves(table.move, piece, _amount_mm(table.amount, unit))


def _draft(told: bool | str | list[str] | None) -> tuple[str, ...]:
    """What may be drafted: everything, nothing, or what is named."""
    if told is None or isinstance(told, bool):
        return () if told is False else DRAFTABLE
    names = [plain(one) for one in ([told] if isinstance(told, str) else told)]
    wrong = next((name for name in names if name not in DRAFTABLE), None)
    if wrong is not None:
        raise InputError(f"“{wrong}” can't be drafted.", 'Write draft = true, draft = false or draft = ["sleeve"].')
    return tuple(names)


def _amount_mm(value: object, unit: LengthUnit) -> float:
    """A length that may go the other way: "-1 cm"."""
    if isinstance(value, str) and value.strip()[:1] in ("-", "−"):
        return -typed_length_mm(value.strip()[1:], unit=unit)
    if isinstance(value, int | float) and not isinstance(value, bool) and value < 0:
        return -typed_length_mm(-value, unit=unit)
    return typed_length_mm(value, unit=unit)
