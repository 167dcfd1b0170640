"""Several placed sheets drawn as one, without a visible seam."""

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.joining.matching import Matrix, moved
from calibration.sheet.flatten import FlatSheet

Mask = npt.NDArray[np.bool_]
Grey = npt.NDArray[np.float32]  # one value a pixel

_BIGGEST_PX = 60_000_000
_SHARP_MM = 0.4  # over which one sheet's detail gives way to the other's: wider would show double edges
_SOFT_MM = 12.0  # over which one sheet's light gives way to the other's: narrower would show as a line
_COARSE_MM = 1.0  # scale at which light and depth are computed
_LIGHT_MM = 8.0  # what varies more slowly than this is light


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Canvas:
    """The raster that is drawn on: scale, position of its top-left pixel's centre, size."""

    mm_per_px: float
    origin_mm: Points
    width: int
    height: int

    def from_sheet(self, sheet: FlatSheet, move: Matrix) -> npt.NDArray[np.float64]:
        """Affine map (2, 3) from the sheet's pixels to the canvas's."""
        corners = np.array([[0.0, 0.0], [1000.0, 0.0], [0.0, 1000.0]])
        there = (moved(sheet.to_mm(corners), move) - self.origin_mm) / [self.mm_per_px, -self.mm_per_px]
        return np.linalg.solve(np.column_stack([corners, np.ones(3)]), there).T


def canvas_for(sheets: Sequence[FlatSheet], moves: Sequence[Matrix]) -> Canvas:
    """A canvas that holds all sheets, on the pixel grid of the first one if it is the finest."""
    scale = min(sheet.mm_per_px for sheet in sheets)
    corners = np.concatenate([moved(_corners_mm(sheet), move) for sheet, move in zip(sheets, moves, strict=True)])
    low, high = corners.min(0), corners.max(0)
    pixels = float(np.prod((high - low) / scale + 2))
    scale *= max(1.0, float(np.sqrt(pixels / _BIGGEST_PX)))
    anchor = sheets[0].origin_mm
    left = anchor[0] + np.floor((low[0] - anchor[0]) / scale) * scale
    top = anchor[1] + np.ceil((high[1] - anchor[1]) / scale) * scale
    width = int(np.ceil((high[0] - left) / scale)) + 1
    height = int(np.ceil((top - low[1]) / scale)) + 1
    return Canvas(mm_per_px=scale, origin_mm=np.array([left, top]), width=width, height=height)


def _corners_mm(sheet: FlatSheet) -> Points:
    height, width = sheet.seen.shape
    return sheet.to_mm([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]])


def composite(
    sheets: Sequence[FlatSheet], moves: Sequence[Matrix], depths: Sequence[Grey], canvas: Canvas
) -> tuple[npt.NDArray[np.uint8], Mask]:
    """Pixels (height, width, 3) and where anything is known (height, width).

    ``depths`` say how good each sheet is at each of its pixels (mm, larger is better, 0 or less: not to be used): the
    best is taken, the others only give way to it smoothly. Detail changes over sharply, light slowly.
    Source: P. J. Burt and E. H. Adelson, A multiresolution spline with application to image mosaics, 1983, two bands.
    """
    size = (canvas.width, canvas.height)
    maps = [canvas.from_sheet(sheet, move) for sheet, move in zip(sheets, moves, strict=True)]
    depth = [_laid(d, m, size, cv2.BORDER_CONSTANT) for d, m in zip(depths, maps, strict=True)]
    sharp, soft = _weights(depth, _SHARP_MM), _weights(depth, _SOFT_MM)
    seen = np.max(depth, axis=0) > 0
    out = np.zeros((canvas.height, canvas.width, 3), np.uint8)
    for channel in range(3):
        total = np.zeros((canvas.height, canvas.width), np.float32)
        for k, sheet in enumerate(sheets):
            plane = np.ascontiguousarray(sheet.pixels[..., channel])
            light = _light(plane, depths[k] > 0, sheet.mm_per_px)
            drawn = cv2.warpAffine(plane, maps[k], size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)
            lit = _laid(light, maps[k], size, cv2.BORDER_REPLICATE)
            total += sharp[k] * drawn + (soft[k] - sharp[k]) * lit
        out[..., channel] = np.clip(total + 0.5, 0, 255).astype(np.uint8)
    rim = seen & (cv2.erode(seen.astype(np.uint8), np.ones((9, 9), np.uint8)) == 0)
    out[~seen] = np.median(out[rim], axis=0) if rim.any() else 0
    return out, seen


def _laid(plane: Grey, affine: npt.NDArray[np.float64], size: tuple[int, int], border: int) -> Grey:
    """A smooth plane moved onto the canvas; -1 outside, or its rim carried on."""
    laid = cv2.warpAffine(plane, affine, size, flags=cv2.INTER_LINEAR, borderMode=border, borderValue=-1.0)
    return np.asarray(laid, np.float32)


def _weights(depth: list[Grey], blend_mm: float) -> list[Grey]:
    """Share of each sheet at each pixel, summing to 1 where any sheet is usable."""
    best = np.max(depth, axis=0)
    parts = [np.clip(1.0 + (d - best) / blend_mm, 0.0, 1.0) * np.clip(d / blend_mm, 0.0, 1.0) for d in depth]
    parts = [np.where((d == best) & (d > 0), np.maximum(p, 1e-3), p) for d, p in zip(depth, parts, strict=True)]
    total = np.maximum(np.sum(parts, axis=0), 1e-6)
    return [(part / total).astype(np.float32) for part in parts]


def _light(plane: npt.NDArray[np.uint8], usable: Mask, mm_per_px: float) -> Grey:
    """The slow part of one channel, from usable pixels only."""
    shrink = min(1.0, mm_per_px / _COARSE_MM)
    small = cv2.resize(plane * usable, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA).astype(np.float32)
    weight = cv2.resize(usable.astype(np.float32), small.shape[::-1], interpolation=cv2.INTER_AREA)
    sigma = _LIGHT_MM * shrink / mm_per_px
    blurred = cv2.GaussianBlur(small, (0, 0), sigma) / np.maximum(cv2.GaussianBlur(weight, (0, 0), sigma), 1e-3)
    return np.asarray(cv2.resize(blurred, plane.shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32)


def depth_inside(usable: Mask, mm_per_px: float) -> Grey:
    """Distance (mm) of each usable pixel from the nearest that is not, the sheet's rim included; -1 elsewhere."""
    shrink = min(1.0, mm_per_px / _COARSE_MM)
    height, width = usable.shape
    size = (max(1, round(width * shrink)), max(1, round(height * shrink)))
    small = cv2.resize(usable.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST)
    framed = cv2.copyMakeBorder(small, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    far = cv2.distanceTransform(framed, cv2.DIST_L2, 5)[1:-1, 1:-1] * (mm_per_px / shrink)
    deep = np.asarray(cv2.resize(far.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR), np.float32)
    deep[~usable] = -1.0
    return deep
