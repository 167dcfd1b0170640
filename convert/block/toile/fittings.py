"""The history of a block: state 0 as it was made, then one state after each fitting of its toile.

A state is never edited: every one is worked out anew from the block as made and the fittings, so any can be had again.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace

from calibration.ground.errors import InputError, Note
from convert.block.block import Block, Move
from convert.block.toile.toile import correct
from convert.block.toile.words import Told, understand

_FELT_MM = 0.5  # a smaller change of a level is none


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """One fitting of the toile: its number in the history, what was found, word for word, and when.

    An ``undone`` fitting keeps its number and counts for nothing.
    """

    number: int
    changes: tuple[str, ...]
    date: datetime.date | None = None
    note: str = ""
    undone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a fitting changed in one of the block's measurements, mm."""

    name: str
    before_mm: float
    after_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """The block after a fitting.

    Attributes
    ----------
    number
        0 as made, else the fitting's.
    block
        With all moves since it was made.
    fitting
        None for state 0.
    told
        The fitting's sentences with what they were taken to mean.
    effects
        What they changed in the measurements.
    moves
        This fitting's own.
    notes
        Partners that were left unequal on purpose.
    """

    number: int
    block: Block
    fitting: Fitting | None = None
    told: tuple[Told, ...] = ()
    effects: tuple[Effect, ...] = ()
    moves: tuple[Move, ...] = ()
    notes: tuple[Note, ...] = ()


def after_fitting(state: State, fitting: Fitting) -> State:
    """The next state.

    Raises
    ------
    InputError
        If a sentence can't be understood or followed; it names the fitting.
    """
    block = state.block
    kinds = [piece.kind for piece in block.pieces]
    try:
        if not fitting.changes:
            raise InputError("it holds no change.", 'Write one, such as changes = ["side seam: in 1 cm"].')
        told = tuple(understand(text, unit=block.maker.unit, kinds=kinds) for text in fitting.changes)
        fitted = correct(replace(block, notes=()), [one.correction for one in told])
    except InputError as err:
        raise InputError(f"Fitting {fitting.number}: {err.problem}", err.remedy) from err
    old = {level.name: level.block_mm for level in block.levels}
    effects = tuple(
        Effect(name=level.name, before_mm=old[level.name], after_mm=level.block_mm)
        for level in fitted.levels
        if abs(level.block_mm - old[level.name]) >= _FELT_MM
    )
    return State(
        number=fitting.number,
        block=replace(fitted, notes=(*block.notes, *fitted.notes)),
        fitting=fitting,
        told=told,
        effects=effects,
        moves=fitted.moves[len(block.moves) :],
        notes=fitted.notes,
    )


def states(made: Block, fittings: Sequence[Fitting]) -> tuple[State, ...]:
    """Every state of a block, the one as made first; undone fittings have none.

    Raises
    ------
    InputError
        If a fitting can't be followed.
    """
    out = [State(number=0, block=made)]
    for fitting in fittings:
        if not fitting.undone:
            out.append(after_fitting(out[-1], fitting))
    return tuple(out)


def state_numbered(history: Sequence[State], number: int) -> State:
    """One state of a history.

    Raises
    ------
    InputError
        If there is none of that number.
    """
    for state in history:
        if state.number == number:
            return state
    there = ", ".join(str(state.number) for state in history)
    raise InputError(
        f"There is no state of the block after fitting {number}.", f"The states are: {there}; 0 is the block as made."
    )


def shown(moves: Sequence[Move], *, least_mm: float = _FELT_MM) -> tuple[Move, ...]:
    """The moves that a cutter would see on the paper: those of half a millimetre or more."""
    return tuple(move for move in moves if abs(move.amount_mm) >= least_mm)
