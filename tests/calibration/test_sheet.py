"""The ruled sheet, read back by another library: paper sizes of ISO 216 and ANSI Y14.1, lines where they belong."""

import numpy as np
import pypdfium2
import pytest

from calibration.ground.errors import InputError
from calibration.picture.photo import Photo
from calibration.printed_grid import PAPERS_MM, draw_sheet, plan_sheet

DPI = 254.0  # ten pixels to the millimetre


def rendered(paper: str) -> np.ndarray:
    page = pypdfium2.PdfDocument(draw_sheet(paper))[0]
    return np.asarray(page.render(scale=DPI / 72.0).to_pil().convert("L"))


def dark_runs(line: np.ndarray) -> np.ndarray:
    """Middle and width (N, 2), mm, of each dark run of a row of pixels."""
    dark = np.concatenate([[False], line < 150, [False]])
    starts, ends = np.flatnonzero(~dark[:-1] & dark[1:]), np.flatnonzero(dark[:-1] & ~dark[1:])
    return np.column_stack([(starts + ends) / 2, ends - starts]) / 10.0


@pytest.mark.parametrize("paper", list(PAPERS_MM))
def test_the_page_has_the_paper_s_size(paper: str) -> None:
    page = pypdfium2.PdfDocument(draw_sheet(paper))[0]
    assert np.array(page.get_size()) / 72 * 25.4 == pytest.approx(PAPERS_MM[paper], abs=0.01)
    plan = plan_sheet(paper)
    assert min(plan.columns, plan.rows) >= 16
    assert plan.left_mm >= 12 + 15  # room for the rule, and for what a printer can't reach
    assert plan.right_mm <= plan.width_mm - 12
    assert plan.top_mm <= plan.height_mm - 12


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_lines_stand_a_centimetre_apart_and_every_fifth_is_heavier(paper: str) -> None:
    image, plan = rendered(paper), plan_sheet(paper)
    row = image[round((plan.height_mm - plan.top_mm + 5.0) * 10)]
    runs = dark_runs(row)
    assert runs[:, 0] == pytest.approx(plan.left_mm + 10.0 * np.arange(plan.columns + 1), abs=0.1)
    heavy = np.arange(plan.columns + 1) % 5 == 0
    assert runs[heavy, 1].min() > 0.6
    assert runs[~heavy, 1].max() < 0.5
    column = image[:, round((plan.right_mm - 5.0) * 10)]
    runs = dark_runs(column[: round((plan.height_mm - plan.bottom_mm + 1) * 10)])
    assert runs[::-1, 0] == pytest.approx(plan.height_mm - plan.bottom_mm - 10.0 * np.arange(plan.rows + 1), abs=0.1)


def test_both_rules_measure_ten_centimetres() -> None:
    image, plan = rendered("A4"), plan_sheet("A4")
    level = image[round((plan.height_mm - plan.bottom_mm + 15.0) * 10)]
    longest = max(dark_runs(level), key=lambda run: run[1])
    assert longest[1] == pytest.approx(100.0, abs=0.5)
    upright = image[:, round((plan.left_mm - 8.0) * 10)]
    assert max(dark_runs(upright), key=lambda run: run[1])[1] == pytest.approx(100.0, abs=0.5)


def test_it_looks_different_from_all_four_sides() -> None:
    image = rendered("A4")
    for quarter in (1, 2, 3):
        turned = np.rot90(image, quarter)
        height, width = min(image.shape[0], turned.shape[0]), min(image.shape[1], turned.shape[1])
        assert (np.abs(image[:height, :width].astype(int) - turned[:height, :width]) > 100).mean() > 0.01


def test_the_same_sheet_every_time_and_no_unknown_paper() -> None:
    assert draw_sheet("a4") == draw_sheet("a4")
    with pytest.raises(InputError, match="B7") as caught:
        draw_sheet("B7")
    assert "A4" in caught.value.remedy


def test_the_sheet_calibrates_a_picture_of_itself() -> None:
    calibrate = pytest.importorskip("calibration.calibrate").calibrate
    page = pypdfium2.PdfDocument(draw_sheet("A3"))[0]
    photo = Photo(pixels=np.ascontiguousarray(page.render(scale=150 / 72.0).to_numpy()[..., :3]))
    view = calibrate(photo, pitch_mm=10.0)
    plan = plan_sheet("A3")
    ends = np.array([[plan.left_mm, plan.bottom_mm], [plan.right_mm, plan.top_mm]])
    px = np.column_stack([ends[:, 0], plan.height_mm - ends[:, 1]]) * 150 / 25.4 - 0.5
    far = np.hypot(*np.diff(view.to_mm(px), axis=0).T)
    assert far == pytest.approx(np.hypot(*np.diff(ends, axis=0).T), abs=0.1)
