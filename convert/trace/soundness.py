"""Whether an outline can be that of one whole piece: pieces that touch, outlines that cross themselves."""

import cv2
import numpy as np
import numpy.typing as npt
from shapely.geometry import LinearRing
from shapely.validation import explain_validity

from calibration.errors import Note
from calibration.points import Points
from convert.trace.raster import WorkRaster

_NECK_MM = 10.0  # half as wide as the narrowest place inside a piece
_LEAST_SHARE, _LEAST_MM2 = 0.2, 2500.0  # what each of two pieces has at least


def doubts(outline: Points, mask: npt.NDArray[np.bool_], work: WorkRaster) -> tuple[Note, ...]:
    """Notes on an outline that is none of a single whole piece; empty where all is well."""
    notes = []
    neck = touching_at(mask, work)
    if neck is not None:
        notes.append(
            Note(
                "pieces-touch",
                f"Two pieces of paper seem to touch or overlap near {neck[0] / 10:.0f} cm across, "
                f"{neck[1] / 10:.0f} cm up. Lay them a finger's breadth apart and take the picture again.",
            )
        )
    ring = LinearRing(outline)
    if not ring.is_simple:
        notes.append(
            Note(
                "crosses-itself",
                f"The outline that was read crosses itself ({explain_validity(ring).lower()}, mm on the mat). "
                "Smooth the paper and take the picture again, or move the outline's points by hand.",
            )
        )
    return tuple(notes)


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
