"""Curves fitted to outlines: the tolerance kept, few segments, lengths checked by another library."""

import numpy as np
import pytest
import svgelements

from calibration.ground.points import closed, length
from convert.piece.outline.fit import fit_path
from convert.piece.outline.meeting import apart_from
from convert.piece.outline.path import Cubic, Line, Path
from tests.convert.piece.shapes import draw


def test_length_and_bounds_agree_with_another_library() -> None:
    nodes = np.array([[0, 0], [120, 40], [-30, 90], [60, 150]], float)
    outside = svgelements.Path("M0,0 C120,40 -30,90 60,150")
    assert Cubic(nodes=nodes).length() == pytest.approx(outside.length(error=1e-9), abs=1e-3)
    left, bottom, right, top = Path(segments=(Cubic(nodes=nodes),)).bounds()
    assert (left, bottom, right, top) == pytest.approx(outside.bbox(), abs=1e-6)


def test_points_are_close_and_keep_every_end() -> None:
    path = Path(
        segments=(
            Line(start=[0, 0], end=[10.1, 0]),
            Cubic(nodes=[[10.1, 0], [20, 0], [30, 10], [30, 20]]),
        )
    )
    points = path.points(apart_mm=0.5)
    assert np.hypot(*np.diff(points, axis=0).T).max() <= 0.5 + 1e-9
    assert (points == [10.1, 0]).all(1).any()


@pytest.mark.parametrize("tolerance", [0.05, 0.2, 0.5])
def test_no_point_is_farther_off_than_the_tolerance(tolerance: float) -> None:
    drawn = draw("bodice front", np.random.default_rng(3), noise_mm=0.1)
    ring = drawn.tracing.outline
    path = fit_path(ring, drawn.tracing.corners, tolerance_mm=tolerance)
    points = path.points(apart_mm=0.1)
    assert apart_from(points, ring[::3]).max() <= tolerance + 0.01
    assert path.length() == pytest.approx(length(closed(ring)), abs=3.0)


def test_straight_edges_become_lines_and_an_armhole_few_cubics() -> None:
    drawn = draw("bodice front", np.random.default_rng(5), darts=False, noise_mm=0.0)
    path = fit_path(drawn.tracing.outline, drawn.tracing.corners, tolerance_mm=0.3)
    lines = sum(isinstance(segment, Line) for segment in path.segments)
    assert lines >= 3
    assert len(path.segments) <= 11


def test_joins_between_corners_are_smooth() -> None:
    t = np.linspace(0, 2 * np.pi, 1500)
    wave = np.column_stack([60 * t, 40 * np.sin(2 * t)])
    path = fit_path(wave, (), tolerance_mm=0.05, closed=False)
    assert len(path.segments) > 1
    for one, other in zip(path.segments, path.segments[1:], strict=False):
        u, v = one.nodes[-1] - one.nodes[-2], other.nodes[1] - other.nodes[0]
        assert abs(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))) < 0.5
