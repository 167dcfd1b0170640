"""A thing of known size tells whether the scale is right. Sizes: ISO/IEC 7810 ID-1, ISO 216 A4, ANSI A (Letter)."""

from dataclasses import replace

import cv2
import numpy as np
import pytest

from calibration.doubts.known_object import USUAL_PITCHES_MM, find_known_object, pitch_evidence
from calibration.joining.matching import moved, rigid
from calibration.sheet.flatten import FlatSheet
from tests.calibration.drawn_sheets import mat_sheet, scan_of

AWAY = rigid(0.0, (2000.0, 2000.0))  # where the piece does not show


def with_rectangle(
    sheet: FlatSheet, sides: tuple[float, float], at: tuple[float, float], turn_deg: float, colour: tuple[int, ...]
) -> FlatSheet:
    """A plain rectangle drawn exactly on a sheet, its middle ``at`` mm."""
    height, width = sheet.seen.shape
    columns, rows = np.meshgrid(np.arange(width), np.arange(height))
    mm = sheet.to_mm(np.column_stack([columns.ravel(), rows.ravel()]))
    own = moved(mm, np.linalg.inv(rigid(np.radians(turn_deg), at)))
    inside = (np.array(sides) / 2 - np.abs(own)).min(1).reshape(height, width) / sheet.mm_per_px
    share = np.clip(inside + 0.5, 0.0, 1.0)[..., None]
    pixels = (sheet.pixels * (1 - share) + np.array(colour) * share + 0.5).astype(np.uint8)
    return replace(sheet, pixels=cv2.GaussianBlur(pixels, (0, 0), 0.7))


@pytest.fixture(scope="module")
def bare_mat() -> FlatSheet:
    return mat_sheet(AWAY, (40, 32), scale=0.25)


@pytest.mark.parametrize(
    ("name", "sides"), [("bank card", (85.6, 53.98)), ("A4 sheet", (297.0, 210.0)), ("Letter sheet", (279.4, 215.9))]
)
@pytest.mark.parametrize("turn_deg", [0.0, 8.0])
def test_it_is_found_and_measured(bare_mat: FlatSheet, name: str, sides: tuple[float, float], turn_deg: float) -> None:
    sheet = with_rectangle(bare_mat, sides, (205.0, 165.5), turn_deg, (200, 60, 60))
    known = find_known_object(sheet, usual_pitches_mm=USUAL_PITCHES_MM)
    assert known is not None
    assert known.standard.name == name
    assert (known.long_mm, known.short_mm) == pytest.approx(sides, abs=0.3)
    assert pitch_evidence(known, 10.0).code == "pitch-confirmed"


@pytest.mark.parametrize(
    ("told", "true", "words"),
    [(10.0, 25.4, "1 inch"), (25.4, 10.0, "1 cm"), (10.0, 12.7, "1/2 inch"), (20.0, 10.0, "1 cm")],
)
def test_a_wrong_pitch_is_named_with_its_evidence(bare_mat: FlatSheet, told: float, true: float, words: str) -> None:
    """The mat's lines stand ``true`` mm apart, the maker said ``told``: the card is drawn as large as it then looks."""
    seen = 10.0 / true
    card = (85.6 * seen, 53.98 * seen)
    sheet = with_rectangle(bare_mat, card, (205.0, 163.0), 5.0, (200, 60, 60))
    called = told / 10.0
    assert sheet.lattice is not None
    sheet = replace(
        sheet,
        mm_per_px=sheet.mm_per_px * called,
        origin_mm=sheet.origin_mm * called,
        lattice=replace(sheet.lattice, pitch_mm=told),
    )
    known = find_known_object(sheet, usual_pitches_mm=USUAL_PITCHES_MM)
    assert known is not None
    note = pitch_evidence(known, told)
    assert note.code == "pitch-doubtful"
    assert words in note.text
    assert "85.6 × 53.98 mm" in note.text


def test_a_mat_that_shrank_is_said_in_percent(bare_mat: FlatSheet) -> None:
    sheet = with_rectangle(bare_mat, (85.6 * 1.02, 53.98 * 1.02), (200.0, 160.0), 4.0, (220, 210, 200))
    known = find_known_object(sheet)
    assert known is not None
    note = pitch_evidence(known, 10.0)
    assert note.code == "pitch-doubtful"
    assert "2.0 % too long" in note.text


@pytest.mark.parametrize("sides", [(85.6, 60.0), (120.0, 75.7), (300.0, 100.0), (60.0, 60.0)])
def test_other_rectangles_are_nothing_known(bare_mat: FlatSheet, sides: tuple[float, float]) -> None:
    sheet = with_rectangle(bare_mat, sides, (200.0, 160.0), 8.0, (220, 210, 200))
    assert find_known_object(sheet, usual_pitches_mm=USUAL_PITCHES_MM) is None


def test_a_piece_is_nothing_known() -> None:
    assert find_known_object(mat_sheet(rigid(0.1, (40.0, 30.0)), (40, 30)), usual_pitches_mm=USUAL_PITCHES_MM) is None
    assert find_known_object(scan_of(rigid(0.0, (-10.0, -10.0)), (320.0, 220.0))) is None


def test_a_card_beside_a_piece_is_found() -> None:
    sheet = mat_sheet(rigid(0.1, (60.0, 80.0)), (46, 34))
    sheet = with_rectangle(sheet, (85.6, 53.98), (80.0, 40.0), 12.0, (180, 40, 60))
    known = find_known_object(sheet)
    assert known is not None
    assert known.reads == pytest.approx(1.0, abs=0.004)
