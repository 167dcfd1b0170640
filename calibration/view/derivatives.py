"""How photo pixels move when the map's values do."""

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from calibration.view.lens import Lens


def photo_derivatives(mm: Points, to_straight: npt.NDArray[np.float64], lens: Lens) -> npt.NDArray[np.float64]:
    """Derivatives (N, 2, 12) of each mat point's photo pixel by the eight homography entries and the lens terms."""
    q = np.column_stack([mm, np.ones(len(mm))])
    under = q @ to_straight[2]
    straight = (q @ to_straight[:2].T) / under[:, None]
    by_matrix = np.zeros((len(mm), 2, 8))
    by_matrix[:, 0, 0:3] = by_matrix[:, 1, 3:6] = q / under[:, None]
    by_matrix[:, :, 6:8] = -straight[:, :, None] * (mm / under[:, None])[:, None, :]
    x, y = ((straight - lens.centre_px) / lens.scale_px).T
    r2 = x * x + y * y
    by_lens = np.empty((len(mm), 2, 4))
    by_lens[:, 0] = np.column_stack([x * r2, x * r2 * r2, 2 * x * y, r2 + 2 * x * x])
    by_lens[:, 1] = np.column_stack([y * r2, y * r2 * r2, r2 + 2 * y * y, 2 * x * y])
    return np.concatenate([_bend_slope(x, y, lens) @ by_matrix, by_lens * lens.scale_px], axis=2)


def _bend_slope(x: npt.NDArray[np.float64], y: npt.NDArray[np.float64], lens: Lens) -> npt.NDArray[np.float64]:
    """Derivative (N, 2, 2) of the bent by the straight position, both divided by the lens's scale."""
    r2 = x * x + y * y
    radial, rise = 1 + r2 * (lens.k1 + r2 * lens.k2), 2 * (lens.k1 + 2 * lens.k2 * r2)
    slope = np.empty((len(x), 2, 2))
    slope[:, 0, 0] = radial + rise * x * x + 2 * lens.p1 * y + 6 * lens.p2 * x
    slope[:, 1, 1] = radial + rise * y * y + 6 * lens.p1 * y + 2 * lens.p2 * x
    slope[:, 0, 1] = slope[:, 1, 0] = rise * x * y + 2 * lens.p1 * x + 2 * lens.p2 * y
    return slope
