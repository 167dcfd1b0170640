"""Paths of lines and cubic curves, for drawing an outline with few nodes."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points, as_point, as_points, length, lengths_along

POINTS_APART_MM = 0.25
"""Default spacing of points on a curve: fine enough to measure a seam to a tenth of a millimetre."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A straight segment from ``start`` (2,) to ``end`` (2,)."""

    start: Points
    end: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "start", as_point(self.start))
        object.__setattr__(self, "end", as_point(self.end))

    @property
    def nodes(self) -> Points:
        """The two ends (2, 2)."""
        return np.array([self.start, self.end])

    def at(self, share: Points) -> Points:
        """Points (N, 2) at shares (N,) of the way, 0 to 1."""
        t = np.asarray(share, float)[:, None]
        return (1 - t) * self.start + t * self.end

    def length(self) -> float:
        """Its length."""
        return float(np.hypot(*(self.end - self.start)))

    def extremes(self) -> Points:
        """Points (M, 2) among which its bounds lie."""
        return self.nodes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cubic:
    """A cubic Bézier curve with control points ``nodes`` (4, 2)."""

    nodes: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "nodes", as_points(self.nodes))
        if len(self.nodes) != 4:
            raise ValueError(f"a cubic has four control points, got {len(self.nodes)}")

    @property
    def start(self) -> Points:
        """Where it begins (2,)."""
        first: Points = self.nodes[0]
        return first

    @property
    def end(self) -> Points:
        """Where it ends (2,)."""
        last: Points = self.nodes[3]
        return last

    def at(self, share: Points) -> Points:
        """Points (N, 2) at parameters (N,), 0 to 1."""
        weights: Points = bernstein(np.asarray(share, float))
        return weights @ self.nodes

    def length(self) -> float:
        """Its length, by Gauss-Legendre quadrature on eight parts (better than 1e-6 mm on a pattern's curves)."""
        x, w = np.polynomial.legendre.leggauss(8)
        t = (np.arange(8)[:, None] + 0.5 + 0.5 * x) / 8
        leg = 3 * np.diff(self.nodes, axis=0)
        u = 1 - t
        speed = u[..., None] ** 2 * leg[0] + 2 * (u * t)[..., None] * leg[1] + t[..., None] ** 2 * leg[2]
        return float((np.hypot(speed[..., 0], speed[..., 1]) * w).sum() / 16)

    def extremes(self) -> Points:
        """Points (M, 2) among which its bounds lie: the ends and where it turns back in x or y."""
        a, b, c = np.diff(self.nodes, axis=0)
        turns = [np.array([0.0, 1.0])]
        for axis in (0, 1):
            roots = np.roots([a[axis] - 2 * b[axis] + c[axis], 2 * (b[axis] - a[axis]), a[axis]])
            real = roots[np.isreal(roots)].real
            turns.append(real[(real > 0) & (real < 1)])
        return self.at(np.concatenate(turns))


def bernstein(share: Points) -> Points:
    """Weights (N, 4) of a cubic's control points at parameters (N,)."""
    t, u = share, 1 - share
    return np.column_stack([u**3, 3 * u**2 * t, 3 * u * t**2, t**3])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """Lines and cubics joined end to end; ``closed`` when the last one ends where the first begins."""

    segments: tuple[Line | Cubic, ...]
    closed: bool = False

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a path has at least one segment")
        for one, other in zip(self.segments, self.segments[1:], strict=False):
            if np.hypot(*(other.start - one.end)) > 1e-6:
                raise ValueError("the segments of a path must meet")
        if self.closed and np.hypot(*(self.segments[0].start - self.segments[-1].end)) > 1e-6:
            raise ValueError("a closed path must end where it begins")

    def length(self) -> float:
        """Its length."""
        return float(sum(segment.length() for segment in self.segments))

    def points(self, *, apart_mm: float = POINTS_APART_MM) -> Points:
        """Points (N, 2) along it, at most ``apart_mm`` apart, every segment's ends among them exactly.

        A closed path repeats its first point at the end.
        """
        parts = [self.segments[0].start[None]]
        for segment in self.segments:
            parts.append(_even_points(segment, apart_mm)[1:])
        return as_points(np.vstack(parts))

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y; exact for curves."""
        far = np.vstack([segment.extremes() for segment in self.segments])
        (left, bottom), (right, top) = far.min(0), far.max(0)
        return float(left), float(bottom), float(right), float(top)


def _even_points(segment: Line | Cubic, apart_mm: float) -> Points:
    """Points evenly spread by length along one segment, both ends exact."""
    steps = max(1, int(np.ceil(segment.length() / apart_mm - 1e-9)))
    share = np.linspace(0.0, 1.0, steps + 1)
    if isinstance(segment, Cubic):
        fine_at = np.linspace(0.0, 1.0, max(64, 2 * steps) + 1)
        fine = segment.at(fine_at)
        steps = max(1, int(np.ceil(length(fine) / apart_mm * (1 + 1e-3))))
        along = lengths_along(fine)
        share = np.interp(np.linspace(0.0, along[-1], steps + 1), along, fine_at)
    out = segment.at(share)
    out[0], out[-1] = segment.start, segment.end
    return out
