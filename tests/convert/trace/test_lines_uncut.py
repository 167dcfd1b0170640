"""Printed cut lines of small drawn uncut sheets with known truth."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.errors import InputError
from calibration.ground.points import Points, closed, resample, signed_area
from calibration.sheet.flatten import FlatSheet
from convert.trace.nest.nest import is_uncut, printed_cut_line
from tests.render_lines import Drawing, paper_of

PAPER = np.array([[4.0, 6], [226, 2], [230, 160], [120, 166], [2, 172]])
STYLES: tuple[tuple[float, ...], ...] = ((3.2, 2.0), (), (7.0, 1.8, 0.9, 1.8), (10.0, 3.0), (0.3, 1.75))


def size_line(k: int) -> Points:
    """Cut line of size ``k`` from 0: all share the fold on the left; necks and shoulders of different sizes cross."""
    turn = np.linspace(0.0, np.pi / 2, 40)
    neck = np.column_stack([20 + (40 + 2.5 * k) * np.sin(turn), 148 + 3.0 * k - (36 + 5.5 * k) * np.cos(turn)])
    side = [[150 + 8.0 * k, 120 + 3.0 * k], [160 + 8.0 * k, 34 - 5.0 * k], [20, 30 - 5.0 * k]]
    return np.vstack([neck[::-1], [[20, 40]], np.array(side)[::-1], [neck[-1]]])[::-1]


def ring(k: int) -> Points:
    line = size_line(k)[:-1]
    return line if signed_area(line) > 0 else line[::-1]


def away(found: Points, truth: Points) -> float:
    """Root mean square distance both ways."""
    one = cKDTree(resample(closed(truth), 0.2)).query(found)[0]
    other = cKDTree(resample(closed(found), 0.2)).query(resample(closed(truth), 0.5))[0]
    return float(np.sqrt(max((one**2).mean(), (other**2).mean())))


def single() -> FlatSheet:
    drawing = Drawing(234, 176)
    line = closed(ring(2))
    drawing.line(line, 0.7)
    from shapely.geometry import Polygon

    drawing.line(np.array(Polygon(line).buffer(-12, join_style="mitre").exterior.coords), 0.6, (5, 3))
    drawing.line([[97.5, 20.2], [100.0, 24.7], [102.5, 20.2]], 0.35)
    drawing.word("BACK", [60, 80])
    return drawing.sheet()


def test_single_printed_line_is_followed_through_its_middle() -> None:
    sheet = single()
    paper = paper_of(sheet, PAPER)
    cut = printed_cut_line(sheet, paper)
    assert cut is not None
    assert cut.sizes == 1
    assert away(cut.outline, ring(2)) < 0.2
    assert signed_area(cut.outline) > 0
    assert np.hypot(*np.diff(cut.outline, axis=0).T).max() <= 0.51
    sharp = np.array([ring(2)[i] for i in range(len(ring(2))) if _turn(ring(2), i) > 20])
    assert cKDTree(cut.outline[cut.corners]).query(sharp)[0].max() < 0.5


def _turn(line: Points, i: int) -> float:
    a, b = line[i] - line[i - 1], line[(i + 1) % len(line)] - line[i]
    return float(np.degrees(np.abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))))


def test_cut_piece_with_a_stitching_line_is_not_uncut() -> None:
    from shapely.geometry import Polygon

    drawing = Drawing(234, 176)
    drawing.line(np.array(Polygon(ring(2)).buffer(-12, join_style="mitre").exterior.coords), 0.6, (5, 3))
    sheet = drawing.sheet()
    assert not is_uncut(sheet, paper_of(sheet, ring(2)))


def test_bare_paper_is_not_uncut() -> None:
    sheet = Drawing(234, 176).sheet()
    assert not is_uncut(sheet, paper_of(sheet, PAPER))
    assert printed_cut_line(sheet, paper_of(sheet, PAPER)) is None


@pytest.fixture(scope="module")
def nested() -> FlatSheet:
    drawing = Drawing(234, 176)
    for k, style in enumerate(STYLES):
        line = ring(k)
        start = int(np.argmin(np.hypot(*(line - [20, 40]).T)))
        open_line = np.roll(line, -start, axis=0)
        drawing.line(closed(open_line), 0.55, style)
    drawing.line([[20, 10], [20, 112]], 0.55)
    drawing.word("SIZES 8-16", [60, 90])
    return drawing.sheet()


@pytest.mark.parametrize("size", [1, 2, 3, 4, 5])
def test_each_nested_size_is_followed_through_crossings(nested: FlatSheet, size: int) -> None:
    cut = printed_cut_line(nested, paper_of(nested, PAPER), size)
    assert cut is not None
    assert (cut.sizes, cut.size) == (5, size)
    assert away(cut.outline, ring(size - 1)) < 0.5


@pytest.mark.parametrize("size", [None, 9, "14"])
def test_size_that_cannot_be_followed_says_what_to_do(nested: FlatSheet, size: int | str | None) -> None:
    with pytest.raises(InputError) as caught:
        printed_cut_line(nested, paper_of(nested, PAPER), size)
    assert "5" in caught.value.problem
    assert "size = 1" in caught.value.remedy


def crossing_line(k: int) -> Points:
    """Size ``k``: its neck meets the others' in one shallow crossing, and its side cuts through their underarms."""
    turn = np.linspace(0.0, np.pi / 2, 60)
    neck = np.column_stack([20 + (50 + 1.0 * k) * np.sin(turn), 146 + 2.5 * k - (46 + 1.2 * k) * np.cos(turn)])
    t = np.linspace(0, 1, 60)[:, None]
    top, under = np.array([126 + 2.0 * k, 126 + 2.5 * k]), np.array([160 + 8.0 * k, 84 - 2.6 * k])
    armhole = (1 - t) ** 2 * top + 2 * t * (1 - t) * np.array([118 + 2.0 * k, 86 - 2.6 * k]) + t**2 * under
    ring = np.vstack([neck, armhole, [[158 + 8.0 * k, 30 - 2.0 * k], [20, 30 - 2.0 * k]]])
    return ring if signed_area(ring) > 0 else ring[::-1]


def test_nested_sizes_whose_lines_run_together_and_cross_steeply() -> None:
    drawing = Drawing(234, 176)
    for k, style in enumerate(STYLES):
        line = crossing_line(k)
        start = int(np.argmin(np.hypot(*(line - [20, 30 - 2.0 * k]).T)))
        drawing.line(closed(np.roll(line, -start, axis=0)), 0.55, style)
    sheet = drawing.sheet()
    paper = paper_of(sheet, PAPER)
    for size in range(1, 6):
        cut = printed_cut_line(sheet, paper, size)
        assert cut is not None
        assert (cut.sizes, cut.size) == (5, size)
        assert away(cut.outline, crossing_line(size - 1)) < 0.6, size  # where five lines lie on one another


@pytest.mark.parametrize("solid", [False, True])
def test_printed_notch_is_read_among_the_lines_of_other_sizes(*, solid: bool) -> None:
    drawing = Drawing(234, 176)
    deep, half = (4.5, 2.3) if solid else (9.0, 4.5)
    tips = {}
    for k, style in enumerate(STYLES):
        line = crossing_line(k)
        start = int(np.argmin(np.hypot(*(line - [20, 30 - 2.0 * k]).T)))
        drawing.line(closed(np.roll(line, -start, axis=0)), 0.55, style)
        at = np.array([159 + 8.0 * k, 60 - 1.0 * k])
        tips[k + 1] = at - [deep, 0.0]  # on the line of the next size but one, or close to it
        for share in np.arange(0.0, 0.95, 0.06) if solid else (0.0,):
            wide = [0.0, half * (1 - share)]
            drawing.line([at - wide, at - [deep * (1 - share), 0.0], at + wide], 0.5 if solid else 0.35)
    sheet = drawing.sheet()
    cut = printed_cut_line(sheet, paper_of(sheet, PAPER), 4)
    assert cut is not None
    assert len(cut.notches) == 1
    assert np.hypot(*(cut.notches[0].at - (tips[4] + [deep, 0.0]))) < 1.5
    assert cut.notches[0].tip is not None
    assert np.hypot(*(cut.notches[0].tip - tips[4])) < 1.5


def test_each_nested_size_has_its_own_dart() -> None:
    """The legs of three sizes cross and run together towards their points."""
    drawing = Drawing(234, 176)
    apexes = []
    for k, style in enumerate(STYLES[:3]):
        line = ring(k)
        start = int(np.argmin(np.hypot(*(line - [20, 40]).T)))
        drawing.line(closed(np.roll(line, -start, axis=0)), 0.55, style)
        apexes.append(np.array([92.0 + 3.0 * k, 96.0 + 1.0 * k]))
        for side in (-9.0, 9.0):
            drawing.line([apexes[-1], [92.0 + 3.0 * k + side, 38 - 5.0 * k]], 0.55, style)
    drawing.line([[20, 20], [20, 112]], 0.55)
    sheet = drawing.sheet()
    for k, apex in enumerate(apexes):
        cut = printed_cut_line(sheet, paper_of(sheet, PAPER), k + 1)
        assert cut is not None
        assert (cut.sizes, away(cut.outline, ring(k)) < 0.5) == (3, True)
        found = [line.points[1] for line in cut.lines if line.kind == "dart"]
        assert len(found) == 2
        assert np.hypot(*(np.array(found) - apex).T).max() < 1.5


def test_a_cut_line_that_is_one_unbroken_ring_is_followed() -> None:
    """Printed corners a little rounded: nowhere does the line end."""
    from shapely.geometry import Polygon

    line = np.array(Polygon(ring(2)).buffer(-1.0).buffer(1.0, quad_segs=24).exterior.coords)
    drawing = Drawing(234, 176)
    drawing.line(line, 0.7)
    sheet = drawing.sheet()
    cut = printed_cut_line(sheet, paper_of(sheet, PAPER))
    assert cut is not None
    assert away(cut.outline, line[:-1]) < 0.2


def test_an_even_margin_round_a_printed_line_does_not_make_it_a_stitching_line() -> None:
    """Paper cut by hand 20 mm outside the line, to a millimetre or two."""
    from shapely.geometry import Polygon

    sheet = single()
    rough = np.array(Polygon(ring(2)).buffer(14.0, join_style="mitre").exterior.coords)[:-1]
    rough = resample(closed(rough), 40.0)[:-1]
    paper = rough + np.random.default_rng(4).normal(0.0, 1.5, rough.shape)
    cut = printed_cut_line(sheet, paper_of(sheet, paper))
    assert cut is not None
    assert away(cut.outline, ring(2)) < 0.2


def fanned_line(k: int, right: float, left: float, wider: float) -> Points:
    """Size ``k`` of four, close together; along the top all cross in one place, so flat that for long they are one."""
    bottom = [[24.0 - 2 * k, 24 - 3.0 * k], [216 + wider * k, 22 - 3.0 * k]]
    return np.array([*bottom, [214 + wider * k, 148 - right * k], [20.0 - 2 * k, 150 + left * k]])


@pytest.mark.parametrize("fan", [(0.5, 2.2, 1.2), (0.8, 1.6, 2.0)])
def test_sizes_that_cross_in_one_flat_bundle_are_each_followed_through_it(fan: tuple[float, float, float]) -> None:
    drawing = Drawing(234, 176)
    for k, style in enumerate(((7.0, 1.8, 0.9, 1.8), (), (3.0, 1.7), (10.0, 2.6))):
        drawing.line(closed(fanned_line(k, *fan)), 0.4, style)
    sheet = drawing.sheet()
    paper = paper_of(sheet, np.array([[4.0, 3], [231, 3], [231, 172], [4, 172]]))
    for size in range(1, 5):
        cut = printed_cut_line(sheet, paper, size)
        assert cut is not None
        assert (cut.sizes, cut.size) == (4, size)
        assert away(cut.outline, fanned_line(size - 1, *fan)) < 0.6, size  # where four lines lie on one another


@pytest.mark.parametrize("beside", [0.0, 0.12])
def test_a_notch_in_thin_lines_is_read_where_it_is_printed(beside: float) -> None:
    """Half a step of the line off, its thin sides are missed or read aside."""
    drawing = Drawing(234, 176)
    tops = {}
    for k, style in enumerate(STYLES):
        line = crossing_line(k)
        start = int(np.argmin(np.hypot(*(line - [20, 30 - 2.0 * k]).T)))
        drawing.line(closed(np.roll(line, -start, axis=0)), 0.55, style)
        tops[k + 1] = at = np.array([159 + 8.0 * k, 60 - 1.0 * k + beside])
        drawing.line([at - [0.0, 2.45], at - [4.5, 0.0], at + [0.0, 2.45]], 0.28)
    sheet = drawing.sheet()
    cut = printed_cut_line(sheet, paper_of(sheet, PAPER), 4)
    assert cut is not None
    assert len(cut.notches) == 1
    assert abs(cut.notches[0].at[1] - tops[4][1]) < 0.1
