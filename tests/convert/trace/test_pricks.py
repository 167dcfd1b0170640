"""Rows of pricks of a tracing wheel, on paper without print."""

import itertools

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import Points, resample
from convert.trace.printed.lines import read_print
from tests.convert.trace.test_lines import APEX, CUT, LEGS, inset, lines_of
from tests.render_lines import Drawing, paper_of


def _prick(drawing: Drawing, a: Points, b: Points, step: float, size: float) -> None:
    count = round(float(np.hypot(*(b - a))) / step)
    for k in range(count):
        drawing.dot(a + (b - a) * k / count, size)


@pytest.mark.parametrize(("step", "size"), [(2.5, 0.6), (3.0, 0.8), (3.5, 1.0)])
def test_pricks_make_a_seam_line_and_darts(step: float, size: float) -> None:
    drawing = Drawing(180, 140)
    ring = inset()
    for a, b in itertools.pairwise(ring):
        _prick(drawing, a, b, step, size)
    for leg in LEGS:
        _prick(drawing, APEX, leg, step, size)
    sheet = drawing.sheet()
    read = read_print(sheet, paper_of(sheet, CUT), CUT)
    assert read.pricked
    stitching = np.vstack([resample(line, 0.5) for line in lines_of(read, "stitching")])
    assert np.quantile(cKDTree(resample(ring, 0.1)).query(stitching)[0], 0.95) < 0.3
    assert np.quantile(cKDTree(stitching).query(resample(ring, 1.0))[0], 0.9) < 1.0
    legs = lines_of(read, "dart")
    assert len(legs) == 2
    assert all(np.hypot(*(leg[1] - APEX)) < 2.0 for leg in legs)


def test_scattered_specks_are_no_line() -> None:
    drawing = Drawing(180, 140)
    for at in np.random.default_rng(3).uniform([20, 20], [160, 115], (150, 2)):
        drawing.dot(at, 0.8)
    sheet = drawing.sheet()
    assert not read_print(sheet, paper_of(sheet, CUT), CUT).lines
