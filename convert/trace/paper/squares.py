"""A square of the mat taken for paper: bounded by the mat's own lines all round."""

import cv2
import numpy as np

from calibration.ground.points import Points
from calibration.lattice.mat import Lattice

_ON_LINE_MM = 0.8  # from the middle of a line of the mat: half a broad line, and what a blurred edge adds
_ALL_ROUND = 0.95  # of the outline
_FULL = 0.96  # of the rectangle about it


def is_square_of_mat(outline: Points, lattice: Lattice | None) -> bool:
    """Whether an outline (N, 2), mat mm, is a rectangle whose sides all lie on lines of the mat.

    No pattern piece is one: it would have to lie on the lines to the thickness of a line on all four sides.
    """
    if lattice is None or lattice.kind != "lines":
        return False
    across, up = np.ptp(outline, axis=0)
    area = float(cv2.contourArea(np.asarray(outline, np.float32)))
    if area < _FULL * across * up:
        return False
    pitches = np.asarray(lattice.pitches_mm)
    off = np.abs(outline - np.rint(outline / pitches) * pitches).min(1)
    return bool((off < _ON_LINE_MM).mean() > _ALL_ROUND)
