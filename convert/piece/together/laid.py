"""What laying the parts of one piece together gives."""

from dataclasses import dataclass

from calibration.ground.errors import Note
from convert.piece.piece import Piece
from convert.piece.together.evidence import SeamLaid


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """A piece laid together.

    Attributes
    ----------
    piece
        The plain piece.
    parts
        Its parts as they lie in its frame; some may be cut, such as an under sleeve.
    seams
        How each seam between them fits; none where the piece was whole.
    notes
        What was noticed, beside what is noted on ``piece``.
    read
        The parts as they were read.
    """

    piece: Piece
    parts: tuple[Piece, ...]
    seams: tuple[SeamLaid, ...]
    notes: tuple[Note, ...] = ()
    read: tuple[Piece, ...] = ()
