"""How far a calibrated point can be trusted: the fit's covariance, the lattice's coverage, what the residuals show."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.derivatives import photo_derivatives
from calibration.lens import Lens
from calibration.points import Points, frozen, project

RADIUS_95 = 2.448  # of a two-dimensional normal distribution with unit variance each way: sqrt(chi2.ppf(0.95, 2))
REACH_PITCHES = 3.0  # a point further than this from any lattice seen is not trusted
_BLOCKS = 7  # across the lattice: residuals that agree within a block are structure, not noise
_FEWEST_IN_BLOCK = 5


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
    on_line_mm: Points, axis: npt.NDArray[np.int64], residual_mm: npt.NDArray[np.float64]
) -> tuple[float, float]:
    """What the residuals share within a neighbourhood.

    Returns the standard deviation (mm) of the part they share, and the factor by which the fit's covariance must grow
    because they are not independent.
    """
    low, high = on_line_mm.min(0), on_line_mm.max(0)
    block = np.minimum((on_line_mm - low) / np.maximum(high - low, 1e-9) * _BLOCKS, _BLOCKS - 1).astype(int)
    key = (block[:, 0] * _BLOCKS + block[:, 1]) * 2 + axis
    count = np.bincount(key, minlength=2 * _BLOCKS**2)
    total = np.bincount(key, residual_mm, minlength=2 * _BLOCKS**2)
    full = count >= _FEWEST_IN_BLOCK
    if full.sum() < 4:
        return float(np.std(residual_mm)), 4.0
    mean = total[full] / count[full]
    spread = np.var(residual_mm)
    by_chance = spread / count[full]
    shared = max(0.0, float(np.mean(mean**2 - by_chance)))
    return float(np.sqrt(shared)), max(1.0, float(np.mean(mean**2 / by_chance)))
