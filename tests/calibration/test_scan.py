"""Scans: millimetres from what was told, x and y apart, and no scale trusted in silence."""

import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.joining.matching import rigid
from calibration.picture.photo import Photo
from calibration.scan import flatten_scan
from tests.calibration.drawn_sheets import scan_of
from tests.calibration.test_known_object import AWAY, with_rectangle


def scan(dpi: tuple[float, float] | None, *, size: tuple[int, int] = (900, 700)) -> Photo:
    pixels = np.full((size[1], size[0], 3), 240, np.uint8)
    pixels[100:600, 200:800] = 120
    return Photo(pixels=pixels, dpi=dpi, name="tile.jpg")


def width_and_height_mm(photo: Photo, **options: object) -> tuple[float, float]:
    sheet = flatten_scan(photo, **options)
    dark = sheet.pixels[..., 0] < 180
    return float(dark.any(0).sum() * sheet.mm_per_px), float(dark.any(1).sum() * sheet.mm_per_px)


def test_the_file_s_scale_is_used_and_said_to_be_unconfirmed() -> None:
    photo = scan((200.0, 200.0))
    sheet = flatten_scan(photo)
    assert sheet.pixels is photo.pixels or np.array_equal(sheet.pixels, photo.pixels)
    assert width_and_height_mm(photo) == pytest.approx((600 * 25.4 / 200, 500 * 25.4 / 200), abs=0.01)
    assert [note.code for note in sheet.notes] == ["scale-unconfirmed"]
    assert "200 dots per inch" in sheet.notes[0].text
    assert sheet.lattice is None
    np.testing.assert_allclose(sheet.to_mm([[0, 699]]), [[0.0, 0.0]], atol=1e-9)  # bottom left pixel


def test_told_wins_over_the_file() -> None:
    sheet = flatten_scan(scan((72.0, 72.0)), dpi=300)
    assert [note.code for note in sheet.notes] == ["scale-told"]
    assert sheet.mm_per_px == pytest.approx(25.4 / 300)


def test_both_directions_have_their_own_scale() -> None:
    true = (600 * 25.4 / 200, 500 * 25.4 / 203)
    assert width_and_height_mm(scan((200.0, 203.0))) == pytest.approx(true, abs=0.15)
    assert width_and_height_mm(scan((200.0, 203.0)), dpi=(200.0, 203.0)) == pytest.approx(true, abs=0.15)
    true = (600 * 25.4 / 200 * 200 / 199.0, 500 * 25.4 / 200)
    assert width_and_height_mm(scan((200.0, 200.0)), stretch=(200 / 199.0, 1.0)) == pytest.approx(true, abs=0.15)


@pytest.mark.parametrize("dpi", [None, (72.0, 72.0), (9000.0, 300.0)])
def test_a_scale_that_no_scanner_has_is_refused(dpi: tuple[float, float] | None) -> None:
    with pytest.raises(InputError, match=r"tile\.jpg states") as caught:
        flatten_scan(scan(dpi))
    assert "300 dots per inch" in caught.value.remedy
    with pytest.raises(InputError, match="was said to have 5 dots"):
        flatten_scan(scan(dpi), dpi=5.0)


def test_a_card_in_the_scan_confirms_or_contradicts() -> None:
    tile = with_rectangle(scan_of(AWAY, (210.0, 150.0)), (85.6, 53.98), (90.0, 70.0), 3.0, (90, 120, 200))
    true_dpi = 25.4 / tile.mm_per_px
    photo = Photo(pixels=tile.pixels, dpi=(true_dpi, true_dpi), name="tile.jpg")
    assert flatten_scan(photo).notes[0].code == "scale-confirmed"
    wrong = flatten_scan(photo, dpi=true_dpi * 1.02)
    assert wrong.notes[0].code == "scale-doubtful"
    assert "bank card" in wrong.notes[0].text
    assert wrong.mm_per_px == pytest.approx(tile.mm_per_px / 1.02)  # said, not corrected
    uneven = flatten_scan(photo, dpi=(true_dpi, true_dpi * 1.02))
    assert uneven.notes[0].code == "scale-doubtful"


def test_a_scan_of_many_pixels_is_brought_down() -> None:
    big = Photo(pixels=np.full((9000, 8000, 3), 240, np.uint8), dpi=(600.0, 600.0), name="a.png")
    sheet = flatten_scan(big)
    assert sheet.pixels.shape[0] * sheet.pixels.shape[1] <= 60_100_000
    assert sheet.pixels.shape[1] * sheet.mm_per_px == pytest.approx(8000 * 25.4 / 600, abs=0.2)


def test_the_piece_itself_is_no_known_thing() -> None:
    tile = scan_of(rigid(0.0, (-10.0, -10.0)), (320.0, 220.0))
    dpi = 25.4 / tile.mm_per_px
    assert flatten_scan(Photo(pixels=tile.pixels, dpi=(dpi, dpi))).notes[0].code == "scale-unconfirmed"
