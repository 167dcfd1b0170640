"""How a piece was turned from where it lay on the mat to upright."""

from dataclasses import dataclass, field

import numpy as np

from calibration.ground.points import Points, as_point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placement:
    """Mat mm to the piece's own frame: mirrored first (x to -x) if ``mirrored``, turned, then shifted."""

    turn_deg: float = 0.0
    shift: Points = field(default_factory=lambda: as_point([0.0, 0.0]))
    mirrored: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "shift", as_point(self.shift))

    def _turn(self) -> Points:
        angle = np.radians(self.turn_deg)
        return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def to_piece(self, mat_mm: Points) -> Points:
        """Mat mm (N, 2) in the piece's frame."""
        points = np.asarray(mat_mm, float) * ([-1.0, 1.0] if self.mirrored else [1.0, 1.0])
        moved: Points = points @ self._turn().T + self.shift
        return moved

    def to_mat(self, piece_mm: Points) -> Points:
        """The way back."""
        points = (np.asarray(piece_mm, float) - self.shift) @ self._turn()
        back: Points = points * ([-1.0, 1.0] if self.mirrored else [1.0, 1.0])
        return back

    def shifted(self, by: Points) -> "Placement":
        """The same, shifted further in the piece's frame."""
        return Placement(turn_deg=self.turn_deg, shift=self.shift + np.asarray(by, float), mirrored=self.mirrored)
