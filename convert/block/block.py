"""The block: the pieces after a list of moves, measured again and checked."""

from dataclasses import dataclass, field

from calibration.ground.errors import Note
from calibration.ground.points import Points, as_points
from convert.body.card import Card
from convert.piece.piece import Piece, PieceKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A garment measurement taken on the pieces' seam lines, with the half-width of its 95 % interval.

    Girths go all the way round.
    """

    name: str
    mm: float
    uncertainty_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One measurement compared: pattern, body it was drafted for, maker's body, ease, block. Girths all the way round.

    ``pattern_mm`` is None for a piece that was drafted. ``body_mm`` is the maker's, ``drafted_for_mm`` the body of the
    pattern's size; None where not known. ``uncertainty_mm`` belongs to the block, ``pattern_uncertainty_mm`` to the
    pattern.
    """

    name: str
    pattern_mm: float | None
    pattern_uncertainty_mm: float
    drafted_for_mm: float | None
    pattern_ease_mm: float | None
    body_mm: float | None
    body_is_estimated: bool
    ease_mm: float
    target_mm: float | None
    block_mm: float
    uncertainty_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Move:
    """One thing a cutter does to the paper.

    ``before`` and ``after`` lie in the same frame; ``cuts`` are the lines the paper is slashed along (each (N, 2)),
    ``hinges`` (M, 2) the points it turns about. ``told`` says that the maker has fixed the amount.
    """

    move: str
    piece: PieceKind
    amount_mm: float
    where: str
    sentence: str
    before: Piece
    after: Piece
    cuts: tuple[Points, ...] = ()
    hinges: Points = field(default_factory=lambda: as_points([]))
    told: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that makes a block sound: what was checked, its value against its limit (mm or degrees), where."""

    check: str
    value: float
    limit: float
    where: str
    sound: bool
    unit: str = "mm"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """The maker's block."""

    maker: Card
    pieces: tuple[Piece, ...]
    levels: tuple[Level, ...]
    moves: tuple[Move, ...] = ()
    checks: tuple[Check, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def sound(self) -> bool:
        """Whether every check holds."""
        return all(check.sound for check in self.checks)
