"""The lens: radial and tangential distortion about the picture's centre."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points, as_point

_ROUNDS = 60
_ENOUGH_PX = 1e-7
_LEAST_SLOPE = 0.25  # of the bent by the straight radius, that a real lens keeps over its picture
_FARTHEST = 2.5  # straight radius looked at, in units of the scale


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lens:
    """Brown-Conrady distortion with two radial and two tangential terms.

    Straight (undistorted) and photo pixels share ``centre_px`` and are divided by ``scale_px`` before the polynomial
    is taken. Source: D. C. Brown, Decentering distortion of lenses, 1966; the terms as in OpenCV.

    ``reach`` is the straight radius, in units of the scale, up to which the polynomial is known to hold: beyond it the
    picture goes on evenly, as no polynomial does.
    """

    centre_px: Points
    scale_px: float
    k1: float = 0.0
    k2: float = 0.0
    p1: float = 0.0
    p2: float = 0.0
    reach: float = np.inf

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre_px", as_point(self.centre_px))
        if not self.scale_px > 0:
            raise ValueError("scale_px must be positive")

    def bend(self, straight_px: Points) -> Points:
        """Straight pixels (N, 2) -> photo pixels (N, 2)."""
        x, y = ((straight_px - self.centre_px) / self.scale_px).T
        r2 = x * x + y * y
        beyond = None
        if np.isfinite(self.reach):
            beyond = np.maximum(np.sqrt(r2) / self.reach, 1.0)
            x, y, r2 = x / beyond, y / beyond, np.minimum(r2, self.reach**2)
        radial = 1 + r2 * (self.k1 + r2 * self.k2)
        bent_x = x * radial + 2 * self.p1 * x * y + self.p2 * (r2 + 2 * x * x)
        bent_y = y * radial + self.p1 * (r2 + 2 * y * y) + 2 * self.p2 * x * y
        bent = np.column_stack([bent_x, bent_y])
        if beyond is not None:
            slope = 1 + self.reach**2 * (3 * self.k1 + 5 * self.k2 * self.reach**2)
            bent += (max(slope, _LEAST_SLOPE) * (beyond - 1))[:, None] * np.column_stack([x, y])
        return bent * self.scale_px + self.centre_px

    def straighten(self, photo_px: Points) -> Points:
        """Photo pixels (N, 2) -> straight pixels (N, 2), by fixed-point rounds on :meth:`bend`."""
        straight = np.array(photo_px, float)
        for _ in range(_ROUNDS):
            miss = photo_px - self.bend(straight)
            straight += miss
            if np.abs(miss).max(initial=0.0) < _ENOUGH_PX:
                break
        return straight


def reach_of(k1: float, k2: float, bent_radius: float) -> float:
    """How far out, straight, a lens leads steadily outwards; infinite if as far as ``bent_radius``, and beyond.

    All radii in units of the lens's scale.
    """
    r = np.linspace(0.0, _FARTHEST, 501)
    slope = 1 + r**2 * (3 * k1 + 5 * k2 * r**2)
    bent = r * (1 + r**2 * (k1 + k2 * r**2))
    ends = np.flatnonzero((slope < _LEAST_SLOPE) | (slope > 1 / _LEAST_SLOPE))
    if not len(ends) or bent[ends[0]] > bent_radius:
        return np.inf
    return float(r[max(int(ends[0]) - 1, 1)])
