"""How far a calibrated point can be trusted: the fit's covariance, the lattice's coverage, what the residuals show."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, frozen, project
from calibration.view.derivatives import photo_derivatives
from calibration.view.lens import Lens

RADIUS_95 = 2.448  # of a two-dimensional normal distribution with unit variance each way: sqrt(chi2.ppf(0.95, 2))
REACH_PITCHES = 3.0  # a point further than this from any lattice seen is not trusted
_BLOCKS = 7  # across the lattice: residuals that agree within a block are structure, not noise
_FEWEST_IN_BLOCK = 5
_MEDIAN_CHI2 = 0.455  # of a chi-square variable with one degree of freedom


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Accuracy:
    """What is known of a fit's errors.

    Attributes
    ----------
    rms_mm : float
        Of the residuals on the mat.
    seen_mm : (N, 2)
        Lattice points used, mat frame.
    reach_mm : float
        Distance from them within which a point is trusted.
    structure_mm : float
        Standard deviation, each way, of what the map can't follow: a mat that is not flat, a lattice not even.
    to_straight, lens, covariance
        The map and the covariance (12, 12) of its values, as ``calibration.fit`` orders them; without them the radius
        is that of the residuals.
    """

    rms_mm: float
    seen_mm: Points
    reach_mm: float
    structure_mm: float = 0.0
    to_straight: npt.NDArray[np.float64] | None = None
    lens: Lens | None = None
    covariance: npt.NDArray[np.float64] | None = None
    _tree: cKDTree = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "seen_mm", frozen(self.seen_mm))
        object.__setattr__(self, "_tree", cKDTree(self.seen_mm))

    def radius_mm(self, mm: Points) -> npt.NDArray[np.float64]:
        """95 % radius (N,) at mat points (N, 2)."""
        if self.to_straight is None or self.lens is None or self.covariance is None:
            return np.full(len(mm), RADIUS_95 * self.rms_mm)
        by_values = photo_derivatives(mm, self.to_straight, self.lens)
        across = [photo_step(mm, step, self.to_straight, self.lens) for step in ([0.5, 0.0], [0.0, 0.5])]
        to_mm = np.linalg.inv(np.stack(across, axis=-1))
        moves = to_mm @ by_values
        variance = np.einsum("nij,jk,nik->n", moves, self.covariance, moves) / 2
        beyond = np.maximum(self._tree.query(mm)[0] / self.reach_mm, 1.0)
        return RADIUS_95 * np.sqrt(variance + self.structure_mm**2) * beyond

    def near_lattice(self, mm: Points) -> npt.NDArray[np.bool_]:
        """Whether mat points (N, 2) lie within reach of lattice that was seen (N,)."""
        near: npt.NDArray[np.bool_] = self._tree.query(mm)[0] <= self.reach_mm
        return near


def photo_step(mm: Points, step: list[float], to_straight: npt.NDArray[np.float64], lens: Lens) -> Points:
    """Photo pixels (N, 2) per mm at mat points, along a step of half a millimetre each way."""
    return lens.bend(project(to_straight, mm + step)) - lens.bend(project(to_straight, mm - step))


def structure(
    on_line_mm: Points,
    axis: npt.NDArray[np.int64],
    line: npt.NDArray[np.int64],
    residual_mm: npt.NDArray[np.float64],
) -> tuple[float, float]:
    """What the residuals share along a line and within a neighbourhood.

    Returns the standard deviation (mm) of what neighbouring lines share, which the map could not follow, and the factor
    by which the fit's covariance must grow because the points of one line are printed, and so are off, together.
    """
    key = np.unique(np.column_stack([axis, line]), axis=0, return_inverse=True)[1].ravel()
    mean, count, spread = _groups(key, residual_mm)
    between = max(0.0, float(np.mean(mean**2 - spread / count)))
    growth = max(1.0, float(np.mean(mean**2 * count) / spread))
    rest = residual_mm - (mean * between / (between + spread / count))[key]
    low, high = on_line_mm.min(0), on_line_mm.max(0)
    block = np.minimum((on_line_mm - low) / np.maximum(high - low, 1e-9) * _BLOCKS, _BLOCKS - 1).astype(int)
    mean, count, spread = _groups((block[:, 0] * _BLOCKS + block[:, 1]) * 2 + axis, rest)
    full = count >= _FEWEST_IN_BLOCK
    if not full.any():
        return float(np.sqrt(spread)), growth
    # the median: a numeral or the paper's edge spoils single neighbourhoods, a bent mat most of them
    shared = float(np.median((mean**2 - _MEDIAN_CHI2 * spread / count)[full])) / _MEDIAN_CHI2
    return float(np.sqrt(max(shared, 0.0))), growth


def _groups(
    key: npt.NDArray[np.int64], values: npt.NDArray[np.float64]
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], float]:
    """Mean and count of each group (0 and 1 where a group is empty), and the variance within groups."""
    count = np.maximum(np.bincount(key), 1).astype(float)
    mean = np.bincount(key, values) / count
    return mean, count, float(np.mean((values - mean[key]) ** 2)) + 1e-12
