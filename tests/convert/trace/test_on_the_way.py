"""Stretches of a printed line: which of them lie on its way round a piece."""

import numpy as np

from convert.trace.nest.on_the_way import on_the_way

SQUARE = np.array([[0.0, 0.0], [300.0, 0.0], [300.0, 400.0], [0.0, 400.0]])


def sides(stop_short_mm: float) -> list[np.ndarray]:
    """The sides of a rectangle, each ending so far short of its corners."""
    out = []
    for a, b in zip(SQUARE, np.roll(SQUARE, -1, axis=0), strict=True):
        way = (b - a) / np.hypot(*(b - a))
        out.append(np.array([a + stop_short_mm * way, b - stop_short_mm * way]))
    return out


def test_a_buttonhole_is_not_on_the_way_and_a_short_stretch_between_two_gaps_is() -> None:
    buttonhole = np.array([[60.0, 190.0], [60.0, 208.0]])
    assert on_the_way([*sides(1.0), buttonhole]) == [0, 1, 2, 3]
    corner = np.array([[299.0, 0.0], [300.0, 2.0], [300.0, 12.0]])
    first, *rest = sides(60.0)
    assert on_the_way([first, corner, *rest]) == [0, 1, 2, 3, 4]


def test_three_stretches_are_all_needed() -> None:
    assert on_the_way(sides(1.0)[:2] + [np.array([[60.0, 190.0], [60.0, 208.0]])]) == [0, 1, 2]
