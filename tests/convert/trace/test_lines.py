"""Printed lines of small drawn pieces with known truth."""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from calibration.ground.points import Points, as_points, resample
from convert.trace.ink.border import border_of
from convert.trace.ink.chains import Chain
from convert.trace.ink.in_line import joined_in_line
from convert.trace.printed.darts import find_darts
from convert.trace.printed.lines import Print, read_lines, read_print, read_printed_marks
from tests.lab import LAB, truth_of, view_from_truth
from tests.render_lines import RED, Drawing, paper_of

CUT = np.array([[10.0, 10], [170, 10], [170, 130], [110, 130], [10, 120]])
INSET = 12.0
DASHES = (5.0, 3.0)
LEGS = np.array([[70.0, 22.0], [94.0, 22.0]])
APEX = np.array([80.0, 88.0])
GRAIN = np.array([[130.0, 40.0], [133.0, 112.0]])


def inset() -> Points:
    """The stitching line of ``CUT``: an inner offset by ``INSET``."""
    from shapely.geometry import Polygon

    return np.array(Polygon(CUT).buffer(-INSET, join_style="mitre").exterior.coords)


def drawn(ink: tuple[float, float, float] = (45.0, 42.0, 42.0), *, dots: bool = True) -> Print:
    drawing = Drawing(180, 140, ink=ink)
    drawing.line(inset(), 0.7, DASHES)
    for leg in LEGS:
        drawing.line([leg, APEX], 0.6, DASHES)
    for dot in [*LEGS, APEX] if dots else []:
        drawing.dot(dot, 2.8)
    drawing.arrow(*GRAIN)
    drawing.word("FRONT 12", [28, 70])
    drawing.word("CUT 2", [30, 60], 3.0)
    sheet = drawing.sheet()
    return read_print(sheet, paper_of(sheet, CUT), CUT)


@pytest.fixture(scope="module")
def read() -> Print:
    return drawn()


def lines_of(read: Print, kind: str) -> list[Points]:
    return [line.points for line in read.lines if line.kind == kind]


def test_stitching_line_lies_within_a_tenth_of_a_millimetre_and_goes_all_the_way_round(read: Print) -> None:
    truth = resample(inset(), 1.0)
    found = np.vstack([resample(line, 0.25) for line in lines_of(read, "stitching")])
    away = cKDTree(found).query(truth)[0]
    mouth = (np.abs(truth[:, 1] - 22) < 0.1) & (truth[:, 0] > 65) & (truth[:, 0] < 100)
    assert np.quantile(away[~mouth], 0.95) < 0.2
    back = cKDTree(resample(inset(), 0.1)).query(found)[0]
    assert np.sqrt((back**2).mean()) < 0.12


def test_corners_of_the_stitching_line_are_true(read: Print) -> None:
    ends = np.vstack([line[[0, -1]] for line in lines_of(read, "stitching")])
    sharp = [p for p in inset() if np.hypot(*(p - [110, 118])) > 3]  # the run goes smoothly on at 5 degrees
    assert cKDTree(ends).query(sharp)[0].max() < 0.35


@pytest.mark.parametrize("dots", [True, False])
def test_dart_ends_are_found_with_dots_and_without(dots: bool) -> None:
    legs = lines_of(drawn(dots=dots), "dart")
    assert len(legs) == 2
    assert max(np.hypot(*(leg[-1] - APEX)) for leg in legs) < (0.35 if dots else 0.6)
    assert cKDTree(np.array([leg[0] for leg in legs])).query(LEGS)[0].max() < 0.4


def test_a_narrow_solid_dart_whose_legs_run_together_long_before_its_point() -> None:
    """The stretch where they run together is read with one leg; the other stops short of the point by so much more."""
    apex, ends = np.array([80.0, 104.0]), np.array([[75.0, 22.0], [85.4, 22.0]])
    chains = []
    for end, short in zip(ends, (6.8, 16.4), strict=True):
        leg = apex - end
        stop = apex - short * leg / np.hypot(*leg)
        chains.append(Chain(points=as_points(np.linspace(end, stop, 150)), starts=(0,), ink=0.6))
    (dart,) = find_darts(tuple(chains), border_of(CUT), np.zeros((0, 2)))
    assert np.hypot(*(dart.apex - apex)) < 0.01


def test_a_dart_leg_that_a_spur_broke_in_two_is_one_line() -> None:
    """A thread of other print touches a dash: which two dashes carry each other on is then chosen wrongly."""
    leg = [np.linspace([22.0, 70.0], [60.0, 83.8], 60), np.linspace([61.0, 84.2], [118.0, 104.9], 90)]
    spur = np.vstack([leg[0], leg[0][-1] + np.array([[0.1, 0.5], [0.0, 1.0]])])
    other = np.linspace([40.0, 44.0], [118.0, 104.9], 120)
    parts = [Chain(points=as_points(points), starts=(0,), ink=0.6) for points in (spur, leg[1], other)]
    joined = joined_in_line(tuple(parts))
    assert len(joined) == 2
    whole = max(joined, key=lambda chain: len(chain.strokes))
    assert np.hypot(*(whole.points[[0, -1]] - [leg[0][0], leg[1][-1]]).T).max() < 1e-9
    assert len(joined_in_line((parts[0], Chain(points=parts[1].points + [0.0, 2.0], starts=(0,), ink=0.6)))) == 2


def test_dots_at_the_darts_ends_are_marks(read: Print) -> None:
    assert len(read.marks) == 3
    assert cKDTree(np.array([m.at for m in read.marks])).query(APEX)[0] < 0.35
    assert all(abs(m.size_mm - 2.8) < 0.5 for m in read.marks)


def test_grain_is_true_to_a_tenth_of_a_degree(read: Print) -> None:
    (line,) = lines_of(read, "grainline")
    way, true = line[1] - line[0], GRAIN[1] - GRAIN[0]
    angle = np.degrees(np.arctan2(way[0] * true[1] - way[1] * true[0], way @ true))
    assert abs((angle + 90) % 180 - 90) < 0.1
    assert cKDTree(line).query(GRAIN)[0].max() < 0.8


def test_words_are_left_out(read: Print) -> None:
    assert not lines_of(read, "other")


def test_red_ink_reads_like_black(read: Print) -> None:
    red = drawn(RED)
    assert len(lines_of(red, "dart")) == 2
    assert len(lines_of(red, "stitching")) == len(lines_of(read, "stitching"))


def test_fold_bracket_and_lines_to_lengthen_at() -> None:
    drawing = Drawing(180, 140)
    drawing.line([[50, 13], [50, 20], [130, 20], [130, 13]], 0.6)
    drawing.arrow([90, 50], [90, 115])
    for y in (70.0, 76.0):
        drawing.line([[14, y], [166, y]], 0.4)
    sheet = drawing.sheet()
    kinds = {line.kind: line for line in read_lines(sheet, paper_of(sheet, CUT), CUT)}
    assert set(kinds) == {"fold", "grainline", "lengthen"}
    assert np.hypot(*(kinds["fold"].points[1] - kinds["fold"].points[2])) == pytest.approx(80, abs=1.0)


@pytest.mark.parametrize("hidden", [0, 1])
def test_a_fold_bracket_of_which_a_weight_hides_one_end_is_no_stitching_line(hidden: int) -> None:
    """It passed for one, 10 mm inside the fold, so that the centre was taken for a seam with an allowance."""
    drawing = Drawing(180, 140)
    ends = [[[72, 13], [72, 20]], [[108, 20], [108, 13]]]
    ends[hidden] = ends[hidden][1 - hidden :][:1]
    drawing.line([*ends[0], *ends[1]], 0.6)
    drawing.arrow([90, 50], [90, 115])
    sheet = drawing.sheet()
    kinds = {line.kind: line for line in read_lines(sheet, paper_of(sheet, CUT), CUT)}
    assert set(kinds) == {"fold", "grainline"}
    fold = kinds["fold"].points[np.argsort(kinds["fold"].points[:, 0], kind="stable")]
    assert fold[:2, 0] == pytest.approx(72, abs=1.5)
    assert fold[2:, 0] == pytest.approx(108, abs=1.5)
    assert np.sort(fold[:, 1]) == pytest.approx([13, 13, 20, 20], abs=1.5)


def test_a_stitching_line_that_runs_to_its_corners_is_no_fold_bracket() -> None:
    drawing = Drawing(180, 140)
    drawing.line([[20, 10.5], [20, 20]], 0.6)
    drawing.line([[20, 20], [150, 20]], 0.6)
    sheet = drawing.sheet()
    kinds = {line.kind for line in read_lines(sheet, paper_of(sheet, CUT), CUT)}
    assert "fold" not in kinds


def test_a_lengthen_line_across_an_arrow_head_is_no_grain() -> None:
    """Lines at either side of the grain's head once passed for the grain themselves: a grain has no twin."""
    drawing = Drawing(180, 140)
    drawing.arrow(*GRAIN)
    for leg in LEGS:
        drawing.line([leg, APEX], 0.6, DASHES)
    drawing.line(inset(), 0.7, DASHES)
    for y in (44.0, 50.0):
        drawing.line([[14, y], [166, y]], 0.4)
    sheet = drawing.sheet()
    read = read_print(sheet, paper_of(sheet, CUT), CUT)
    assert len(lines_of(read, "lengthen")) == 2
    assert all(np.ptp(line[:, 0]) < 10.0 for line in lines_of(read, "grainline"))


def test_double_pointed_dart_is_four_lines_from_its_widest_points_to_its_apexes() -> None:
    apexes, widest = np.array([[40.0, 72], [140, 74]]), np.array([[88.0, 67.0], [88.0, 80.0]])
    drawing = Drawing(180, 140)
    drawing.line(inset(), 0.7, DASHES)
    for wide in widest:
        drawing.line([apexes[0], wide, apexes[1]], 0.6, DASHES)
    sheet = drawing.sheet()
    legs = lines_of(read_print(sheet, paper_of(sheet, CUT), CUT), "dart")
    assert len(legs) == 4
    assert cKDTree(np.array([leg[0] for leg in legs])).query(widest)[0].max() < 0.6
    assert cKDTree(np.array([leg[1] for leg in legs])).query(apexes)[0].max() < 0.6


def test_nothing_is_invented_on_bare_paper() -> None:
    drawing = Drawing(180, 140)
    drawing.word("CUT 1 ON FOLD", [40, 60], 3.0)
    drawing.word("FRONT", [40, 70])
    sheet = drawing.sheet(seed=3)
    assert not read_lines(sheet, paper_of(sheet, CUT), CUT)
    assert not read_printed_marks(sheet, paper_of(sheet, CUT), CUT)


@pytest.mark.parametrize("scene", ["p02_white_back", "p16_defocus_glare"])
def test_lab_scene(scene: str) -> None:
    if not (LAB / scene / "truth.json").exists():
        pytest.skip("the lab is not here")
    from PIL import Image, ImageOps

    from calibration.picture.photo import Photo
    from calibration.sheet.flatten import flatten

    truth = truth_of(scene)
    pixels = np.array(ImageOps.exif_transpose(Image.open(LAB / scene / truth["photos"][0]["file"])).convert("RGB"))
    sheet = flatten(Photo(pixels=pixels), view_from_truth(truth))
    matrix = np.array(truth["photos"][0]["piece_to_mat"]["matrix_2x3"])
    place = {k: np.array(truth["piece"][k]) @ matrix[:, :2].T + matrix[:, 2] for k in ("cut_line", "seam_line")}
    read = read_print(sheet, paper_of(sheet, place["cut_line"]), place["cut_line"])
    found = np.vstack([resample(line, 0.5) for line in lines_of(read, "stitching")])
    away = cKDTree(resample(place["seam_line"], 0.2)).query(found)[0]
    assert np.sqrt((away**2).mean()) < 0.3  # the paper's lift costs up to 0.2 mm here
    assert len(lines_of(read, "dart")) == 2 * len(truth["piece"]["darts"])
    assert len(lines_of(read, "grainline")) == 1
