"""Points and polylines in the plane: float64 arrays of shape (N, 2), x before y."""

from typing import Any

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]


def as_points(values: npt.ArrayLike) -> Points:
    """A read-only float64 copy of shape (N, 2).

    Raises
    ------
    ValueError
        If the values are not finite pairs.
    """
    points = np.array(values, dtype=np.float64, copy=True)
    if points.size == 0:
        points = points.reshape(0, 2)
    if points.ndim == 1 and points.size == 2:
        points = points.reshape(1, 2)
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise ValueError(f"points must be finite pairs of shape (N, 2), got shape {points.shape}")
    points.setflags(write=False)
    return points


def as_point(value: npt.ArrayLike) -> Points:
    """A read-only float64 copy of shape (2,)."""
    point: Points = as_points(value)[0]
    return point


def frozen(array: npt.ArrayLike, dtype: Any = np.float64) -> npt.NDArray[Any]:
    """A read-only copy of any array."""
    copy = np.array(array, dtype=dtype, copy=True)
    copy.setflags(write=False)
    return copy


def closed(ring: Points) -> Points:
    """The ring with its first point repeated at the end."""
    return ring if np.allclose(ring[0], ring[-1]) else np.vstack([ring, ring[:1]])


def lengths_along(line: Points) -> npt.NDArray[np.float64]:
    """Arc length (N,) from the first point to each point of an open polyline."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])


def length(line: Points) -> float:
    """Length of an open polyline."""
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


def resample(line: Points, step: float) -> Points:
    """Even samples along an open polyline, at most ``step`` apart, both ends kept exactly."""
    along = lengths_along(line)
    count = max(1, int(np.ceil(along[-1] / step - 1e-9)))
    at = np.linspace(0.0, along[-1], count + 1)
    out = np.column_stack([np.interp(at, along, line[:, 0]), np.interp(at, along, line[:, 1])])
    out[0], out[-1] = line[0], line[-1]
    return out


def cross(a: Points, b: Points) -> npt.NDArray[np.float64]:
    """Cross products (...) of two stacks of vectors (..., 2): positive where ``b`` points to the left of ``a``."""
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], float)


def signed_area(ring: Points) -> float:
    """Area of a ring, positive when it runs counter-clockwise with y up."""
    x, y = ring[:, 0], ring[:, 1]
    return float(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


def nearest_on_line(line: Points, point: npt.ArrayLike) -> tuple[Points, float, float]:
    """Foot of ``point`` on an open polyline: the foot (2,), its arc length, its distance."""
    q = np.asarray(point, float)
    step = np.diff(line, axis=0)
    share = np.clip(((q - line[:-1]) * step).sum(1) / np.maximum((step**2).sum(1), 1e-18), 0.0, 1.0)
    feet = line[:-1] + share[:, None] * step
    gap = np.hypot(*(feet - q).T)
    i = int(np.argmin(gap))
    along = lengths_along(line)
    return feet[i], float(along[i] + share[i] * np.hypot(*step[i])), float(gap[i])


def project(matrix: npt.NDArray[np.float64], points: Points) -> Points:
    """Points (N, 2) through a 3 x 3 homography."""
    q = points @ matrix[:, :2].T + matrix[:, 2]
    return q[:, :2] / q[:, 2:]
