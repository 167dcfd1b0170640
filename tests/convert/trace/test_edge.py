"""The parts of edge tracing, one by one, against numbers known beforehand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from calibration.ground.points import closed, resample
from calibration.sheet.flatten import FlatSheet
from convert.trace.edge.carry_on import carried_on
from convert.trace.edge.fairing import MEASURED, ROUGH, fair
from convert.trace.edge.local_fit import local_fit, tricube
from convert.trace.edge.notches import bridged, find_notches
from convert.trace.edge.outline import measure_edge
from convert.trace.edge.rim import Rim, fit_rim, locate, model
from convert.trace.edge.ring import even_ring
from convert.trace.edge.smoothing import smoothest
from convert.trace.unseen.follow import faired

MAT, PAPER = np.array([34.0, 122.0, 96.0]), np.array([226.0, 196.0, 142.0])
INK = np.array([0.28, 0.27, 0.3])
X = np.arange(-3.0, 3.01, 0.15)


def _rgb(profile):
    """Light and colour back to red, green, blue (ITU-R BT.601)."""
    back = np.array([[1.0, 0.0, 1.402], [1.0, -0.344136, -0.714136], [1.0, 1.772, 0.0]])
    return profile @ back.T


@pytest.mark.parametrize("width", [0.0, 0.34, 0.6])
@pytest.mark.parametrize("blur", [0.15, 0.3])
def test_rim_is_measured(width: float, blur: float) -> None:
    rim = Rim(width_mm=width, tone=INK, blur_mm=np.array([blur, blur, blur]), halo=0.1)
    profile = _rgb(model(X, 0.37, rim, MAT, PAPER))
    found, edge = fit_rim(X, profile, MAT, PAPER, noise=2.0)
    assert edge == pytest.approx(0.37, abs=0.03)
    assert found.width_mm == pytest.approx(width, abs=0.08)


@settings(deadline=None)
@given(st.floats(-0.6, 0.6), st.integers(0, 1000))
def test_edge_is_located_in_noise(at: float, seed: int) -> None:
    rim = Rim(width_mm=0.6, tone=INK, blur_mm=np.array([0.2, 0.3, 0.3]))
    clean = _rgb(model(X, np.full(40, at), rim, np.tile(MAT, (40, 1)), np.tile(PAPER, (40, 1))))
    noisy = clean + np.random.default_rng(seed).normal(0, 4, clean.shape)
    usable = np.ones(noisy.shape[:2])
    mat, paper = np.tile(MAT, (40, 1)), np.tile(PAPER, (40, 1))
    edge, error = locate(X, noisy, usable, np.full(40, at + 0.2), rim, mat, paper, noise=4.0)
    assert edge.mean() == pytest.approx(at, abs=0.01)
    assert edge.std() < 3 * np.median(error)


def test_local_fit_is_exact_on_a_parabola() -> None:
    s = np.arange(80.0)
    line = np.column_stack([s, 0.01 * (s - 40) ** 2])
    fitted, slope = local_fit(line, np.ones(80), *tricube(12))
    assert fitted[20:60] == pytest.approx(line[20:60], abs=0.01)
    assert slope[40] == pytest.approx([1.0, 0.0], abs=0.01)


def test_smoothest_line_passes_by_a_stray_and_over_a_gap() -> None:
    s = np.linspace(0, 50, 101)
    line = np.column_stack([s, np.zeros(101)])
    seen, weight = line.copy(), np.ones(101)
    seen[30, 1] = 3.0
    weight[60:80] = 0.0
    seen[60:80, 1] = 99.0
    smooth = smoothest(seen, weight, 600.0)
    assert np.abs(smooth[:, 1]).max() < 0.1


def _rectangle(width: float, height: float):
    return even_ring(np.array([[0, 0], [width, 0], [width, height], [0, height]], float))


def test_fair_ring_has_true_corners_and_straight_sides() -> None:
    ring = _rectangle(120, 80)
    noisy = ring + np.random.default_rng(3).normal(0, 0.06, ring.shape)
    ring = fair(noisy, np.ones(len(noisy)), MEASURED)
    assert len(ring.corners) == 4
    corners = ring.points[ring.corners]
    for corner in ([0, 0], [120, 0], [120, 80], [0, 80]):
        assert np.hypot(*(corners - corner).T).min() < 0.12
    assert np.abs(np.minimum(ring.points[:, 1], 80 - ring.points[:, 1])[ring.points[:, 0] == 60]).max(initial=0) < 0.1


def test_small_kink_of_a_darts_cap_is_a_corner_and_a_curve_is_none() -> None:
    cap = np.array([[0, 0], [50, 0], [62, -2.6], [74, 0], [120, 0], [120, 80]], float)
    t = np.linspace(0, np.pi / 2, 60)
    curve = np.column_stack([120 - 80 * np.sin(t), 80 + 40 * (1 - np.cos(t))])[1:]
    ring = even_ring(np.vstack([cap, curve, [[0, 120]]]))
    found = fair(ring, np.ones(len(ring)), MEASURED)
    corners = found.points[found.corners]
    for kink in cap[1:4]:
        assert np.hypot(*(corners - kink).T).min() < 0.4
    inside = corners[(corners[:, 0] > 45) & (corners[:, 0] < 115) & (corners[:, 1] > 82) & (corners[:, 1] < 118)]
    assert len(inside) == 0


def _with_notch(depth: float):
    tip = [60.0, depth]
    return even_ring(np.array([[0, 0], [57, 0], tip, [63, 0], [120, 0], [120, 80], [0, 80]], float))


@pytest.mark.parametrize("depth", [5.0, -5.0])
def test_notch_is_found_and_bridged(depth: float) -> None:
    ring = _with_notch(depth)
    (notch,) = find_notches(ring)
    assert notch.outward == (depth < 0)
    flat = bridged(ring, (notch,))
    near = flat[np.abs(flat[:, 0] - 60) < 2.0]
    near = near[near[:, 1] < 40]
    assert np.abs(near[:, 1]).max() < 1.2


def test_a_corner_is_no_notch() -> None:
    assert find_notches(_rectangle(120, 80)) == ()


def test_hidden_corner_is_where_two_straight_sides_meet() -> None:
    ring = _rectangle(120, 80)
    hidden = np.hypot(*(ring - [120, 80]).T) < 20
    drawn, new = carried_on(np.where(hidden[:, None], ring - 5.0, ring), hidden)
    assert np.hypot(*(drawn - [120, 80]).T).min() < 0.6
    assert new.sum() == pytest.approx(80, abs=6)


def test_hidden_curve_runs_on_as_a_curve() -> None:
    t = np.linspace(0, 2 * np.pi, 800, endpoint=False)
    circle = even_ring(60 * np.column_stack([np.cos(t), np.sin(t)]))
    hidden = circle[:, 0] > 54
    drawn, _ = carried_on(circle, hidden)
    assert np.abs(np.hypot(*resample(closed(drawn), 0.5).T) - 60).max() < 0.8


def test_plain_edge_blurred_as_light_lies_where_it_lies() -> None:
    """A lens blurs light, not the numbers that stand for it: light paper on a dark mat would read too large."""
    mm, half, gamma = 0.2, 300, 2.2
    y, x = np.mgrid[-half : half + 1, -half : half + 1] * mm
    inside = ndtr((40.0 - np.hypot(x, y)) / 0.3)[..., None]  # a disc of 40 mm, its edge blurred by 0.3 mm
    light = (PAPER / 255) ** gamma * inside + (MAT / 255) ** gamma * (1 - inside)
    noise = np.random.default_rng(3).normal(0, 1.5, light.shape)
    pixels = np.clip(255 * light ** (1 / gamma) + noise + 0.5, 0, 255).astype(np.uint8)
    seen = np.ones(pixels.shape[:2], bool)
    sheet = FlatSheet(pixels=pixels, seen=seen, mm_per_px=mm, origin_mm=[-half * mm, half * mm], lattice=None)
    turn = np.linspace(0, 2 * np.pi, round(2 * np.pi * 40 / 0.5), endpoint=False)
    base = 40.2 * np.column_stack([np.cos(turn), np.sin(turn)])
    first = measure_edge(sheet, base)
    again = measure_edge(sheet, base, like=first.rim)
    assert first.rim.width_mm == 0
    assert np.hypot(*again.points.T).mean() == pytest.approx(40.0, abs=0.02)


def test_rim_that_is_none_on_a_closer_look_is_let_go() -> None:
    plain = Rim(width_mm=0.0, tone=np.ones(3), blur_mm=np.array([0.2, 0.2, 0.2]), halo=0.1)
    profile = _rgb(model(X, 0.1, plain, MAT, PAPER))
    believed = Rim(width_mm=0.3, tone=INK, blur_mm=np.array([0.2, 0.2, 0.2]))
    found, edge = fit_rim(X, profile, MAT, PAPER, noise=2.0, like=believed)
    assert edge == pytest.approx(0.1, abs=0.1)
    assert found.width_mm == 0 or found.width_mm > 0.2


def test_a_corner_whose_one_side_a_line_of_the_mat_hides_stays_where_the_rough_outline_has_it() -> None:
    """Ten millimetres of one side read 1.5 mm too far in, untrusted but for two samples: no curve may run on there."""
    square = np.array([[0.0, 0], [80, 0], [80, 60], [0, 60]])
    rough = even_ring(square)
    points, weight = rough.copy(), np.ones(len(rough))
    hidden = (rough[:, 0] > 79.9) & (rough[:, 1] > 42)
    points[hidden, 0] -= 1.5
    weight[hidden] = 0.0
    weight[np.flatnonzero(hidden)[[12, 30]]] = 0.07, 0.1
    turned = (rough[:, 1] > 59.9) & (rough[:, 0] > 78)
    points[turned], weight[turned] = points[turned] - [1.2, 1.0], 0.04
    assert np.hypot(*(fair(points, weight, ROUGH).points - square[2]).T).min() > 2.0  # what the samples alone give
    ring = faired(points, weight, rough, ROUGH)
    assert np.hypot(*(ring.points - square[2]).T).min() < 0.5


def test_double_notch_whose_mouths_a_slanting_line_of_the_mat_has_drawn_out() -> None:
    """Between the two the rough edge sags and rises slowly, so that a further bend is sharper than the mouth's own."""
    edge = [[-14, 0], [-10.9, -1], [-8.2, 1.1], [-6.9, 3.1], [-4.5, 0.3], [-3.1, -0.5], [-0.5, -0.1], [2.2, 1.0]]
    edge += [[4.7, 3.7], [7.1, 1.0], [9.5, 0.3], [30, 0.2], [30, 60], [-60, 60], [-60, 0]]
    ring = even_ring(np.array(edge, float))
    notches = find_notches(ring)
    tips = sorted(float(ring[notch.tip][0]) for notch in notches)
    assert tips == pytest.approx([-6.9, 4.7], abs=0.6)
    assert np.hypot(*(bridged(ring, notches) - [4.7, 3.7]).T).min() > 2.0
