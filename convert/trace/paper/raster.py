"""A coarser copy of a flat sheet to find things on, and sampling between pixels."""

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet

_ROW = 1024  # OpenCV's remap takes fewer than 32768 rows, so points are laid out in rows of this many


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WorkRaster:
    """A sheet averaged down to about half a millimetre per pixel; frame as in :class:`FlatSheet`.

    ``pixels`` (h, w, 3) uint8, ``seen`` (h, w) bool, ``origin_mm`` the centre of its top-left pixel on the mat.
    """

    pixels: npt.NDArray[np.uint8]
    seen: npt.NDArray[np.bool_]
    mm_per_px: float
    origin_mm: Points

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Raster pixels (N, 2), x right, y down -> mat mm (N, 2)."""
        return self.origin_mm + np.atleast_2d(np.asarray(px, float)) * [self.mm_per_px, -self.mm_per_px]

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """Mat mm (N, 2) -> raster pixels (N, 2)."""
        return (np.atleast_2d(np.asarray(mm, float)) - self.origin_mm) / [self.mm_per_px, -self.mm_per_px]

    def px(self, length_mm: float) -> int:
        """A length in whole pixels, at least 1."""
        return max(1, round(length_mm / self.mm_per_px))

    def disc(self, radius_mm: float) -> npt.NDArray[np.uint8]:
        """A round structuring element."""
        size = 2 * self.px(radius_mm) + 1
        return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def reduce(sheet: FlatSheet, *, to_mm_per_px: float = 0.5) -> WorkRaster:
    """The sheet averaged over whole blocks of pixels to about ``to_mm_per_px``."""
    block = max(1, round(to_mm_per_px / sheet.mm_per_px))
    height, width = (n // block for n in sheet.pixels.shape[:2])
    size = (width, height)
    crop = np.s_[: height * block, : width * block]
    seen = cv2.resize(sheet.seen[crop].astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    return WorkRaster(
        pixels=np.asarray(cv2.resize(sheet.pixels[crop], size, interpolation=cv2.INTER_AREA), np.uint8),
        seen=seen.astype(bool),
        mm_per_px=sheet.mm_per_px * block,
        origin_mm=sheet.to_mm([[(block - 1) / 2, (block - 1) / 2]])[0],
    )


def channel_dot(a: npt.NDArray[np.floating[Any]], b: npt.NDArray[np.floating[Any]]) -> npt.NDArray[np.floating[Any]]:
    """Scalar products (...) of two stacks of colours (..., 3): many times faster than a sum over so short an axis."""
    return np.asarray(np.einsum("...c,...c->...", a, b))


def sample(pixels: npt.NDArray[np.generic], at_px: Points) -> npt.NDArray[np.float32]:
    """Values (N, channels) of a raster between its pixels, bilinear; beyond the raster its edge goes on."""
    count = len(at_px)
    padded = np.zeros((-(-count // _ROW) * _ROW, 2), np.float32)
    padded[:count] = at_px
    x, y = padded.reshape(-1, _ROW, 2).transpose(2, 0, 1)
    source: Any = pixels if pixels.dtype == np.uint8 else pixels.astype(np.float32)
    out = cv2.remap(source, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(out, np.float32).reshape(len(padded), -1)[:count]
