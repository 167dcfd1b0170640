"""The plane's vocabulary against shapely, which knows nothing of it."""

from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString, Point

from calibration.ground.plane import cross, left, meet, mirrored, point_at, points_at, turn_deg, turned, unit
from calibration.ground.spread import NORMAL, robust_spread

angle = st.floats(-3.1, 3.1)
coordinate = st.floats(-500.0, 500.0)


@given(angle)
def test_turns(by: float) -> None:
    way = np.array([3.0, -4.0])
    theirs = affinity.rotate(Point(way), by, origin=(0, 0), use_radians=True)
    mine = turned(way[None], np.zeros(2), by)[0]
    assert mine == pytest.approx([theirs.x, theirs.y], abs=1e-12)
    assert turn_deg(way, mine) == pytest.approx(np.degrees(by), abs=1e-9)
    quarter = affinity.rotate(Point(way), 90, origin=(0, 0))
    assert left(way) == pytest.approx([quarter.x, quarter.y])
    assert np.hypot(*unit(mine)) == pytest.approx(1.0)


@given(coordinate, coordinate, angle)
def test_lines_meet_where_shapely_says(x: float, y: float, heading: float) -> None:
    p, q = np.array([x, y]), np.array([10.0, -20.0])
    u = np.array([np.cos(heading), np.sin(heading)])
    v = np.array([-0.6, 0.8])
    if abs(cross(u, v)) < 0.01:
        return
    at = meet(p, u, q, v)
    assert at is not None
    assert LineString([p - 2e5 * u, p + 2e5 * u]).distance(Point(at)) < 1e-6
    assert LineString([q - 2e5 * v, q + 2e5 * v]).distance(Point(at)) < 1e-6


def test_parallel_lines_do_not_meet() -> None:
    assert meet(np.zeros(2), np.array([1.0, 2.0]), np.array([5.0, 0.0]), np.array([2.0, 4.0])) is None


@given(st.floats(0.0, 1.0))
def test_points_at_a_length(share: float) -> None:
    line = np.array([[0.0, 0.0], [30.0, 40.0], [30.0, 100.0], [-7.0, 101.0]])
    drawn = LineString(line)
    theirs = drawn.interpolate(share * drawn.length)
    assert point_at(line, share * drawn.length) == pytest.approx([theirs.x, theirs.y], abs=1e-9)
    assert points_at(line, [0.0, drawn.length]) == pytest.approx(line[[0, -1]])


def test_a_mirror_keeps_the_axis_and_turns_what_is_square_to_it() -> None:
    axis = np.array([2.0, 1.0])
    assert mirrored(axis, axis) == pytest.approx(axis)
    assert mirrored(left(axis), axis) == pytest.approx(-left(axis))


def test_a_robust_spread_is_that_of_the_normal_values_among_outliers() -> None:
    assert pytest.approx(1 / NormalDist().inv_cdf(0.75), rel=1e-4) == NORMAL
    values = np.random.default_rng(7).normal(0.0, 2.5, 4000)
    values[:200] = 1e6
    assert robust_spread(values) == pytest.approx(2.5, rel=0.12)
