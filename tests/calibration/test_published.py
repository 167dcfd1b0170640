"""The single-view fit on published data: Zhang's five views, and real photographs of a chessboard.

Zhang, A Flexible New Technique for Camera Calibration, IEEE TPAMI 22(11):1330-1334, 2000: corners where OWNBLOCK_DATA
holds them (``zhang2000/``), camera and first pose typed from there. Chessboards: the sample pictures of OpenCV
(left01.jpg ... left14.jpg; board of 9 x 6 inner corners, squares of 25 mm), where Debian's opencv-doc is installed. The
distances on the plane, per view, were computed once with the published cameras and a homography of each view's own.
"""

import os
from pathlib import Path

import cv2
import numpy as np
import pytest

from calibration.ground.points import Points, project
from calibration.ground.units import MM_PER_INCH
from calibration.view.fit import LineFit, fit_lines
from calibration.view.lens import Lens

ZHANG = Path(os.environ.get("OWNBLOCK_DATA", "-")) / "zhang2000"
BOARDS = Path("/usr/share/doc/opencv-doc/examples/data")
SIZE_PX = (640, 480)
# mm RMS on the plane of the views 1 to 5 with the published camera
ZHANG_MM = (0.141, 0.089, 0.237, 0.098, 0.097)
BOARD_MM = {1: 0.136, 3: 0.091, 4: 0.107, 5: 0.095, 6: 0.118, 7: 0.193, 8: 0.148, 9: 0.250, 11: 0.106, 12: 0.123}
BAD_BOARD = 2  # its corners are off by more than a pixel
CAMERA = np.array([[832.5, 0.204494, 303.959], [0.0, 832.53, 206.585], [0.0, 0.0, 1.0]])
K1, K2 = -0.228601, 0.190353
TURN = np.array([[0.992759, -0.026319, 0.117201], [0.0139247, 0.994339, 0.105341], [-0.11931, -0.102947, 0.987505]])
SHIFT_IN = np.array([-3.84019, 3.65164, 12.791])


def fitted(px: Points, mm: Points) -> LineFit:
    """Our fit: each corner lies on an upright and on a level line."""
    centre = (np.array(SIZE_PX) - 1) / 2
    start = np.asarray(cv2.findHomography(mm, px, 0)[0], np.float64)
    return fit_lines(
        np.vstack([px, px]),
        np.repeat([0, 1], len(px)),
        np.concatenate([mm[:, 0], mm[:, 1]]),
        np.ones(2 * len(px)),
        to_straight=start,
        lens=Lens(centre_px=centre, scale_px=float(max(SIZE_PX))),
    )


def off_mm(fit: LineFit, px: Points, mm: Points) -> float:
    """Root mean square distance on the plane."""
    found = project(np.linalg.inv(fit.to_straight), fit.lens.straighten(px))
    return float(np.sqrt(((found - mm) ** 2).sum(1).mean()))


def zhang_plane() -> Points:
    """64 squares of half an inch, 8/9 inch apart, four corners each: (256, 2) mm."""
    corner = np.array([[0.0, -0.5], [0.5, -0.5], [0.5, 0.0], [0.0, 0.0]])
    squares = np.array([[column * 8 / 9, -row * 8 / 9] for row in range(8) for column in range(8)])
    return (squares[:, None] + corner).reshape(-1, 2) * MM_PER_INCH


def test_the_published_camera_is_undone() -> None:
    """Corners drawn with the camera and the first pose as published: the map comes back without their knowledge."""
    mm = zhang_plane()
    seen = np.column_stack([mm / MM_PER_INCH, np.zeros(len(mm))]) @ TURN.T + SHIFT_IN
    flat = seen[:, :2] / seen[:, 2:]
    r2 = (flat**2).sum(1, keepdims=True)
    px = project(CAMERA, flat * (1 + K1 * r2 + K2 * r2**2))
    assert off_mm(fitted(px, mm), px, mm) < 0.05  # the lens's middle lies 36 px off the picture's
    straight = np.asarray(cv2.findHomography(px, mm, 0)[0], np.float64)
    assert np.sqrt(((project(straight, px) - mm) ** 2).sum(1).mean()) > 0.2  # what leaving the lens out would cost


@pytest.mark.skipif(not ZHANG.is_dir(), reason="OWNBLOCK_DATA holds no zhang2000")
@pytest.mark.parametrize("view", range(5))
def test_zhangs_views(view: int) -> None:
    """One view alone reaches what the camera published from five reaches."""
    mm = np.loadtxt(ZHANG / "Model.txt").reshape(-1, 2) * MM_PER_INCH
    assert mm == pytest.approx(zhang_plane(), abs=1e-3)
    px = np.loadtxt(ZHANG / f"data{view + 1}.txt").reshape(-1, 2)
    assert off_mm(fitted(px, mm), px, mm) <= ZHANG_MM[view] + 0.005


@pytest.mark.skipif(not ZHANG.is_dir(), reason="OWNBLOCK_DATA holds no zhang2000")
def test_one_view_beside_opencvs_five() -> None:
    """OpenCV fits camera, lens and poses to all five views; we see each alone."""
    mm = zhang_plane()
    views = [np.loadtxt(ZHANG / f"data{k + 1}.txt").reshape(-1, 2) for k in range(5)]
    solid = np.column_stack([mm, np.zeros(len(mm))]).astype(np.float32)
    px = [view.astype(np.float32)[:, None] for view in views]
    _, camera, distortion, turns, shifts = cv2.calibrateCamera([solid] * 5, px, SIZE_PX, None, None)  # type: ignore[call-overload]
    for view, turn, shift in zip(views, turns, shifts, strict=True):
        straight = cv2.undistortPoints(view[:, None], camera, distortion)[:, 0]
        pose = np.column_stack([cv2.Rodrigues(turn)[0][:, :2], shift])
        theirs = project(np.linalg.inv(pose), straight) - mm
        assert off_mm(fitted(view, mm), view, mm) <= 1.05 * np.sqrt((theirs**2).sum(1).mean())


def _board(number: int) -> tuple[Points, Points]:
    """Corners seen in a sample photograph, and where they are, mm."""
    grey = cv2.imread(str(BOARDS / f"left{number:02d}.jpg"), cv2.IMREAD_GRAYSCALE)
    assert grey is not None
    found, corners = cv2.findChessboardCorners(grey, (9, 6))
    assert found
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 30, 0.001)
    px = np.asarray(cv2.cornerSubPix(grey, corners, (11, 11), (-1, -1), stop), np.float64).reshape(-1, 2)
    return px, np.array([[25.0 * column, -25.0 * row] for row in range(6) for column in range(9)])


@pytest.mark.skipif(not (BOARDS / "left01.jpg").is_file(), reason="Debian's opencv-doc is not installed")
def test_photographs_of_a_chessboard() -> None:
    """Every good photograph comes out as flat as with the published camera; the bad one is noticed."""
    worst_px = {}
    for number in (*BOARD_MM, BAD_BOARD):
        px, mm = _board(number)
        fit = fitted(px, mm)
        worst_px[number] = float(np.abs(fit.residual_px).max())
        if number in BOARD_MM:
            assert off_mm(fit, px, mm) <= BOARD_MM[number] + 0.05
    assert worst_px.pop(BAD_BOARD) > 2 * max(worst_px.values())
