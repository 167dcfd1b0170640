"""Where lines meet: rays, polylines, feet and mirror images."""

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along


def unit(way: Points) -> Points:
    """The direction (2,) of length 1."""
    one: Points = np.asarray(way, float) / max(float(np.hypot(*way)), 1e-12)
    return one


def meet(p: Points, u: Points, q: Points, v: Points) -> Points | None:
    """Where the line through ``p`` along ``u`` meets the line through ``q`` along ``v``; None if they run parallel."""
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 1e-9:
        return None
    gap = np.asarray(q) - p
    at: Points = p + (gap[0] * v[1] - gap[1] * v[0]) / cross * np.asarray(u)
    return at


def ray_crossings(line: Points, origin: Points, way: Points) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Where a ray crosses an open polyline: distances from ``origin`` and arc lengths on the line, nearest first."""
    way = unit(way)
    rel = line - origin
    side = way[0] * rel[:, 1] - way[1] * rel[:, 0]
    along = lengths_along(line)
    k = np.flatnonzero((side[:-1] <= 0) != (side[1:] <= 0))
    share = side[k] / (side[k] - side[k + 1])
    far = (rel[k] @ way) * (1 - share) + (rel[k + 1] @ way) * share
    where = along[k] * (1 - share) + along[k + 1] * share
    ahead = far > 0
    order = np.argsort(far[ahead])
    return far[ahead][order], where[ahead][order]


def point_at(line: Points, along: float) -> Points:
    """The point (2,) at an arc length."""
    s = lengths_along(line)
    return np.array([np.interp(along, s, line[:, 0]), np.interp(along, s, line[:, 1])])


def stretch(line: Points, start: float, end: float) -> Points:
    """The part of an open polyline between two arc lengths, both ends included."""
    s = lengths_along(line)
    inside = (s > start + 1e-9) & (s < end - 1e-9)
    return np.vstack([point_at(line, start)[None], line[inside], point_at(line, end)[None]])


def mirrored(way: Points, axis: Points) -> Points:
    """A direction (2,) mirrored in an axis through the origin."""
    one = unit(axis)
    out: Points = 2 * (np.asarray(way) @ one) * one - way
    return out


def apart_from(line: Points, points: Points) -> npt.NDArray[np.float64]:
    """Distance (M,) of each of ``points`` from an open polyline."""
    step = np.diff(line, axis=0)
    size = np.maximum((step**2).sum(1), 1e-18)
    out = np.empty(len(points))
    for k, q in enumerate(points):
        share = np.clip(((q - line[:-1]) * step).sum(1) / size, 0.0, 1.0)
        out[k] = np.hypot(*(line[:-1] + share[:, None] * step - q).T).min()
    return out
