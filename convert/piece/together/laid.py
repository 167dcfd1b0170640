"""What laying the parts of one piece together gives."""

from dataclasses import dataclass

from calibration.errors import Note
from convert.piece.piece import Piece
from convert.piece.together.evidence import SeamLaid


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """A piece laid together: the plain piece, its parts as they lie in its frame, its seams, and what was noticed."""

    piece: Piece
    parts: tuple[Piece, ...]
    seams: tuple[SeamLaid, ...]
    notes: tuple[Note, ...] = ()
