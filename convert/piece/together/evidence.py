"""How well parts fit: what a maker should know of each seam that was laid together."""

from dataclasses import dataclass

from calibration.ground.points import Points, as_points
from convert.piece.piece import EdgeName, PieceKind


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NotchMet:
    """Two notches that were meant to meet: how far apart they came to lie, and how far from the seam's upper end."""

    apart_mm: float
    from_end_mm: float
    in_dart: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeamLaid:
    """One seam of two parts laid together.

    Attributes
    ----------
    lengths_mm
        Of the first and the second part's seam.
    touches_mm : (from, to)
        Where the two touch, from the seam's upper end (a yoke's: from the centre).
    gap_mm, gap_most_mm, gap_most_at_mm
        Root mean square and greatest distance left where they touch, and where that is.
    eased_mm
        By how much the second is longer where they touch: that is eased in.
    notches
        The pairs that met; ``notches_alone`` counts those without a partner.
    becomes
        What opens or is too long: what it becomes, in words ("dart at the waist"), and how wide it is.
    line : (N, 2)
        The seam where the parts touch, in the frame of the piece laid together.
    """

    seam: EdgeName
    parts: tuple[PieceKind, PieceKind]
    lengths_mm: tuple[float, float]
    touches_mm: tuple[float, float]
    gap_mm: float
    gap_most_mm: float
    gap_most_at_mm: float
    eased_mm: float = 0.0
    notches: tuple[NotchMet, ...] = ()
    notches_alone: int = 0
    becomes: tuple[tuple[str, float], ...] = ()
    line: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "line", as_points(self.line))
