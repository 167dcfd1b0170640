"""Paper lies a little above the mat: where the camera stands says how much larger that makes it look."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, as_point, project
from calibration.sheet.flatten import FlatSheet
from calibration.view.view import MatView

# Between tissue pressed flat, a tenth of a millimetre, and card or tissue with folds, most of one. Our choice.
LIFT_MM = 0.35
LIFT_DOUBT_MM = 0.3  # half-width that holds 95 of 100 sheets
# A phone's main lens: 23 to 28 mm on a picture 36 mm wide (common practice); ultra-wide and long ones are rarer.
_USUAL_FOCAL, _FOCAL_SPREAD = 0.74, 0.25  # of the picture's longer side; the spread in logarithms
_FOCALS = np.geomspace(0.35, 3.5, 81)
_SQUARENESS = 0.002  # how nearly a right calibration's squares are square through the right lens

Matrix = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """Where the camera stood: above ``foot_mm`` (2,) of the mat, ``height_mm`` over it."""

    foot_mm: Points
    height_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "foot_mm", as_point(self.foot_mm))
        if not self.height_mm > 0:
            raise ValueError("height_mm must be positive")


def camera_of(view: MatView) -> Camera:
    """Where the camera of a calibrated picture stood.

    The focal length is the one through which the mat's squares are square (Zhang 2000, A Flexible New Technique for
    Camera Calibration, equations 3 and 4), weighed against a phone's usual one: seen straight from above any focal
    length will do, and the height is then as uncertain as that.
    """
    columns = _from_middle(view)
    best = min(_FOCALS, key=lambda focal: _unlikely(columns, focal, max(view.size_px)))
    turned = columns / np.array([[best * max(view.size_px)], [best * max(view.size_px)], [1.0]])
    turned /= np.sqrt(np.linalg.norm(turned[:, 0]) * np.linalg.norm(turned[:, 1]))
    axes = np.column_stack([turned[:, 0], turned[:, 1], np.cross(turned[:, 0], turned[:, 1])])
    at = -np.linalg.solve(axes, turned[:, 2])
    return Camera(foot_mm=at[:2], height_mm=float(abs(at[2])))


def lowering(sheet: FlatSheet) -> Matrix:
    """The move (3, 3) that takes what was measured on the mat's plane to its true size on paper that lies above it.

    A point of the paper is seen against the mat farther from the camera's foot than it is, by the paper's height over
    the camera's. Several pictures of one sheet share one move. On a scan the paper lies on the glass.
    """
    if not sheet.views:
        return np.eye(3)
    moves = sheet.placed or (np.eye(3),) * len(sheet.views)
    cameras = [camera_of(view) for view in sheet.views]
    backs = [np.asarray(np.linalg.inv(move), np.float64) for move in moves]
    feet = [project(back, one.foot_mm[None])[0] for back, one in zip(backs, cameras, strict=True)]
    share = LIFT_MM / float(np.mean([one.height_mm for one in cameras]))
    foot = np.mean(feet, axis=0)
    return np.array([[1 - share, 0.0, foot[0] * share], [0.0, 1 - share, foot[1] * share], [0.0, 0.0, 1.0]])


def lift_doubt(sheet: FlatSheet) -> float:
    """By what share of a length the paper's unknown height leaves it uncertain, 95 %."""
    heights = [camera_of(view).height_mm for view in sheet.views]
    return LIFT_DOUBT_MM / float(np.mean(heights)) if heights else 0.0


def _from_middle(view: MatView) -> Matrix:
    """Mat mm to straight pixels from the lens's middle."""
    x, y = view.lens.centre_px
    return np.array([[1.0, 0.0, -x], [0.0, 1.0, -y], [0.0, 0.0, 1.0]]) @ view.to_straight


def _unlikely(columns: Matrix, focal: float, longest_px: float) -> float:
    """How unlikely a focal length is: squares that are not square, and a lens that is rare."""
    a, b = (columns[:, :2] / np.array([[focal * longest_px], [focal * longest_px], [1.0]])).T
    size = np.linalg.norm(a), np.linalg.norm(b)
    off = float(np.hypot(np.log(size[0] / size[1]), a @ b / (size[0] * size[1])))
    return float((off / _SQUARENESS) ** 2 + (np.log(focal / _USUAL_FOCAL) / _FOCAL_SPREAD) ** 2)
