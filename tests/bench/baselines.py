"""What general-purpose tools make of the same flat pictures: GrabCut with findContours, and potrace.

Both are helped: they are shown where the piece lies, and potrace traces GrabCut's mask, the best one there is.
"""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet, coarser

_LONGEST_PX = 1400
_ROUNDS = 4
_BESIDE_MM = 22.0


def grabcut_mask(sheet: FlatSheet, low: Points, high: Points) -> tuple[npt.NDArray[np.uint8], FlatSheet, Points]:
    """The paper's mask in a box told (mm), by C. Rother and others' GrabCut; the sheet it lies on; the box's corner."""
    small = coarser(sheet, _LONGEST_PX)
    (left, bottom), (right, top) = np.rint(small.to_px([low - _BESIDE_MM, high + _BESIDE_MM])).astype(int)
    height, width = small.seen.shape
    left, top = max(left, 0), max(top, 0)
    right, bottom = min(right, width - 1), min(bottom, height - 1)
    part = np.ascontiguousarray(small.pixels[top:bottom, left:right, ::-1])
    rim = max(3, round(0.5 * _BESIDE_MM / small.mm_per_px))
    mask = np.zeros(part.shape[:2], np.uint8)
    cv2.setRNGSeed(1)
    box = (rim, rim, part.shape[1] - 2 * rim, part.shape[0] - 2 * rim)
    cv2.grabCut(part, mask, box, np.zeros((1, 65)), np.zeros((1, 65)), _ROUNDS, cv2.GC_INIT_WITH_RECT)
    paper = ((mask == cv2.GC_FGD) | (mask == cv2.GC_PR_FGD)).astype(np.uint8)
    return paper, small, np.array([left, top], float)


def contour_of(mask: npt.NDArray[np.uint8], sheet: FlatSheet, corner: Points) -> Points:
    """The largest contour as findContours gives it, mm; grown by the half pixel by which it runs inside the edge."""
    rings, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not rings:
        return np.zeros((0, 2))
    return sheet.to_mm(max(rings, key=cv2.contourArea)[:, 0].astype(float) + corner)


def potrace_of(mask: npt.NDArray[np.uint8], sheet: FlatSheet, corner: Points) -> tuple[Points, int]:
    """Potrace's largest curve as dense points (mm), and how many nodes it has. Source: P. Selinger, Potrace, 2003."""
    import potrace

    plist = potrace.Bitmap(mask == 0).trace(turdsize=50)  # it takes what is false for ink
    best, nodes, size = np.zeros((0, 2)), 0, 0.0
    share = np.linspace(0, 1, 12)[:, None]
    for curve in plist:
        at = np.array([curve.start_point.x, curve.start_point.y])
        parts: list[Points] = []
        for segment in curve.segments:
            end = np.array([segment.end_point.x, segment.end_point.y])
            if segment.is_corner:
                middle = np.array([segment.c.x, segment.c.y])
                parts += [at + share * (middle - at), middle + share * (end - middle)]
            else:
                c1, c2 = (np.array([c.x, c.y]) for c in (segment.c1, segment.c2))
                parts.append(
                    (1 - share) ** 3 * at
                    + 3 * share * (1 - share) ** 2 * c1
                    + 3 * share**2 * (1 - share) * c2
                    + share**3 * end
                )
            at = end
        ring = np.vstack(parts)
        area = abs(cv2.contourArea(ring.astype(np.float32)))
        if area > size:
            best, size = ring, area
            nodes = sum(2 if segment.is_corner else 1 for segment in curve.segments)
    px = best - 0.5  # potrace counts from a pixel's corner, we from its centre
    return sheet.to_mm(px + corner), nodes
