"""Ways along drawn ink, and nested sizes that are followed past darts of their own."""

import numpy as np

from convert.trace.ink.ink import find_ink
from convert.trace.ink.ink_path import InkAround
from tests.render_lines import Drawing, paper_of

PAPER = np.array([[4.0, 6], [116, 2], [116, 90], [2, 92]])


def test_the_way_runs_along_a_dashed_corner_and_not_straight_across() -> None:
    drawing = Drawing(120, 96)
    drawing.line([[20, 20], [20, 60], [60, 60]], 0.55, (3, 2))
    sheet = drawing.sheet()
    around = InkAround(find_ink(sheet, paper_of(sheet, PAPER)), np.array([20.0, 45]), np.array([45.0, 60]))
    way, corners = around.way()
    assert len(corners) == 1
    assert np.hypot(*(way[corners[0]] - [20, 60])) < 2.0
    assert around.share(way) > 0.8
    assert around.share(np.array([[20.0, 45], [45, 60]])) < 0.3
    beside = np.minimum(np.abs(way[:, 0] - 20), np.abs(way[:, 1] - 60))
    assert beside.max() < 1.0


def test_without_ink_the_way_is_the_straight_one() -> None:
    sheet = Drawing(120, 96).sheet()
    around = InkAround(find_ink(sheet, paper_of(sheet, PAPER)), np.array([20.0, 45]), np.array([45.0, 45]))
    way, corners = around.way()
    assert corners == []
    assert np.abs(way[:, 1] - 45).max() < 0.3
