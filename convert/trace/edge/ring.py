"""Rings: even sampling, smoothing, and the turn along them."""

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d, maximum_filter1d

from calibration.ground.points import Points, closed, resample, signed_area
from convert.trace.paper.raster import WorkRaster

STEP_MM = 0.5  # between samples of a ring


def ring_of_mask(mask: npt.NDArray[np.bool_], work: WorkRaster, *, step_mm: float = STEP_MM) -> Points:
    """Outer boundary of a mask as an even ring (N, 2) mm, counter-clockwise, good to about half a work pixel."""
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    px = max(rings, key=cv2.contourArea)[:, 0].astype(float)
    ring = work.to_mm(px)
    if signed_area(ring) < 0:
        ring = ring[::-1]
    ring = smooth_ring(even_ring(ring, step_mm), 0.35 / step_mm)
    return ring + 0.5 * work.mm_per_px * outward_normals(smooth_ring(ring, 2.0))  # findContours runs inside the edge


def even_ring(ring: Points, step_mm: float = STEP_MM) -> Points:
    """The ring sampled evenly, first point not repeated."""
    return resample(closed(ring), step_mm)[:-1]


def smooth_ring(ring: Points, sigma: float) -> Points:
    """The ring under a Gaussian of ``sigma`` samples."""
    return np.asarray(gaussian_filter1d(ring, sigma, axis=0, mode="wrap"), float)


def outward_normals(ring: Points) -> Points:
    """Unit normals (N, 2) of a counter-clockwise ring, pointing out."""
    along = np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-12)[:, None]
    return np.column_stack([along[:, 1], -along[:, 0]])


def turns(ring: Points, reach: int) -> npt.NDArray[np.float64]:
    """Turn (N,) in degrees, left positive, between the chords ``reach`` samples before and after each point."""
    before = ring - np.roll(ring, reach, axis=0)
    after = np.roll(ring, -reach, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.asarray(np.degrees(np.arctan2(cross, (before * after).sum(1))), float)


def sharp_turns(ring: Points, *, over_mm: float = 7.0, least_deg: float = 30.0) -> Points:
    """Places (K, 2) where an even ring turns sharply, judged over ``over_mm`` to both sides."""
    reach = round(over_mm / STEP_MM)
    size = np.abs(turns(smooth_ring(ring, 2.0), reach))
    highest = maximum_filter1d(size, 2 * reach + 1, mode="wrap")
    return np.asarray(ring[(size >= highest) & (size > least_deg)])


def pointed(ring: Points, *, over_mm: float = 9.0, least_deg: float = 125.0) -> npt.NDArray[np.bool_]:
    """Which points (N,) of an even counter-clockwise ring lie by a corner too pointed for its sides to show apart."""
    reach = round(over_mm / STEP_MM)
    sharp = turns(smooth_ring(ring, 1.0), round(1.5 * reach)) > least_deg
    return np.asarray(maximum_filter1d(sharp.astype(np.uint8), 2 * reach + 1, mode="wrap") > 0)


def arc(ring: Points, start: int, stop: int) -> Points:
    """The points from index ``start`` to ``stop``, both kept, going forward round the ring."""
    count = (stop - start) % len(ring)
    return ring[np.arange(start, start + count + 1) % len(ring)]
