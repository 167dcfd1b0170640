"""Printed dots: round spots of ink larger than any line is wide."""

import cv2
import numpy as np

from calibration.ground.points import Points
from convert.trace.ink.ink import Ink

_SOLID = 0.5  # share of full ink inside a dot
_CORE_MM = 0.65  # a dot still holds a disc of this radius; lines do not
_LARGEST_MM = 3.0  # radius of the largest dot
_FREE = 0.6  # share of the circle round a dot that is bare paper


def find_dots(ink: Ink) -> tuple[Points, Points]:
    """Centres (N, 2) in mat mm and radii (N,) of round spots, such as stand at the ends of darts."""
    solid = (ink.share > _SOLID).astype(np.uint8)
    radius_px = max(1, round(_CORE_MM / ink.mm_per_px))
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * radius_px + 1,) * 2)
    core = cv2.erode(solid, disc)
    count, _, stats, centres = cv2.connectedComponentsWithStats(core, connectivity=8)
    found = []
    for k in range(1, count):
        wide, high = stats[k, cv2.CC_STAT_WIDTH], stats[k, cv2.CC_STAT_HEIGHT]
        if max(wide, high) > 2.4 * min(wide, high) + 2:
            continue
        radius = (np.sqrt(stats[k, cv2.CC_STAT_AREA] / np.pi) + radius_px) * ink.mm_per_px
        centre = ink.to_mm(centres[k])[0]
        if radius <= _LARGEST_MM and _stands_free(ink, centre, radius) and _fills_circle(ink, centre, radius):
            found.append((*centre, radius))
    out = np.array(found, float).reshape(-1, 3)
    return out[:, :2], out[:, 2]


def _circle(centre: Points, radius: float) -> Points:
    turn = np.linspace(0.0, 2 * np.pi, 48, endpoint=False)
    return np.asarray(centre + radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def _stands_free(ink: Ink, centre: Points, radius: float) -> bool:
    """Whether little but lines touches the spot."""
    return bool((ink.sample(_circle(centre, radius + 0.9)) < 0.35).mean() >= _FREE)


def _fills_circle(ink: Ink, centre: Points, radius: float) -> bool:
    """Whether the spot is full inside its circle, as a triangle of the same core is not outside it."""
    return bool((ink.sample(_circle(centre, 0.75 * radius)) > 0.4).mean() > 0.95)
