"""The lens: radial and tangential distortion about the picture's centre."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points, as_point

_ROUNDS = 20
_ENOUGH_PX = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lens:
    """Brown-Conrady distortion with two radial and two tangential terms.

    Straight (undistorted) and photo pixels share ``centre_px`` and are divided by ``scale_px`` before the polynomial
    is taken. Source: D. C. Brown, Decentering distortion of lenses, 1966; the terms as in OpenCV.
    """

    centre_px: Points
    scale_px: float
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre_px", as_point(self.centre_px))
        if not self.scale_px > 0:
            raise ValueError("scale_px must be positive")

    def bend(self, straight_px: Points) -> Points:
        """Straight pixels (N, 2) -> photo pixels (N, 2)."""
        x, y = ((straight_px - self.centre_px) / self.scale_px).T
        r2 = x * x + y * y
        radial = 1 + r2 * (self.k1 + r2 * self.k2)
        bent_x = x * radial + 2 * self.p1 * x * y + self.p2 * (r2 + 2 * x * x)
        bent_y = y * radial + self.p1 * (r2 + 2 * y * y) + 2 * self.p2 * x * y
        return np.column_stack([bent_x, bent_y]) * self.scale_px + self.centre_px

    def straighten(self, photo_px: Points) -> Points:
        """Photo pixels (N, 2) -> straight pixels (N, 2), by fixed-point rounds on :meth:`bend`."""
        straight = np.array(photo_px, float)
        for _ in range(_ROUNDS):
            miss = photo_px - self.bend(straight)
            straight += miss
            if np.abs(miss).max(initial=0.0) < _ENOUGH_PX:
                break
        return straight
