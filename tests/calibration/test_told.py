"""What a person tells a calibration: crossings of the lattice by hand, and what a steel rule reads on the mat."""

from dataclasses import replace

import numpy as np
import pytest

from calibration import calibrate
from calibration.ground.errors import InputError
from tests.calibration.render_mat import Scene, render

SCENE = Scene(size_px=(1600, 1200), focal_px=1256.0, fill=0.7)
CROSSINGS = np.array([[50.0, 50.0], [500.0, 40.0], [510.0, 370.0], [60.0, 380.0]])


def told_from(mm: np.ndarray, px: np.ndarray, shift_px: float = 3.0) -> tuple[tuple[float, float, float, float], ...]:
    """Clicks a few pixels off."""
    rng = np.random.default_rng(4)
    return tuple((*p, *m) for p, m in zip(px + rng.uniform(-shift_px, shift_px, px.shape), mm, strict=True))


@pytest.mark.parametrize("turn_deg", [5.0, 120.0])
def test_points_told_give_their_own_frame(turn_deg: float) -> None:
    """Clicks three pixels off are only where to start: the printed lines say the rest."""
    photo, true = render(replace(SCENE, turn_deg=turn_deg))
    view = calibrate(photo, pitch_mm=10.0, told=told_from(CROSSINGS - [50, 40], true.to_px(CROSSINGS)))
    grid = np.array([[20.0, 20.0], [300.0, 200.0], [560.0, 410.0]])
    assert np.abs(view.to_mm(true.to_px(grid)) - (grid - [50, 40])).max() < 0.05
    assert (view.lattice.heavy_every, view.lattice.heavy_x, view.lattice.heavy_y) == (5, 0, 1)
    assert (view.lattice.first_x, view.lattice.last_x) == (-5, 52)


def test_points_told_find_whole_lines_among_half_ones() -> None:
    scene = replace(SCENE, pitch_mm=25.4, cells=(22, 16), heavy_every=4, half_lines=True)
    photo, true = render(scene)
    mm = np.array([[1, 1], [20, 2], [19, 14], [2, 15], [10, 8]]) * 25.4
    view = calibrate(photo, pitch_mm=25.4, told=told_from(mm, true.to_px(mm)))
    assert view.lattice.divisions == 2
    assert np.abs(view.to_mm(true.to_px(mm)) - mm).max() < 0.05


def test_dots_told() -> None:
    scene = replace(
        SCENE,
        kind="dots",
        pitch_mm=25.0,
        cells=(24, 18),
        mat=(245.0, 244.0, 240.0),
        ink=(90.0, 90.0, 110.0),
        line_mm=0.45,
    )
    photo, true = render(scene)
    mm = np.array([[1, 1], [20, 2], [19, 14], [2, 15], [10, 8]]) * 25.0
    view = calibrate(photo, pitch_mm=25.0, told=told_from(mm, true.to_px(mm)))
    assert view.lattice.kind == "dots"
    assert np.abs(view.to_mm(true.to_px(mm)) - mm).max() < 0.05


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda mm, px: (mm[:3], px[:3]), "four or more"),
        (lambda mm, px: (mm + [4.0, 0.0], px), "no crossing"),
        (lambda mm, px: (mm * [1.0, -1.0], px), "x to the right and y up"),
        (lambda mm, px: (np.array([[0, 0], [10, 10], [20, 20], [30, 30]], float), px[:4]), "in one row"),
        (lambda mm, px: (mm, px + [5000.0, 0.0]), "outside"),
        (lambda mm, px: (mm + [[0, 0], [0, 0], [0, 0], [0, 0], [10, 0]], px), "squares off|pixels from"),
    ],
)
def test_points_that_cannot_be_are_refused(change: object, words: str) -> None:
    photo, true = render(SCENE)
    mm = np.vstack([CROSSINGS, [[200.0, 200.0]]])
    mm, px = change(mm, true.to_px(mm))  # type: ignore[operator]
    with pytest.raises(InputError, match=words) as refused:
        calibrate(photo, pitch_mm=10.0, told=told_from(mm, px, 0.5))
    assert refused.value.remedy


def test_a_mat_measured_with_a_rule() -> None:
    """50 cm that read 49.9 cm along x and 50.05 cm along y: every length follows."""
    photo, true = render(SCENE)
    ends = true.to_px(np.array([[50.0, 200.0], [550.0, 200.0], [300.0, 10.0], [300.0, 410.0]]))
    view = calibrate(photo, pitch_mm=10.0, mat_scale=(49.9 / 50, 50.05 / 50))
    mm = view.to_mm(ends)
    assert np.hypot(*(mm[1] - mm[0])) == pytest.approx(499.0, abs=0.05)
    assert np.hypot(*(mm[3] - mm[2])) == pytest.approx(400.4, abs=0.05)
    assert view.lattice.pitches_mm == pytest.approx((9.98, 10.01))
    assert np.abs(view.to_px(mm) - ends).max() < 1e-4
    with pytest.raises(InputError, match="off by a factor"):
        calibrate(photo, pitch_mm=10.0, mat_scale=(0.1, 1.0))
