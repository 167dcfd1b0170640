"""Clear tape that sticks out beyond the paper's edge: neither paper nor mat, so that the edge is the paper's again."""

import cv2
import numpy as np
import numpy.typing as npt

from convert.trace.paper.raster import WorkRaster

Mask = npt.NDArray[np.bool_]

_BETWEEN = (0.35, 0.82)  # shares of paper that clear tape on the mat shows
_NARROWEST_MM = 1.2  # half of what sticks out, at least: lines of the mat are narrower
_LEAST_MM2 = 15.0
_EVEN = 0.12  # standard deviation of the share over one end of tape; shadows and worn paper vary more
_OUTSIDE_MM = 1.5
_ALONG = 0.3  # share of it that lies so near to the outside: print and stains lie within
_REACH_MM = 1.6  # round what is surely tape, its own blurred edge
_PAPER_MM = 6.0  # round it, paper shows what share is whole
_RIM_MM = 4.0  # where the mat or the picture ends, half a share means nothing


def tape_beyond(
    share: npt.NDArray[np.float32], mask: Mask, depth_mm: npt.NDArray[np.float32], work: WorkRaster
) -> Mask:
    """Which pixels (h, w) of a piece's mask are clear tape, or another thin veil, that sticks out of its edge."""
    even = cv2.blur(share, (3, 3))
    half = ((even > _BETWEEN[0]) & (even < _BETWEEN[1]) & mask & (depth_mm > _RIM_MM)).astype(np.uint8)
    core = cv2.morphologyEx(half, cv2.MORPH_OPEN, work.disc(_NARROWEST_MM))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(core, connectivity=4)
    veil = np.zeros(mask.shape, bool)
    if count == 1:
        return veil
    outside = cv2.dilate((~mask).astype(np.uint8), work.disc(_OUTSIDE_MM)) > 0
    for label in range(1, count):
        part = np.asarray(labels == label)
        area = stats[label, cv2.CC_STAT_AREA] * work.mm_per_px**2
        if area < _LEAST_MM2 or (part & outside).sum() < _ALONG * part.sum() or share[part].std() > _EVEN:
            continue
        near = cv2.dilate(part.astype(np.uint8), work.disc(_PAPER_MM)) > 0
        whole = share[near & mask & ~half.astype(bool) & ~outside]
        if not len(whole):
            continue
        limit = (float(np.median(share[part])) + float(np.median(whole))) / 2
        veil |= (cv2.dilate(part.astype(np.uint8), work.disc(_REACH_MM)) > 0) & mask & (even < limit)
    return veil
