"""Lettering seen from the front and through the paper."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

from calibration.sheet.flatten import FlatSheet
from convert.trace.printed.lines import read_print

MM_PER_PX = 0.25


def _sheet(text: str, turn_deg: float, *, mirrored: bool) -> FlatSheet:
    """A white sheet with lines of text, 5 mm high, about its middle; dashes beside it, as on patterns."""
    page = Image.new("L", (800, 800), 0)
    font = ImageFont.load_default(28)
    ImageDraw.Draw(page).multiline_text((300, 340), text, fill=255, font=font, spacing=14)
    for k in range(14):
        ImageDraw.Draw(page).line([(150 + 36 * k, 620), (170 + 36 * k, 620)], fill=255, width=3)
    turn = cv2.getRotationMatrix2D((399.5, 399.5), turn_deg, 1.0)
    cover = cv2.warpAffine(np.asarray(page, np.float32) / 255, turn, (800, 800))
    cover = cv2.GaussianBlur(cover[:, ::-1] if mirrored else cover, (0, 0), 0.8)[..., None]
    pixels = 214.0 * (1 - cover) + 50.0 * cover + np.random.default_rng(1).normal(0, 2.5, (800, 800, 3))
    return FlatSheet(
        pixels=np.clip(pixels, 0, 255).astype(np.uint8),
        seen=np.ones((800, 800), bool),
        mm_per_px=MM_PER_PX,
        origin_mm=np.array([0.0, 200.0]),
    )


RING = np.array([[10.0, 10.0], [190.0, 10.0], [190.0, 190.0], [10.0, 190.0]])


@pytest.mark.parametrize("turn_deg", [0.0, 74.0, 180.0, 233.0])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("text", ["FRONT\nCUT 1 ON FOLD\nSIZE 12", "SKIRT BACK\nCUT 2\nSIZE 14"])
def test_lettering_tells_the_side(text: str, turn_deg: float, mirrored: bool) -> None:
    sheet = _sheet(text, turn_deg, mirrored=mirrored)
    sure = read_print(sheet, np.ones((800, 800), bool), RING).mirrored
    assert sure > 0.3 if mirrored else sure < -0.3


def test_what_looks_alike_from_both_sides_tells_nothing() -> None:
    sheet = _sheet("TOMATO\nMAXIMUM\nWAY OUT", 20.0, mirrored=True)
    assert read_print(sheet, np.ones((800, 800), bool), RING).mirrored == 0.0
    blank = replace(sheet, pixels=np.full((800, 800, 3), 214, np.uint8))
    assert read_print(blank, np.ones((800, 800), bool), RING).mirrored == 0.0
