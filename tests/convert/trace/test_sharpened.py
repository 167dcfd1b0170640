"""Outlines in pictures that a telephone has sharpened hard, with haloes along every edge."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import closed, resample
from convert.trace.trace import trace
from tests import render_sheet as render
from tests.convert.trace.test_trace import PAPERS, away, bodice

# strength, and reach in mm, of what a telephone adds, as strongly processed pictures show them
HALOES = ((1.2, 0.6), (1.0, 0.9), (1.6, 0.9))
CLEAR = [name for name in PAPERS if name != "white tissue on cream"]  # paper as light as its mat: no halo to be seen


@pytest.mark.parametrize("halo", HALOES)
@pytest.mark.parametrize("name", CLEAR)
def test_haloes_move_no_edge_further_than_is_claimed(name: str, halo: tuple[float, float]) -> None:
    rgb, opacity, rim, mat, line = PAPERS[name]
    ring, corners = bodice()
    piece = render.Drawn(cut_line=ring, rgb=rgb, opacity=opacity, rim_mm=rim)
    scene = render.Scene(pieces=(piece,), mat_rgb=mat, line_rgb=line, blur_mm=0.25, halo=halo)
    (traced,) = trace(render.draw(scene))
    off = cKDTree(resample(closed(ring), 0.02)).query(away(traced.outline, corners, 3.0))[0]
    assert np.sqrt((off**2).mean()) < render.MM_PER_PX
    assert np.percentile(off, 95) < traced.uncertainty_mm + render.MM_PER_PX / 4


@pytest.mark.parametrize("rim_mm", [0.6, 0.0])
@pytest.mark.parametrize("halo", HALOES)
def test_a_printed_edge_on_a_mat_as_dark_as_ink_is_told_by_the_ends_of_the_mats_lines(
    halo: tuple[float, float], rim_mm: float
) -> None:
    """White tissue on dark brown: half a printed line along the edge looks like mat, but for the mat's white lines."""
    ring, corners = bodice()
    piece = render.Drawn(cut_line=ring, rgb=(214, 212, 206), opacity=0.8, rim_mm=rim_mm)
    scene = render.Scene(
        pieces=(piece,), mat_rgb=(62, 58, 54), line_rgb=(214, 202, 192), blur_mm=0.25, halo=halo, noise=2.0
    )
    (traced,) = trace(render.draw(scene))
    off = cKDTree(resample(closed(ring), 0.02)).query(away(traced.outline, corners, 3.0))[0]
    assert np.sqrt((off**2).mean()) < render.MM_PER_PX
