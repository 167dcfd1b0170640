"""Pixels of a picture to the millimetres of the sheet made of it, and back."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.joining.join import join
from calibration.joining.matching import best_rigid, moved, rigid
from calibration.picture.photo import Photo
from calibration.scan import flatten_scan
from calibration.sheet.flatten import FlatSheet
from calibration.sheet.on_sheet import cropped, pictures_on
from calibration.sheet.scan_frame import ScanFrame
from tests.calibration.drawn_sheets import OUTLINE, scan_of

TILE_MM = (175.0, 125.0)
CORNERS = [(0.0, 0.0), (125.0, 3.0), (2.0, 77.0), (124.0, 75.0)]


def spotted(dpi: tuple[float, float], at: tuple[int, int]) -> FlatSheet:
    """A scan with one dark spot at a pixel."""
    pixels = np.full((900, 1200, 3), 230, np.uint8)
    cv2.circle(pixels, at, 12, (20, 20, 20), -1, cv2.LINE_AA)
    return flatten_scan(Photo(pixels=pixels, name="scan.png", dpi=dpi))


@pytest.mark.parametrize("dpi", [(200.0, 200.0), (200.0, 196.0), (150.0, 300.0)])
def test_a_scans_pixels_fall_on_the_sheets_own(dpi: tuple[float, float]) -> None:
    sheet = spotted(dpi, (700, 300))
    picture = pictures_on(sheet)[0]
    ys, xs = np.nonzero(sheet.pixels[..., 0] < 125)
    seen = sheet.to_mm([[xs.mean(), ys.mean()]])
    np.testing.assert_allclose(picture.to_mm([[700.0, 300.0]]), seen, atol=0.05)
    np.testing.assert_allclose(picture.to_px(picture.to_mm([[12.3, 45.6]])), [[12.3, 45.6]], atol=1e-9)
    assert picture.size_px == (1200, 900)
    assert picture.inside_px(picture.to_mm([[10.0, 500.0], [-3.0, 5.0]])) == pytest.approx([10.0, -3.0])


def test_each_tile_of_a_joined_scan_knows_where_it_lies() -> None:
    """The same place of the piece, told on any tile that shows it, is one place on the sheet (to 0.1 mm)."""
    moves = [
        rigid(np.radians(turn), (0, 0)) @ rigid(0.0, -np.array(corner))
        for turn, corner in zip([0.4, -1.7, 2.3, -0.8], CORNERS, strict=True)
    ]
    sheets = []
    for k, move in enumerate(moves):
        sheet = scan_of(move, TILE_MM, seed=k)
        height, width = sheet.seen.shape
        frame = ScanFrame(size_px=(width, height), mm_per_px=np.array([0.17, 0.17]), origin_mm=sheet.origin_mm)
        sheets.append(replace(sheet, scans=(frame,)))
    joined = join(sheets)
    true, got = [], []
    for picture, move, sheet in zip(pictures_on(joined), moves, sheets, strict=True):
        px = sheet.to_px(moved(OUTLINE, move))
        inside = ((px > 0) & (px < np.array(picture.size_px))).all(1)
        true.append(OUTLINE[inside])
        got.append(picture.to_mm(px[inside]))
    a, b = np.vstack(true), np.vstack(got)
    assert len(a) > len(OUTLINE)
    assert np.hypot(*(moved(a, best_rigid(a, b)) - b).T).max() < 0.1


def test_a_crop_keeps_what_lies_inside_where_it_was() -> None:
    sheet = spotted((200.0, 200.0), (700, 300))
    part = cropped(sheet, [[900, 100], [600, 500]])
    assert part.pixels.shape[:2] == pytest.approx((401, 301), abs=2)
    ys, xs = np.nonzero(part.pixels[..., 0] < 125)
    np.testing.assert_allclose(
        part.to_mm([[xs.mean(), ys.mean()]]), pictures_on(sheet)[0].to_mm([[700.0, 300.0]]), atol=0.05
    )
    with pytest.raises(InputError, match="leaves nothing"):
        cropped(sheet, [[5000, 5000], [6000, 6000]])
