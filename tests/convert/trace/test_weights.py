"""Fabric weights on the paper, and what only looks round."""

import cv2
import numpy as np

from calibration.ground.points import as_point
from convert.trace.paper.raster import WorkRaster
from convert.trace.paper.weights import find_weights

MM_PER_PX = 0.4
MAT, PAPER = (120, 125, 135), (180, 140, 98)


def raster(paper: np.ndarray, weight: tuple[int, int, int] | None) -> tuple[WorkRaster, np.ndarray, np.ndarray]:
    """Paper where ``paper`` is, a weight of a colour with a dark rim 1.2 mm wide over its edge, noise and blur."""
    pixels = np.full((*paper.shape, 3), MAT, np.uint8)
    pixels[paper] = PAPER
    if weight is not None:
        cv2.circle(pixels, (300, 250), 63, (60, 58, 60), -1, cv2.LINE_AA)
        cv2.circle(pixels, (300, 250), 60, weight, -1, cv2.LINE_AA)
    pixels = cv2.GaussianBlur(pixels, (0, 0), 1.0)
    noisy = pixels + np.random.default_rng(1).normal(0, 3, pixels.shape)
    pixels = np.clip(noisy, 0, 255).astype(np.uint8)
    gap = np.subtract(PAPER, MAT).astype(float)
    share = ((pixels - np.array(MAT)) @ gap / (gap @ gap)).astype(np.float32)
    seen = np.ones(paper.shape, bool)
    work = WorkRaster(pixels=pixels, seen=seen, mm_per_px=MM_PER_PX, origin_mm=as_point([0.0, 200.0]))
    return work, paper, share


def test_a_grey_weight_over_the_edge_on_a_grey_mat_is_found_by_its_rim() -> None:
    paper = np.zeros((500, 700), bool)
    paper[250:, :] = True
    work, mask, share = raster(paper, (126, 124, 128))
    found = find_weights(work, (mask,), share)
    assert len(found) == 1
    assert np.hypot(*(found[0].centre - work.to_mm([[300, 250]])[0])) < 1.5
    assert abs(found[0].radius_mm - 63 * MM_PER_PX) < 2.5


def test_a_round_bay_of_the_edge_is_no_weight() -> None:
    """An underarm curve: two thirds of a circle of mat in the paper."""
    paper = np.zeros((500, 700), np.uint8)
    paper[180:, :] = 1
    cv2.circle(paper, (300, 200), 75, 0, -1)
    work, mask, share = raster(paper > 0, None)
    assert find_weights(work, (mask,), share) == ()
