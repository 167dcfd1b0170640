"""Thin printed lines in a picture, found point by point to a fraction of a pixel."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points

_BORDER_PX = 4
_NEIGHBOURHOOD_PX = 61
_MOST_ROUND = 0.5  # second curvature over first: above it the spot is a blob or a corner, not a line
_FIRST = np.array([-0.5, 0.0, 0.5], np.float32)
_SECOND = np.array([1.0, -2.0, 1.0], np.float32)
_SAME = np.array([0.0, 1.0, 0.0], np.float32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ridges:
    """Points on thin lines: place (N, 2) px, unit normal (N, 2), and whether the line is lighter than its ground."""

    at: Points
    normal: Points
    light: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.at)

    def only(self, chosen: npt.NDArray[np.bool_] | npt.NDArray[np.int64]) -> "Ridges":
        """Some of them."""
        return Ridges(at=self.at[chosen], normal=self.normal[chosen], light=self.light[chosen])


def find_ridges(grey: npt.NDArray[np.float32], *, sigma_px: float = 1.2, prominence: float = 2.5) -> Ridges:
    """Ridge and valley points of a grey picture (H, W).

    A point is kept where the curvature across the line stands out ``prominence`` times from its neighbourhood's mean.
    Source: C. Steger, An unbiased detector of curvilinear structures, IEEE TPAMI 20(2), 1998.
    """
    smooth = cv2.GaussianBlur(grey, (0, 0), sigma_px).astype(np.float32, copy=False)
    gx, gy = _derivative(smooth, _FIRST, _SAME), _derivative(smooth, _SAME, _FIRST)
    gxx, gyy = _derivative(smooth, _SECOND, _SAME), _derivative(smooth, _SAME, _SECOND)
    gxy = _derivative(smooth, _FIRST, _FIRST)
    mean = (gxx + gyy) * 0.5
    spread = np.sqrt(np.square(gxx - gyy) * 0.25 + gxy * gxy)
    across = mean + np.where(mean >= 0, spread, -spread)
    size = np.abs(across)
    kept = size > prominence * cv2.blur(size, (_NEIGHBOURHOOD_PX, _NEIGHBOURHOOD_PX))
    kept &= np.abs(2 * mean - across) < _MOST_ROUND * size
    kept &= size > 1e-3 * float(size.max(initial=0.0)) + 1e-6
    for edge in (kept[:_BORDER_PX], kept[-_BORDER_PX:], kept[:, :_BORDER_PX], kept[:, -_BORDER_PX:]):
        edge[...] = False
    y, x = np.nonzero(kept)
    a, b, c, strongest = gxx[y, x], gxy[y, x], gyy[y, x], across[y, x]
    steep = np.abs(strongest - c) > np.abs(strongest - a)
    normal = np.column_stack([np.where(steep, strongest - c, b), np.where(steep, b, strongest - a)]).astype(float)
    normal /= np.maximum(np.hypot(*normal.T), 1e-12)[:, None]
    shift = (-(gx[y, x] * normal[:, 0] + gy[y, x] * normal[:, 1]) / strongest)[:, None] * normal
    on_crest = (np.abs(shift) <= 0.5).all(1)
    at = np.column_stack([x, y])[on_crest] + shift[on_crest]
    return Ridges(at=at, normal=normal[on_crest], light=strongest[on_crest] < 0)


def _derivative(
    image: npt.NDArray[np.float32], along_x: npt.NDArray[np.float32], along_y: npt.NDArray[np.float32]
) -> npt.NDArray[np.float32]:
    return cv2.sepFilter2D(image, cv2.CV_32F, along_x, along_y).astype(np.float32, copy=False)
