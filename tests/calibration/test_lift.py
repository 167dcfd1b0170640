"""Where the camera stood, and what that says of paper which lies above the mat."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.sheet.flatten import FlatSheet
from calibration.sheet.lift import LIFT_MM, camera_of, lowering
from tests.calibration.render_mat import Scene, camera_view

SCENE = Scene(size_px=(4000, 3000), focal_px=3000.0, tilt_deg=20.0, lens=(0.0, 0.0, 0.0, 0.0), centre_off_px=(0.0, 0.0))


def stands(scene: Scene) -> np.ndarray:
    """Where the drawn camera stands, mat mm: its matrix taken apart with the focal length that it was drawn with."""
    width, height = scene.size_px
    inner = np.array(
        [[scene.focal_px, 0, (width - 1) / 2], [0, scene.focal_px, (height - 1) / 2], [0, 0, 1]], dtype=float
    )
    pose = np.linalg.inv(inner) @ camera_view(scene).to_straight
    pose /= np.linalg.norm(pose[:, 0])
    turned = np.column_stack([pose[:, 0], pose[:, 1], np.cross(pose[:, 0], pose[:, 1])])
    at = -turned.T @ pose[:, 2]
    return at * [1, 1, np.sign(at[2])]


@pytest.mark.parametrize(("tilt_deg", "focal"), [(20.0, 0.75), (35.0, 1.0), (25.0, 0.45)])
def test_a_slanting_view_tells_where_the_camera_stood(tilt_deg: float, focal: float) -> None:
    scene = replace(SCENE, tilt_deg=tilt_deg, focal_px=4000 * focal)
    camera, true = camera_of(camera_view(scene)), stands(scene)
    assert camera.height_mm == pytest.approx(true[2], rel=0.05)
    assert np.hypot(*(camera.foot_mm - true[:2])) < 0.06 * true[2]


def test_seen_from_straight_above_a_phones_usual_lens_is_taken() -> None:
    camera, true = camera_of(camera_view(replace(SCENE, tilt_deg=0.0))), stands(replace(SCENE, tilt_deg=0.0))
    assert camera.height_mm == pytest.approx(true[2], rel=0.1)
    np.testing.assert_allclose(camera.foot_mm, true[:2], atol=0.02 * true[2])


def test_paper_comes_out_as_large_as_it_is() -> None:
    """Four corners of a sheet that lies 0.35 mm above the mat, seen against the mat by similar triangles."""
    view, at = camera_view(SCENE), stands(SCENE)
    paper = np.array([[50.0, 40.0], [450.0, 40.0], [450.0, 340.0], [50.0, 340.0]])
    against_mat = at[:2] + (paper - at[:2]) * at[2] / (at[2] - LIFT_MM)
    sheet = FlatSheet(
        pixels=np.zeros((2, 2, 3), np.uint8), seen=np.ones((2, 2), bool), mm_per_px=1.0, origin_mm=[0, 0], views=(view,)
    )
    down = lowering(sheet)
    read = against_mat @ down[:2, :2].T + down[:2, 2]
    assert np.abs(against_mat - paper).max() > 0.1
    assert np.abs(read - paper).max() < 0.02


def test_a_scan_is_left_as_it_is() -> None:
    sheet = FlatSheet(pixels=np.zeros((2, 2, 3), np.uint8), seen=np.ones((2, 2), bool), mm_per_px=1.0, origin_mm=[0, 0])
    np.testing.assert_array_equal(lowering(sheet), np.eye(3))
