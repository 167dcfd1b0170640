"""Rings put together from stretches of line."""

import numpy as np
from scipy.spatial import cKDTree

from calibration.points import Points, closed, resample
from convert.trace.assembly import assemble, part_of
from convert.trace.border import border_of


def stretch(*corners: tuple[float, float]) -> Points:
    return resample(np.array(corners, float), 0.25)


def test_leg_of_a_dart_beside_a_shared_edge_does_not_break_the_ring() -> None:
    square = resample(closed(np.array([[0.0, 0], [200, 0], [200, 200], [0, 200]])), 0.25)
    border = border_of(square[:-1])
    shared = stretch((-4, 0), (204, 0))
    own = [stretch((200, 3), (200, 197)), stretch((197, 200), (3, 200)), stretch((0, 197), (0, 3))]
    leg = stretch((60, 30), (150, 30))
    lines = [*own, shared, leg]
    made = assemble(
        [part_of(points, border) for points in (*own, leg)],
        [part_of(points, border) for points in lines],
        np.vstack(lines),
        [part_of(stretch((195, 3), (195, 190)), border)],
        border.length,
    )
    assert made is not None
    assert cKDTree(square).query(made[0])[0].max() < 1.0
