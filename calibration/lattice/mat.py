"""What is printed on the mat: the regular lattice that serves as the ruler."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Lattice:
    """A printed lattice in the mat frame (mm, x right, y up, origin at a lattice crossing).

    Line (or dot) ``i`` lies at ``i * pitch_mm``; along y at ``i * pitch_y_mm`` where a steel rule found that to differ
    (None: as along x). ``heavy_every`` is the step between heavier lines (0: none seen) and ``heavy_x``, ``heavy_y``
    the index of one heavy line each way. ``ink_is_light`` tells printing lighter than the mat. ``divisions`` counts the
    parts that finer printed lines cut a pitch into (1: no finer lines).
    """

    kind: Literal["lines", "dots"]
    pitch_mm: float
    line_width_mm: float = 0.4
    heavy_width_mm: float = 0.8
    heavy_every: int = 0
    heavy_x: int = 0
    heavy_y: int = 0
    ink_is_light: bool = True
    first_x: int = 0
    last_x: int = 0
    first_y: int = 0
    last_y: int = 0
    divisions: int = 1
    pitch_y_mm: float | None = None

    @property
    def pitches_mm(self) -> tuple[float, float]:
        """The pitch along x and along y."""
        return self.pitch_mm, self.pitch_mm if self.pitch_y_mm is None else self.pitch_y_mm
