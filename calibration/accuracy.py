"""How far a calibrated point can be trusted: the fit's covariance, the lattice's coverage, what the residuals show."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.points import Points, frozen

RADIUS_95 = 2.448  # of a two-dimensional normal distribution with unit variance each way: sqrt(chi2.ppf(0.95, 2))
REACH_PITCHES = 3.0  # a point further than this from any crossing seen is not trusted


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
    floor_mm : float
        Smallest radius claimed anywhere: what residual structure shows to be left.
    covariance : (P, P)
        Of ``parameters``.
    parameters : (P,)
        Of the map from mat mm to photo pixels, as ``calibration.fit`` orders them.
    """

    rms_mm: float
    seen_mm: Points
    reach_mm: float
    floor_mm: float = 0.0
    jacobian: object = None
    covariance: npt.NDArray[np.float64] | None = None
    _tree: cKDTree = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "seen_mm", frozen(self.seen_mm))
        object.__setattr__(self, "_tree", cKDTree(self.seen_mm))

    def radius_mm(self, mm: Points) -> npt.NDArray[np.float64]:
        """95 % radius (N,) at mat points (N, 2)."""
        return np.full(len(mm), max(self.floor_mm, RADIUS_95 * self.rms_mm))

    def near_lattice(self, mm: Points) -> npt.NDArray[np.bool_]:
        """Whether mat points (N, 2) lie within reach of lattice that was seen (N,)."""
        near: npt.NDArray[np.bool_] = self._tree.query(mm)[0] <= self.reach_mm
        return near
