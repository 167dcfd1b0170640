"""Measuring the printed stitching line against the cut line, edge by edge."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, as_points, frozen, lengths_along, resample
from convert.piece.darts.darts import CutDart
from convert.piece.names.naming import NamedPiece
from convert.piece.piece import EdgeName

STEP_MM = 1.0
PARALLEL_SINE = 0.2
NEAREST_MM, FARTHEST_MM = 2.0, 90.0
LEAST_COVERED_MM = 25.0
LEAST_SHARE = 0.12
LONE_SIGMA_MM = 0.15  # a printed line's own place, read once (calibration, print, pen)
INDEPENDENT_MM = 25.0  # readings so far apart count as separate


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stitching:
    """The stitching line beside one edge: ``along`` (N,) the cut line in mm, ``inside`` (N,) mm from it, ``points``."""

    along: npt.NDArray[np.float64]
    inside: npt.NDArray[np.float64]
    points: Points
    share: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "along", frozen(self.along))
        object.__setattr__(self, "inside", frozen(self.inside))
        object.__setattr__(self, "points", as_points(self.points))

    @property
    def mm(self) -> float:
        """How far inside the cut line it runs."""
        return float(np.median(self.inside))

    @property
    def uncertainty_mm(self) -> float:
        """Half-width of the 95 % interval of ``mm``."""
        spread = 1.4826 * float(np.median(np.abs(self.inside - self.mm)))
        readings = max(1.0, float(np.ptp(self.along)) / INDEPENDENT_MM)
        return 2.0 * float(np.hypot(spread / np.sqrt(readings), LONE_SIGMA_MM))

    @property
    def taper_mm(self) -> float:
        """How much wider the allowance is at the edge's end than at its beginning."""
        if np.ptp(self.along) < 40.0:
            return 0.0
        slope = np.polyfit(self.along, self.inside, 1)[0]
        return float(slope * np.ptp(self.along))


def measure_stitching(piece: NamedPiece, darts: tuple[CutDart, ...]) -> dict[EdgeName, Stitching]:
    """The stitching line found inside each edge; edges beside which none was read are left out."""
    lines = [line.points for line in piece.tracing.lines if line.kind == "stitching" and len(line.points) >= 2]
    if not lines:
        return {}
    parts = [resample(line, STEP_MM) for line in lines]
    points = np.vstack(parts)
    ways = np.vstack([_ways(part) for part in parts])
    found = [_against(edge.points, points, ways) for edge in piece.edges]
    inside = np.array([where[1] for where in found])
    best = np.argmin(inside, axis=0)
    out: dict[EdgeName, Stitching] = {}
    for k, edge in enumerate(piece.edges):
        mine = (best == k) & np.isfinite(inside[k])
        along = found[k][0]
        for dart in darts:
            if dart.on == edge.name:
                mine &= (along < dart.span[0] - 2.0) | (along > dart.span[1] + 2.0)
        covered = len(np.unique(np.round(along[mine] / STEP_MM))) * STEP_MM
        size = lengths_along(edge.points)[-1]
        if covered >= min(LEAST_COVERED_MM, 0.4 * size) and covered >= LEAST_SHARE * size:
            keep = _agreeing(inside[k][mine])
            out[edge.name] = Stitching(
                along=along[mine][keep], inside=inside[k][mine][keep], points=points[mine][keep], share=covered / size
            )
    return out


def _ways(line: Points) -> Points:
    way = np.gradient(line, axis=0)
    return np.asarray(way / np.maximum(np.hypot(*way.T), 1e-9)[:, None])


def _against(edge: Points, points: Points, ways: Points) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """For each point: arc length of its foot on an edge, and how far inside it lies (infinite where not beside it)."""
    even = resample(edge, 0.5)
    tangent = _ways(even)
    _, i = cKDTree(even).query(points)
    gap = points - even[i]
    t = tangent[i]
    inside = t[:, 0] * gap[:, 1] - t[:, 1] * gap[:, 0]
    cross = np.abs(t[:, 0] * ways[:, 1] - t[:, 1] * ways[:, 0])
    beside = (i > 2) & (i < len(even) - 3) & (cross < PARALLEL_SINE) & (inside > NEAREST_MM) & (inside < FARTHEST_MM)
    along = lengths_along(even)[i] + (gap * t).sum(1)
    return along, np.where(beside, inside, np.inf)


def _agreeing(inside: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Readings that are not far from the rest (another line read as stitching, a dart, a letter)."""
    middle = np.median(inside)
    spread = 1.4826 * np.median(np.abs(inside - middle))
    agree: npt.NDArray[np.bool_] = np.abs(inside - middle) < max(1.0, 4 * spread)
    return agree
