"""Round fabric weights that lie on the paper."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.points import Points, as_point
from convert.trace.raster import WorkRaster

SMALLEST_MM, LARGEST_MM = 12.0, 50.0  # radius
_LOOK_MM = 1.2  # per pixel while looking
_EDGE = 120  # least gradient of a weight's edge
_PERFECT = 0.75  # how much of a whole circle must show
_AROUND_MM = 6.0  # beside a weight its height and shadow hide the edge as well


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weight:
    """A round thing at ``centre`` (2,) mm with ``radius_mm``."""

    centre: Points
    radius_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "centre", as_point(self.centre))


def find_weights(work: WorkRaster, papers: tuple[npt.NDArray[np.bool_], ...]) -> tuple[Weight, ...]:
    """Round things of the size of a fabric weight that touch a piece of paper, each once.

    Source: circles by the gradient's direction, H. K. Yuen and others, 1990, as OpenCV does it.
    """
    grey = cv2.cvtColor(work.pixels, cv2.COLOR_RGB2GRAY)
    factor = work.mm_per_px / _LOOK_MM
    small = cv2.medianBlur(cv2.resize(grey, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), 3)
    radii = (round(SMALLEST_MM / _LOOK_MM), round(LARGEST_MM / _LOOK_MM))
    seen = cv2.HoughCircles(
        small, cv2.HOUGH_GRADIENT_ALT, 1.5, 15, param1=_EDGE, param2=_PERFECT, minRadius=radii[0], maxRadius=radii[1]
    )
    if seen is None:
        return ()
    touched = np.any(papers, axis=0)
    found: list[Weight] = []
    for x, y, radius in sorted(seen[0][:, :3], key=lambda circle: -circle[2]):
        at = np.array([(x + 0.5) / factor - 0.5, (y + 0.5) / factor - 0.5])
        weight = Weight(centre=work.to_mm([at])[0], radius_mm=float(radius) * _LOOK_MM)
        inside = any(np.hypot(*(weight.centre - other.centre)) < other.radius_mm for other in found)
        if not inside and _touches(touched, at, weight.radius_mm / work.mm_per_px):
            found.append(weight)
    return tuple(found)


def _touches(mask: npt.NDArray[np.bool_], at_px: Points, radius_px: float) -> bool:
    """Whether paper lies round a circle: on a quarter of a ring just outside it."""
    angle = np.linspace(0, 2 * np.pi, 72, endpoint=False)
    ring = np.rint(at_px + 1.15 * radius_px * np.column_stack([np.cos(angle), np.sin(angle)])).astype(int)
    ok = (ring >= 0).all(1) & (ring < mask.shape[::-1]).all(1)
    return bool(mask[ring[ok, 1], ring[ok, 0]].mean() > 0.25) if ok.any() else False


def under_weights(
    points: Points, weights: tuple[Weight, ...], *, around_mm: float = _AROUND_MM
) -> npt.NDArray[np.bool_]:
    """Which points (N, 2) lie under a weight or so near that its height and shadow hide what is there."""
    hidden = np.zeros(len(points), bool)
    for weight in weights:
        hidden |= np.hypot(*(points - weight.centre).T) < weight.radius_mm + around_mm
    return hidden
