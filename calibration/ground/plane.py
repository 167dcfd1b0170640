"""The plane's vocabulary: directions, turns, where lines meet, points at a length. Vectors are (..., 2), x before y.

Left is left with y up; in pixels, where y points down, it is the other side.
"""

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along

_PARALLEL = 1e-9  # sine of the angle below which two unit directions have no crossing worth a number
_NO_LENGTH = 1e-12  # mm or px; a shorter vector has no direction


def unit(way: npt.ArrayLike) -> Points:
    """Vectors (..., 2) brought to length 1; one without length stays as it is."""
    vector = np.asarray(way, float)
    return np.asarray(vector / np.maximum(np.hypot(vector[..., 0], vector[..., 1]), _NO_LENGTH)[..., None])


def left(way: npt.ArrayLike) -> Points:
    """Vectors (..., 2) a quarter turn counter-clockwise."""
    vector = np.asarray(way, float)
    return np.stack([-vector[..., 1], vector[..., 0]], axis=-1)


def cross(a: Points, b: Points) -> npt.NDArray[np.float64]:
    """Cross products (...) of vectors (..., 2): positive where ``b`` points to the left of ``a``."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], float)


def turn_deg(a: Points, b: Points) -> npt.NDArray[np.float64]:
    """Angle (...) in degrees from vectors ``a`` to vectors ``b``, -180 to 180, positive to the left."""
    return np.asarray(np.degrees(np.arctan2(cross(a, b), (a * b).sum(-1))))


def turned(points: Points, hinge: Points, angle: float) -> Points:
    """Points (N, 2) turned about ``hinge`` (2,) by ``angle`` radians, counter-clockwise."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray((np.asarray(points, float) - hinge) @ np.array([[cos, sin], [-sin, cos]]) + hinge)


def mirrored(way: Points, axis: Points) -> Points:
    """A vector (2,) mirrored in an axis through the origin."""
    one = unit(axis)
    return np.asarray(2 * (np.asarray(way) @ one) * one - way)


def meet(p: Points, u: Points, q: Points, v: Points) -> Points | None:
    """Where the line through ``p`` along ``u`` meets the line through ``q`` along ``v``; None if they run parallel."""
    u, v = np.asarray(u, float), np.asarray(v, float)
    slant = float(cross(u, v))
    if abs(slant) < _PARALLEL:
        return None
    return np.asarray(p + float(cross(np.asarray(q) - p, v)) / slant * u)


def points_at(line: Points, along: npt.ArrayLike, lengths: npt.NDArray[np.float64] | None = None) -> Points:
    """Points (M, 2) of an open polyline (N, 2) at arc lengths (M,); ``lengths`` (N,) are its own, if known."""
    at = lengths_along(line) if lengths is None else lengths
    where = np.asarray(along, float)
    return np.column_stack([np.interp(where, at, line[:, 0]), np.interp(where, at, line[:, 1])])


def point_at(line: Points, along: float) -> Points:
    """The point (2,) of an open polyline at an arc length."""
    return np.asarray(points_at(line, [along])[0])
