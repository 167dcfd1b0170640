"""Whether an outline can be that of one whole piece: pieces that touch, outlines that cross themselves."""

import re
from itertools import combinations

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import LinearRing, LineString, Polygon
from shapely.validation import explain_validity

from calibration.ground.errors import Note
from calibration.ground.points import Points, signed_area
from convert.trace.paper.raster import WorkRaster

_NECK_MM = 10.0  # half as wide as the narrowest place inside a piece
_INWARD_DEG = (40.0, 135.0)  # by so much the outline turns back where two papers' edges cross
_ARM_MM, _LONG_ARM_MM = 6.0, 25.0
_LEAST_SHARE, _LEAST_MM2 = 0.2, 2500.0  # what each of two pieces has at least


def doubts(
    outline: Points, corners: npt.NDArray[np.int64], mask: npt.NDArray[np.bool_], work: WorkRaster
) -> tuple[Note, ...]:
    """Notes on an outline that is none of a single whole piece; empty where all is well."""
    notes = []
    ring = LinearRing(outline)
    neck = touching_at(mask, work)
    if neck is None and ring.is_simple:
        neck = overlapping_at(outline, corners)
    if neck is not None:
        notes.append(
            Note(
                "pieces-touch",
                f"Two pieces of paper seem to touch or overlap near {neck[0] / 10:.0f} cm across, "
                f"{neck[1] / 10:.0f} cm up. Lay them a finger's breadth apart and take the picture again.",
            )
        )
    if not ring.is_simple:
        x, y = _crossing(outline) / 10
        notes.append(
            Note(
                "crosses-itself",
                f"The outline that was read crosses itself near {x:.0f} cm across, {y:.0f} cm up. "
                "Smooth the paper and take the picture again, or move the outline's points by hand.",
            )
        )
    return tuple(notes)


def overlapping_at(outline: Points, corners: npt.NDArray[np.int64]) -> Points | None:
    """Where (2,) one piece lies over another, or None.

    The outlines of two papers cross an even number of times, and each crossing is a corner that points inwards. One
    piece has hardly more than one of these (a square neckline, a cut-on sleeve); an open dart's point is far sharper.
    """
    inward = [
        int(k)
        for k in corners
        if _INWARD_DEG[0] < -_turn_deg(outline, int(k), _ARM_MM) < _INWARD_DEG[1]
        and -_turn_deg(outline, int(k), _LONG_ARM_MM) < _INWARD_DEG[1]
    ]
    whole = Polygon(outline)
    best, place = np.inf, None
    for i, j in combinations(inward, 2):
        chord = outline[[i, j]]
        parts = [Polygon(outline[i : j + 1]), Polygon(np.vstack([outline[j:], outline[: i + 1]]))]
        within = LineString(chord).difference(whole.buffer(1.0)).is_empty
        shared = min(abs(signed_area(np.asarray(part.exterior.coords)[:-1])) for part in parts)
        if within and shared > max(_LEAST_MM2, _LEAST_SHARE * whole.area) and np.hypot(*(chord[1] - chord[0])) < best:
            best, place = float(np.hypot(*(chord[1] - chord[0]))), chord.mean(0)
    return place


def _turn_deg(outline: Points, k: int, arm_mm: float) -> float:
    """How far the outline turns at a point, to the left, seen from a little way to both sides."""
    reach = round(arm_mm / 0.5)
    before, here, after = outline[k - reach], outline[k], outline[(k + reach) % len(outline)]
    u, v = here - before, after - here
    return float(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)))


def _crossing(outline: Points) -> Points:
    """Where (2,) a ring first crosses itself."""
    place: Points = np.array(
        [float(word) for word in re.findall(r"-?\d+\.?\d*", explain_validity(Polygon(outline)))[:2]]
    )
    return place if len(place) == 2 else outline.mean(0)


def touching_at(mask: npt.NDArray[np.bool_], work: WorkRaster) -> Points | None:
    """Where (2,) two pieces that make one patch of paper hang together by a neck, or None."""
    pad = np.pad(mask.astype(np.uint8), 1)
    depth = cv2.distanceTransform(pad, cv2.DIST_L2, 5)[1:-1, 1:-1] * work.mm_per_px
    _, labels, stats, _ = cv2.connectedComponentsWithStats((depth > _NECK_MM).astype(np.uint8), connectivity=8)
    area = stats[1:, cv2.CC_STAT_AREA] * work.mm_per_px**2
    large = np.flatnonzero((area > _LEAST_MM2) & (area > _LEAST_SHARE * area.sum())) + 1
    if len(large) < 2:
        return None
    first, second = (cv2.distanceTransform((labels != label).astype(np.uint8), cv2.DIST_L2, 5) for label in large[:2])
    between = np.where(mask, np.maximum(first, second), np.inf)
    row, column = np.unravel_index(int(between.argmin()), between.shape)
    place: Points = work.to_mm([[float(column), float(row)]])[0]
    return place
