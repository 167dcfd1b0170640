"""Notches among the mat's lines, print and weights: each is found once, and what only looks like one is none."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import Points
from calibration.sheet.flatten import FlatSheet
from convert.trace.trace import trace
from tests import render_sheet as render

SQUARE = np.array([[25.0, 25.0], [215.0, 25.0], [215.0, 154.0], [25.0, 154.0]])  # counter-clockwise, bottom first
GREEN = {"mat_rgb": (34, 122, 96), "line_rgb": (214, 226, 140)}
KRAFT: dict = {"rgb": (186, 148, 108), "opacity": 1.0}


def _sheet(paper: dict | None = None, turn_deg: float = 0.0, **piece: object) -> FlatSheet:
    drawn = render.Drawn(cut_line=SQUARE, **(paper or {}), **piece)  # type: ignore[arg-type]
    return render.draw(render.Scene(pieces=(drawn,), **GREEN))  # type: ignore[arg-type]


def _notches(sheet: FlatSheet) -> Points:
    (traced,) = trace(sheet)
    return np.array([mark.at for mark in traced.marks if mark.kind == "notch"]).reshape(-1, 2)


def _on_bottom(x: float, deep: float, wide: float, lean: float = 0.0) -> Points:
    """A slit up from the bottom edge, or a triangle if its end is narrow; leaning by ``lean``."""
    return np.array([[x - wide / 2, 24.4], [x + wide / 2, 24.4], [x + lean, 25.0 + deep]])


def _drawn_line(sheet: FlatSheet, ends: list[list[list[float]]], width_mm: float) -> FlatSheet:
    pixels = sheet.pixels.copy()
    for one in ends:
        a, b = np.rint(sheet.to_px(np.array(one)) * 16).astype(int).tolist()
        cv2.line(pixels, a, b, (52, 48, 50), round(width_mm / render.MM_PER_PX), cv2.LINE_AA, 4)
    return replace(sheet, pixels=pixels)


def _slit(x: float, lean: float) -> Points:
    """A slit 1.1 mm wide and 6.5 mm deep up from the bottom edge."""
    return np.array([[x - 0.55, 24.4], [x + 0.55, 24.4], [x + 0.55 + lean, 31.5], [x - 0.55 + lean, 31.5]])


@pytest.mark.parametrize("paper", [{}, KRAFT])
def test_slits_that_lines_of_the_mat_cross(paper: dict) -> None:
    """Each is crossed by the line at y = 30, the second close beside another line too."""
    found = _notches(_sheet(paper, cuts=(_slit(64.0, 0.6), _slit(151.4, 0.0), _slit(176.0, -1.5))))
    assert len(found) == 3
    assert cKDTree(found).query([[64.0, 25.0], [151.4, 25.0], [176.0, 25.0]])[0].max() < 0.8


def test_slit_over_a_heavy_line_of_the_mat_shows_that_lines_colour() -> None:
    found = _notches(_sheet(KRAFT, cuts=(_slit(100.0, 0.0),)))
    assert len(found) == 1
    assert np.hypot(*(found[0] - [100.0, 25.0])) < 0.8


def test_v_cut_crossed_by_heavy_lines_of_the_mat() -> None:
    found = _notches(_sheet(cuts=(_on_bottom(100.0, 5.0, 6.0), _on_bottom(148.4, 5.0, 6.0))))
    assert len(found) == 2
    assert cKDTree(found).query([[100.0, 25.0], [148.4, 25.0]])[0].max() < 0.8


@pytest.mark.parametrize("x", [100.0, 101.6, 149.0])
def test_triangle_standing_out_over_a_line_of_the_mat(x: float) -> None:
    """The line that runs behind the triangle parts it in two."""
    tab = np.array([[x - 4.5, 25.6], [x, 19.0], [x + 4.5, 25.6]])
    found = _notches(_sheet(tabs=(tab,)))
    assert len(found) == 1
    assert np.hypot(*(found[0] - [x, 25.0])) < 0.8


def test_double_triangles_whose_mouths_nearly_touch() -> None:
    tabs = tuple(np.array([[x - 4.5, 25.6], [x, 19.0], [x + 4.5, 25.6]]) for x in (83.0, 94.0))
    (traced,) = trace(_sheet(tabs=tabs, rim_mm=0.5))
    found = np.array([mark.at for mark in traced.marks if mark.kind == "notch"])
    assert len(found) == 2
    assert cKDTree(found).query([[83.0, 25.0], [94.0, 25.0]])[0].max() < 0.8
    assert (traced.outline[:, 1] > 24.2).all()  # neither is left in the outline


def test_dashes_and_dots_of_print_by_the_edge_are_none() -> None:
    """A stitching line that meets the edge with a dash, and once with a gap; the dots of dotted paper."""
    sheet = _sheet({"rgb": (236, 234, 226), "opacity": 0.85}, rim_mm=0.4)
    dashes = [
        [[x, 25.0 + start + 6.2 * k], [x + 0.3, 29.0 + start + 6.2 * k]]
        for x, start in ((66.0, -1.0), (104.0, 1.2), (152.0, 0.2))
        for k in range(6)
    ]
    dots = [[[x, 26.2], [x, 26.2]] for x in (45.0, 87.0, 134.0)]
    sheet = _drawn_line(_drawn_line(sheet, dashes, 0.6), dots, 1.2)
    assert not len(_notches(sheet))


@pytest.mark.parametrize("paper", [{"rgb": (243, 243, 239), "opacity": 1.0}, KRAFT])
def test_triangles_printed_on_a_cut_edge_are_notches(paper: dict) -> None:
    sheet = _sheet(paper)
    pixels = sheet.pixels.copy()
    for x in (66.0, 78.0, 143.0):
        ring = np.array([[x - 2.5, 25.2], [x + 2.5, 25.2], [x, 30.0]])
        cv2.fillPoly(pixels, [np.rint(sheet.to_px(ring) * 16).astype(np.int32)], (150, 44, 50), cv2.LINE_AA, 4)
    found = _notches(replace(sheet, pixels=cv2.GaussianBlur(pixels, (0, 0), 0.5)))
    assert len(found) == 3
    assert cKDTree(found).query([[66.0, 25.0], [78.0, 25.0], [143.0, 25.0]])[0].max() < 0.8


def test_beside_a_weight_no_notch_is_believed() -> None:
    """The weight's foot and its shadow bite into the edge: what shows there may be either."""
    piece = render.Drawn(cut_line=SQUARE, cuts=(_on_bottom(100.0, 5.0, 6.0), _on_bottom(151.5, 4.0, 4.0)))
    weight = (np.array([130.0, 27.0]), 22.0)
    sheet = render.draw(render.Scene(pieces=(piece,), weights=(weight,), **GREEN))  # type: ignore[arg-type]
    found = _notches(sheet)
    assert len(found) == 1
    assert np.hypot(*(found[0] - [100.0, 25.0])) < 0.8


def test_v_cut_in_tissue_of_nearly_the_mats_lightness_keeps_its_depth() -> None:
    """Where paper and mat differ in tint mostly, the blur of an edge looks like neither; it is no ink for that."""
    pink = {"mat_rgb": (214, 128, 160), "line_rgb": (150, 60, 110)}
    piece = render.Drawn(cut_line=SQUARE, cuts=(_on_bottom(104.6, 4.2, 5.0),), rgb=(224, 184, 150), rim_mm=0.35)
    (traced,) = trace(render.draw(render.Scene(pieces=(piece,), blur_mm=0.35, **pink)))  # type: ignore[arg-type]
    (notch,) = [mark for mark in traced.marks if mark.kind == "notch"]
    assert np.hypot(*(notch.at - [104.6, 25.0])) < 0.8
    assert notch.size_mm > 3.0
