"""Two sheets laid over each other: how far, place by place, one still lies beside the other."""

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.joining.matching import Mask, Matches, Matrix, best_rigid, moved
from calibration.sheet.flatten import FlatSheet

_FINE_MM = 0.16  # scale of the rasters compared
_MOST_PLACES = 1200
_PLACES_APART_MM = 2.5
_WINDOW_MM = 4.0  # what is compared around each place: about a letter, or a piece of a line's end
_CLEAR = 0.004  # share of the best corner's strength that a place must have
_LEVEL_MM = 3.0  # brightness is compared after its mean over this is taken away
_REACH_MM = 1.0  # places found further away than this were no places
_BACK_MM = 0.05  # going there and back must end where it began
_LEAST_PLACES = 12


def align(
    a: FlatSheet, b: FlatSheet, move: Matrix, where_a: Mask | None = None, where_b: Mask | None = None
) -> Matches:
    """Pairs of places to a few hundredths of a millimetre, from a move from b to a that is right to about 0.5 mm.

    Source: B. D. Lucas and T. Kanade, An iterative image registration technique, 1981, there and back, as in OpenCV.

    Raises
    ------
    ValueError
        If the sheets show too little in common to be compared.
    """
    low, high = _overlap(a, b, move)
    if (high - low < _WINDOW_MM).any():
        raise ValueError("the sheets do not overlap")
    size = tuple(int(n) for n in np.ceil((high - low) / _FINE_MM) + 1)
    top_left = np.array([low[0], high[1]])
    one, seen_one = _raster(a, np.eye(3), where_a, top_left, size)
    two, seen_two = _raster(b, move, where_b, top_left, size)
    both = cv2.erode((seen_one & seen_two).astype(np.uint8), np.ones((9, 9), np.uint8), borderValue=0)
    found = cv2.goodFeaturesToTrack(
        one, _MOST_PLACES, _CLEAR, _PLACES_APART_MM / _FINE_MM, mask=both, blockSize=7, useHarrisDetector=False
    )
    start = np.zeros((0, 1, 2), np.float32) if found is None else np.asarray(found, np.float32)
    at, there = _followed(one, two, start)
    if len(at) < _LEAST_PLACES:
        raise ValueError("the sheets share too little")
    a_mm = top_left + at * [_FINE_MM, -_FINE_MM]
    b_mm = moved(top_left + there * [_FINE_MM, -_FINE_MM], np.asarray(np.linalg.inv(move)))
    return _sifted(a_mm, b_mm)


def _overlap(a: FlatSheet, b: FlatSheet, move: Matrix) -> tuple[Points, Points]:
    """Lower left and upper right of what both may show, in a's frame."""
    height, width = b.seen.shape
    corners = moved(b.to_mm([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]]), move)
    height, width = a.seen.shape
    own = a.to_mm([[0, height - 1], [width - 1, 0]])
    return np.maximum(own[0], corners.min(0)), np.minimum(own[1], corners.max(0))


def _raster(
    sheet: FlatSheet, move: Matrix, where: Mask | None, top_left: Points, size: tuple[int, ...]
) -> tuple[npt.NDArray[np.uint8], Mask]:
    """The sheet's brightness, evened out, on the common raster; and where it is known."""
    ends = np.array([[0.0, 0.0], [1000.0, 0.0], [0.0, 1000.0]])
    back = sheet.to_px(moved(top_left + ends * [_FINE_MM, -_FINE_MM], np.asarray(np.linalg.inv(move))))
    affine = np.linalg.solve(np.column_stack([ends, np.ones(3)]), back).T
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    grey = cv2.cvtColor(sheet.pixels, cv2.COLOR_RGB2GRAY)
    blur = 0.4 * _FINE_MM / sheet.mm_per_px
    grey = cv2.GaussianBlur(grey, (0, 0), blur) if blur > 0.4 else grey
    laid = cv2.warpAffine(grey, affine, size, flags=flags).astype(np.float32)
    allowed = sheet.seen if where is None else sheet.seen & where
    known = cv2.warpAffine(allowed.astype(np.uint8), affine, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP) > 0
    sigma = _LEVEL_MM / _FINE_MM
    weight = cv2.blur(known.astype(np.float32), (int(2 * sigma) | 1,) * 2) + 1e-3
    level = cv2.blur(laid * known, (int(2 * sigma) | 1,) * 2) / weight
    flat = (laid - level) * known
    spread = float(np.sqrt((flat[known] ** 2).mean())) if known.any() else 1.0
    return np.clip(128 + flat * (24.0 / max(spread, 0.5)), 0, 255).astype(np.uint8), known


def _followed(
    one: npt.NDArray[np.uint8], two: npt.NDArray[np.uint8], start: npt.NDArray[np.float32]
) -> tuple[Points, Points]:
    """Places of the first raster found again in the second, and from there in the first."""
    if not len(start):
        return np.zeros((0, 2)), np.zeros((0, 2))
    side = int(_WINDOW_MM / _FINE_MM) | 1
    stop = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 40, 0.003)
    flow = cv2.SparsePyrLKOpticalFlow.create(winSize=(side, side), maxLevel=2, crit=stop)
    there, ok, _ = (np.asarray(value) for value in flow.calc(one, two, start, start.copy()))
    back, ok_back, _ = (np.asarray(value) for value in flow.calc(two, one, there, there.copy()))
    far = np.hypot(*(there - start).reshape(-1, 2).T) * _FINE_MM
    returned = np.hypot(*(back - start).reshape(-1, 2).T) * _FINE_MM
    good = (ok.ravel() > 0) & (ok_back.ravel() > 0) & (far < _REACH_MM) & (returned < _BACK_MM)
    return start.reshape(-1, 2)[good].astype(float), there.reshape(-1, 2)[good].astype(float)


def _sifted(a_mm: Points, b_mm: Points) -> Matches:
    """Without the pairs that lie far from what the others say."""
    keep = np.ones(len(a_mm), bool)
    for _ in range(5):
        move = best_rigid(b_mm[keep], a_mm[keep])
        apart = np.hypot(*(a_mm - moved(b_mm, move)).T)
        keep = apart < max(4.0 * float(np.median(apart[keep])), 0.05)
    return Matches(a_mm=a_mm[keep], b_mm=b_mm[keep], move=best_rigid(b_mm[keep], a_mm[keep]))
