"""A square of the mat taken for paper: bounded by the mat's own lines all round."""

import cv2
import numpy as np

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet

_ON_LINE_MM = 0.8  # from the middle of a line of the mat: half a broad line, and what a blurred edge adds
_ALL_ROUND = 0.95  # of the outline
_FULL = 0.96  # of the rectangle about it
_ASIDE_MM = 6.0  # of mat looked at round it
_ALIKE = 70.0  # pixel values, all three colours together, by which a mat's own squares differ at most


def is_square_of_mat(outline: Points, sheet: FlatSheet) -> bool:
    """Whether an outline (N, 2), mat mm, is a rectangle on lines of the mat all round, and much of the mat's colour.

    No pattern piece is one: it would have to lie on the lines to the thickness of a line on all four sides.
    """
    lattice = sheet.lattice
    if lattice is None or lattice.kind != "lines":
        return False
    across, up = np.ptp(outline, axis=0)
    if float(cv2.contourArea(np.asarray(outline, np.float32))) < _FULL * across * up:
        return False
    pitches = np.asarray(lattice.pitches_mm)
    off = np.abs(outline - np.rint(outline / pitches) * pitches).min(1)
    return bool((off < _ON_LINE_MM).mean() > _ALL_ROUND) and _unlike_mat(outline, sheet) < _ALIKE


def _unlike_mat(outline: Points, sheet: FlatSheet) -> float:
    """By how much what lies inside differs from the mat round it, pixel values."""
    mask = np.zeros(sheet.pixels.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.rint(sheet.to_px(outline)).astype(np.int32)], 1)
    wide = 2 * round(_ASIDE_MM / sheet.mm_per_px) + 1
    round_it = cv2.dilate(mask, np.ones((wide, wide), np.uint8)) - mask
    inside, outside = (np.median(sheet.pixels[part > 0], axis=0) for part in (mask, round_it))
    return float(np.hypot.reduce(inside.astype(float) - outside))
