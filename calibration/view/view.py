"""The calibrated picture: pixels to millimetres and back, and how far to trust them."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import Note
from calibration.ground.points import Points, frozen, project
from calibration.lattice.mat import Lattice
from calibration.view.accuracy import Accuracy
from calibration.view.lens import Lens


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MatView:
    """One picture of one mat. Photo frame in pixels, mat frame in mm (x right, y up).

    Attributes
    ----------
    to_straight : (3, 3)
        Homography from mat mm to straight (undistorted) pixels.
    lens : Lens
        From straight to photo pixels.
    lattice : Lattice
        What is printed on the mat.
    size_px : (width, height)
        Of the upright picture.
    seen_px, seen_mm : (N, 2)
        Lattice points used: where they were found, and where they are on the mat.
    accuracy : Accuracy
        What the fit left over, and what that says about any point.
    """

    to_straight: npt.NDArray[np.float64]
    lens: Lens
    lattice: Lattice
    size_px: tuple[int, int]
    seen_px: Points
    seen_mm: Points
    accuracy: Accuracy
    notes: tuple[Note, ...] = ()
    _to_mat: npt.NDArray[np.float64] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "to_straight", frozen(self.to_straight))
        object.__setattr__(self, "_to_mat", frozen(np.linalg.inv(self.to_straight)))
        object.__setattr__(self, "seen_px", frozen(self.seen_px))
        object.__setattr__(self, "seen_mm", frozen(self.seen_mm))

    def to_mm(self, px: npt.ArrayLike) -> Points:
        """Photo pixels (N, 2) -> mat mm (N, 2)."""
        return project(self._to_mat, self.lens.straighten(np.atleast_2d(np.asarray(px, float))))

    def to_px(self, mm: npt.ArrayLike) -> Points:
        """Mat mm (N, 2) -> photo pixels (N, 2)."""
        return self.lens.bend(project(self.to_straight, np.atleast_2d(np.asarray(mm, float))))

    def mm_per_px(self, px: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Millimetres on the mat that one pixel covers (N,), the geometric mean of both directions."""
        at = np.atleast_2d(np.asarray(px, float))
        dx = self.to_mm(at + [0.5, 0.0]) - self.to_mm(at - [0.5, 0.0])
        dy = self.to_mm(at + [0.0, 0.5]) - self.to_mm(at - [0.0, 0.5])
        return np.sqrt(np.abs(dx[:, 0] * dy[:, 1] - dx[:, 1] * dy[:, 0]))

    @property
    def rms_mm(self) -> float:
        """Root mean square distance of the lattice points seen from their places on the mat."""
        return self.accuracy.rms_mm

    def uncertainty_mm(self, mm: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Radius (N,) around each mat point that holds the truth in 95 of 100 cases."""
        return self.accuracy.radius_mm(np.atleast_2d(np.asarray(mm, float)))

    def trusted(self, mm: npt.ArrayLike) -> npt.NDArray[np.bool_]:
        """Whether each mat point (N,) is near enough to lattice that was seen."""
        return self.accuracy.near_lattice(np.atleast_2d(np.asarray(mm, float)))
