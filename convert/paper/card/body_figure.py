"""A calm outline of a body to show measurements on: front, back and a bent arm.

Drawn from code, in figure units: y down from the crown, x from the middle line, about 1 cm of a woman of 165 cm each.
Proportions: a figure of eight heads, as drawing handbooks teach (*common practice*); landmarks sit where a usual size
chart's lengths put them.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.interpolate import CubicHermiteSpline

from calibration.ground.points import Points, as_points

View = Literal["front", "back", "arm", "whole", "sitting", "side"]
Landmark = tuple[float, float]

# Landmarks, the figure's left half (reader's right); the other half is its mirror image.
NAPE: Landmark = (0.0, 24.2)
FRONT_NECK: Landmark = (0.0, 28.0)
SIDE_NECK: Landmark = (5.6, 25.2)
SHOULDER: Landmark = (17.6, 29.6)
ARMPIT: Landmark = (14.8, 43.5)
BUST_POINT: Landmark = (8.6, 49.5)
HIGH_BUST_Y, BUST_Y, UNDER_BUST_Y, WAIST_Y, HIP_Y, FLOOR_Y = 41.5, 49.5, 56.0, 64.5, 84.0, 160.0
BUST_X, UNDER_BUST_X, WAIST_X, HIP_X = 15.2, 13.4, 11.6, 17.6

# The bent arm, seen from the side: shoulder end, elbow, wrist bone.
ARM_SHOULDER: Landmark = (0.0, 3.0)
ARM_WRIST: Landmark = (26.5, 47.5)


def curve(knots: Sequence[Landmark], *, per_step: int = 10) -> Points:
    """A smooth line (N, 2) through knots: tangents run from the knot before to the knot after."""
    points = np.array(knots, float)
    step = np.sqrt(np.hypot(*np.diff(points, axis=0).T))  # centripetal: no loops where knots lie close
    at = np.concatenate([[0.0], np.cumsum(step)])
    slope = np.gradient(points, at, axis=0)
    fine = np.concatenate([np.linspace(a, b, per_step, endpoint=False) for a, b in pairwise(at)])
    return as_points(CubicHermiteSpline(at, points, slope)(np.append(fine, at[-1])))


def mirrored(points: Points) -> Points:
    """The other half of the body."""
    return as_points(np.asarray(points) * [-1.0, 1.0])


def _ellipse(x: float, y: float, rx: float, ry: float, start_deg: float = 0.0, end_deg: float = 360.0) -> Points:
    angle = np.radians(np.linspace(start_deg, end_deg, 49))
    return as_points(np.column_stack([x + rx * np.cos(angle), y + ry * np.sin(angle)]))


_HALF: tuple[tuple[Landmark, ...], ...] = (
    # neck and shoulder
    ((4.0, 18.2), (4.0, 21.5), (4.6, 24.0), SIDE_NECK, (9.5, 27.0), (14.6, 28.2), SHOULDER),
    # outside of the arm, hand, inside of the arm up to the armpit
    (
        SHOULDER, (19.9, 32.6), (21.2, 38.0), (22.3, 46.0), (23.6, 54.0), (25.0, 60.5), (26.8, 68.0), (28.9, 76.5),
        (30.6, 81.5), (31.9, 87.5), (31.4, 91.5), (29.6, 92.2), (28.2, 88.0), (26.6, 82.0), (25.4, 77.6),
        (22.8, 69.5), (20.6, 61.5), (18.8, 54.0), (17.0, 47.5), ARMPIT,
    ),
    # side of the body and outside of the leg
    (
        ARMPIT, (15.4, 46.5), (BUST_X, BUST_Y), (UNDER_BUST_X, UNDER_BUST_Y), (WAIST_X, WAIST_Y), (13.4, 71.0),
        (16.4, 77.5), (HIP_X, HIP_Y), (17.6, 91.0), (16.2, 102.0), (13.6, 114.5), (13.2, 120.0), (13.6, 128.0),
        (11.8, 140.0), (9.6, 150.5), (10.4, 155.5), (11.6, 158.6), (8.4, FLOOR_Y), (4.6, 158.8), (5.4, 152.0),
        (5.2, 146.0), (4.6, 136.0), (3.8, 126.0), (3.6, 117.0), (2.6, 104.0), (1.4, 94.0), (0.0, 89.5),
    ),
)  # fmt: skip
_BREAST = ((13.2, 47.0), (13.0, 51.0), (9.2, 54.2), (5.2, 53.0), (3.2, 50.0))
_BLADE = ((5.0, 37.5), (7.6, 43.0), (11.6, 45.6))
_ARM = (
    ((-7.6, 0.6), (-4.2, 0.2), (0.8, 1.6), (5.0, 5.4), (6.2, 12.0), (6.4, 20.0), (6.6, 26.0), (9.6, 30.4),
     (16.4, 35.2), (23.4, 40.2), (28.6, 43.4), (33.6, 44.8), (38.2, 47.8), (40.2, 50.2), (38.6, 51.6),
     (34.0, 50.6), (30.6, 51.4), (26.4, 49.8), (19.6, 46.8), (10.8, 41.8), (3.6, 37.6), (-0.4, 33.4), (-2.4, 26.0),
     (-4.6, 18.0), (-5.6, 10.0), (-7.0, 6.0)),
)  # fmt: skip


def body_lines(view: View) -> tuple[Points, ...]:
    """The outline and a few inner lines of a view, each (N, 2) in figure units.

    Examples
    --------
    >>> len(body_lines("arm"))
    1
    """
    if view == "arm":
        return tuple(curve(knots) for knots in _ARM)
    half = [curve(knots) for knots in _HALF]
    head = (
        _ellipse(0.0, 10.2, 7.4, 10.2, 118.0, 422.0) if view != "back" else _ellipse(0.0, 10.2, 7.4, 10.2, 122.0, 418.0)
    )
    lines = [head, *half, *(mirrored(part) for part in half)]
    if view == "back":
        blade = curve(_BLADE)
        return (*lines, blade, mirrored(blade))
    breast = curve(_BREAST)
    base = curve(((SIDE_NECK[0], SIDE_NECK[1]), (3.6, 27.4), FRONT_NECK, (-3.6, 27.4), (-SIDE_NECK[0], SIDE_NECK[1])))
    return (*lines, breast, mirrored(breast), base)
