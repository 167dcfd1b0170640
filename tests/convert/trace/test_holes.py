"""Holes told from print by their shape, and found where lines of the mat are seen through them."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.cuts import holes
from convert.trace.trace import trace
from convert.trace.tracing import TracedMark
from tests import render_sheet as render

RING = np.array([[25.0, 25.0], [215.0, 28.0], [212.0, 155.0], [28.0, 150.0]])
BLACK = {"mat_rgb": (44, 43, 41), "line_rgb": (170, 170, 170)}
KRAFT: dict = {"rgb": (186, 148, 108), "opacity": 1.0}


def _holes(sheet: FlatSheet) -> list[TracedMark]:
    (traced,) = trace(sheet)
    return [mark for mark in traced.marks if mark.kind == "hole"]


def _drawn(holes: list[tuple[Points, float]], cuts: tuple[Points, ...] = (), **paper: object) -> FlatSheet:
    piece = render.Drawn(cut_line=RING, holes=tuple(holes), cuts=cuts, **paper)  # type: ignore[arg-type]
    return render.draw(render.Scene(pieces=(piece,), **BLACK))  # type: ignore[arg-type]


@pytest.mark.parametrize("off", [(0.0, 0.0), (1.0, 0.3), (0.2, -1.6)])
def test_hole_over_a_crossing_of_heavy_lines(off: tuple[float, float]) -> None:
    wanted = [(np.array([100.0, 100.0]) + off, 4.2), (np.array([150.0, 73.0]) + off, 4.2)]
    found = _holes(_drawn(wanted))
    assert len(found) == 2
    for (at, size), mark in zip(wanted, sorted(found, key=lambda m: float(m.at[0])), strict=True):
        assert np.hypot(*(mark.at - at)) < 0.3
        assert mark.size_mm == pytest.approx(size, abs=0.4)


def test_hole_that_a_slanting_line_of_the_mat_parts() -> None:
    at = np.array([125.0, 94.0])
    sheet = _drawn([(at, 6.2)])
    pixels = sheet.pixels.copy()
    ends = np.rint(sheet.to_px(at + [[-2.0, -2.3], [2.2, 1.9]])).astype(int).tolist()
    cv2.line(pixels, ends[0], ends[1], (170, 170, 170), 4)
    (mark,) = _holes(replace(sheet, pixels=pixels))
    assert np.hypot(*(mark.at - at)) < 0.4
    assert mark.size_mm == pytest.approx(6.2, abs=0.5)


def test_two_holes_side_by_side_are_two() -> None:
    wanted = np.array([[96.0, 84.0], [101.2, 84.5]])
    found = _holes(_drawn([(at, 4.2) for at in wanted]))
    assert len(found) == 2
    assert max(min(np.hypot(*(mark.at - at)) for mark in found) for at in wanted) < 0.3


def test_print_of_the_mats_colour_is_no_hole() -> None:
    """An arrow's head with its shaft, the wedge where two dart legs meet, a piece of a thick line."""
    tip = np.array([84.0, 94.0])
    head = np.array([tip, tip + [6.0, 2.8], tip + [6.0, 0.4], tip + [30.0, 0.4], tip + [30.0, -0.3], tip + [6.0, -2.8]])
    legs = [np.array([[150.0, 60.0], [190.0, far], [190.0, far + 0.9]]) for far in (57.0, 62.5)]
    bar = np.array([[60.0, 60.0], [66.0, 61.0], [65.7, 63.6], [59.7, 62.6]])
    assert not _holes(_drawn([], cuts=(head, *legs, bar), **KRAFT))


@pytest.mark.parametrize("apart", [4.1, 4.6])
def test_holes_that_touch_are_two(apart: float) -> None:
    wanted = np.array([[96.0, 84.0], [96.0 + 0.6 * apart, 84.0 + 0.8 * apart]])
    found = _holes(_drawn([(at, 4.2) for at in wanted]))
    assert len(found) == 2
    assert max(min(np.hypot(*(mark.at - at)) for mark in found) for at in wanted) < 0.4


def test_a_place_is_looked_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Dots of ink that no line of the mat parts show alike however lines are bridged."""
    looked: list[tuple[float, ...]] = []
    monkeypatch.setattr(holes, "_hole", lambda sheet, paper, at, reach: looked.append((*at, reach)))
    dots = [np.array([x, 84.0]) + 1.5 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) for x in (84.0, 104.0, 124.0)]
    assert not _holes(_drawn([], cuts=tuple(dots), **KRAFT))
    assert looked
    assert len(set(looked)) == len(looked)
