"""A scan's pixels in millimetres: each direction has a scale of its own."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, as_point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScanFrame:
    """Pixels of one upright scan to mm (x right, y up) and back, as :class:`calibration.view.MatView` does for photos.

    Attributes
    ----------
    size_px : (width, height)
    mm_per_px : (2,)
        Across and down.
    origin_mm : (2,)
        Of the centre of the top-left pixel.
    """

    size_px: tuple[int, int]
    mm_per_px: Points
    origin_mm: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "mm_per_px", as_point(self.mm_per_px))
        object.__setattr__(self, "origin_mm", as_point(self.origin_mm))

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Scan pixels (N, 2) -> mm (N, 2)."""
        return self.origin_mm + np.atleast_2d(np.asarray(px, float)) * self.mm_per_px * [1.0, -1.0]

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """Mm (N, 2) -> scan pixels (N, 2)."""
        return (np.atleast_2d(np.asarray(mm, float)) - self.origin_mm) / (self.mm_per_px * [1.0, -1.0])
