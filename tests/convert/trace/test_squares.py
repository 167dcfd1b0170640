"""A square of the mat is no piece of paper."""

import numpy as np
import pytest

from calibration.ground.errors import InputError
from convert.trace.trace import trace
from tests import render_sheet as render

CREAM, LINE = (232, 226, 208), (150, 136, 104)


def cell(*, aside_mm: float = 0.0) -> np.ndarray:
    """Eight squares by eight, on the mat's lines but for ``aside_mm``."""
    side = 8 * render.PITCH_MM
    return np.array([[20.0, 30.0], [20 + side, 30], [20 + side, 30 + side], [20, 30 + side]]) + aside_mm


def test_a_square_of_the_mat_that_is_a_little_lighter_is_not_given_as_a_piece() -> None:
    light = render.Drawn(cut_line=cell(), rgb=(255, 255, 255), opacity=0.9, rim_mm=0.0)
    with pytest.raises(InputError) as caught:
        trace(render.draw(render.Scene(pieces=(light,), mat_rgb=CREAM, line_rgb=LINE)))
    assert "square of the mat" in caught.value.problem
    assert "colour" in caught.value.remedy


def test_paper_of_that_shape_beside_the_lines_is() -> None:
    light = render.Drawn(cut_line=cell(aside_mm=3.0), rgb=(255, 255, 255), opacity=0.9, rim_mm=0.0)
    (traced,) = trace(render.draw(render.Scene(pieces=(light,), mat_rgb=CREAM, line_rgb=LINE)))
    assert np.ptp(traced.outline, axis=0) == pytest.approx([8 * render.PITCH_MM] * 2, abs=0.5)
