"""Homography and lens fitted together to points measured on lattice lines."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, frozen, project
from calibration.view.derivatives import photo_derivatives
from calibration.view.lens import Lens

_ROUNDS = 30
_CUT = 4.0  # robust standard deviations: beyond, a point is not on the line it was taken for
_STILL_PX = 1e-4
# Standard deviations of what is known beforehand: k1, k2, p1, p2 of a phone's or camera's picture about its centre,
# with the radius in units of the picture's longer side. They keep a view with little lattice from inventing a lens.
_LENS_PRIOR = np.array([0.15, 0.3, 0.003, 0.003])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LineFit:
    """The map fitted.

    Attributes
    ----------
    to_straight : (3, 3)
        Mat mm -> straight pixels.
    lens : Lens
    covariance : (12, 12)
        Of the eight homography entries (row by row, the last is 1) and k1, k2, p1, p2.
    used : (N,) bool
        Which of the points given were used.
    residual_px : (N,)
        Signed distance across the line.
    on_line_mm : (N, 2)
        Foot of each point on its line, mat frame.
    """

    to_straight: npt.NDArray[np.float64]
    lens: Lens
    covariance: npt.NDArray[np.float64]
    used: npt.NDArray[np.bool_]
    residual_px: npt.NDArray[np.float64]
    on_line_mm: Points

    def __post_init__(self) -> None:
        for name in ("to_straight", "covariance", "residual_px", "on_line_mm"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def to_px(self, mm: Points) -> Points:
        """Mat mm (N, 2) -> photo pixels (N, 2)."""
        return self.lens.bend(project(self.to_straight, mm))

    @property
    def spread_px(self) -> float:
        """Root mean square of the residuals used."""
        return float(np.sqrt(np.mean(self.residual_px[self.used] ** 2)))

    def cell_px(self) -> float:
        """Pixels that one unit of length on the mat covers in the middle of what was used."""
        centre = np.median(self.on_line_mm[self.used], axis=0)[None]
        step = project(self.to_straight, centre + [0.5, 0.5]) - project(self.to_straight, centre - [0.5, 0.5])
        return float(np.hypot(*step[0])) / np.sqrt(2)


def fit_lines(
    at_px: Points,
    axis: npt.NDArray[np.int64],
    level_mm: npt.NDArray[np.float64],
    noise_px: npt.NDArray[np.float64],
    *,
    to_straight: npt.NDArray[np.float64],
    lens: Lens,
) -> LineFit:
    """Fit so that each point falls on its line.

    Parameters
    ----------
    at_px : (N, 2)
        Measured points, photo frame.
    axis, level_mm : (N,)
        The point lies on the line x = level (axis 0) or y = level (axis 1) of the mat.
    noise_px : (N,)
        Its expected standard deviation, up to a common factor.
    to_straight, lens
        Where to start from.
    """
    values = np.concatenate([(to_straight / to_straight[2, 2]).ravel()[:8], [lens.k1, lens.k2, lens.p1, lens.p2]])
    shape = np.maximum(noise_px, 0.25 * float(np.median(noise_px)))
    shape = shape / float(np.median(shape))
    used = np.ones(len(at_px), bool)
    spread = np.inf
    for _ in range(_ROUNDS):
        miss, jacobian, foot = _misses(at_px, axis, level_mm, values, lens)
        spread = max(1.4826 * float(np.median(np.abs(miss[used] / shape[used]))), 1e-3)
        reduced = miss / (spread * shape)
        used = np.abs(reduced) < _CUT
        weight = np.where(used, (1 - (reduced / _CUT) ** 2) ** 2, 0.0) / (spread * shape) ** 2
        prior = np.concatenate([np.zeros(8), _LENS_PRIOR**-2.0])
        information = jacobian.T @ (jacobian * weight[:, None]) + np.diag(prior)
        right = jacobian.T @ (miss * weight) - prior * values
        scale = np.sqrt(np.diag(information))
        step = np.linalg.solve(information / np.outer(scale, scale), right / scale) / scale
        values = values + step
        if np.abs(jacobian @ step).max() < _STILL_PX:
            break
    miss, _, foot = _misses(at_px, axis, level_mm, values, lens)
    return LineFit(
        to_straight=_matrix(values),
        lens=_lens(values, lens),
        covariance=np.linalg.inv(information / np.outer(scale, scale)) / np.outer(scale, scale),
        used=used,
        residual_px=miss,
        on_line_mm=foot,
    )


def _misses(
    at_px: Points,
    axis: npt.NDArray[np.int64],
    level: npt.NDArray[np.float64],
    values: npt.NDArray[np.float64],
    lens: Lens,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64], Points]:
    """Distance (N,) of each point across its line, what each value moves the line (N, 12), and the feet (N, 2)."""
    matrix, lens = _matrix(values), _lens(values, lens)
    foot = project(np.asarray(np.linalg.inv(matrix), np.float64), lens.straighten(at_px))
    foot[np.arange(len(foot)), axis] = level
    along = np.zeros_like(foot)
    along[np.arange(len(foot)), 1 - axis] = 0.5
    tangent = lens.bend(project(matrix, foot + along)) - lens.bend(project(matrix, foot - along))
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]]) / np.hypot(*tangent.T)[:, None]
    miss = (normal * (at_px - lens.bend(project(matrix, foot)))).sum(1)
    jacobian = (photo_derivatives(foot, matrix, lens) * normal[:, :, None]).sum(1)
    return miss, jacobian, foot


def _matrix(values: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    return np.append(values[:8], 1.0).reshape(3, 3)


def _lens(values: npt.NDArray[np.float64], lens: Lens) -> Lens:
    k1, k2, p1, p2 = values[8:12]
    return Lens(centre_px=lens.centre_px, scale_px=lens.scale_px, k1=k1, k2=k2, p1=p1, p2=p2)
