"""The comparison as a picture: bars as long as the differences, lines where the measurement is taken."""

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from convert.block.compared.compare import Comparison, compare
from convert.block.shape.places import places
from convert.paper.draw.lettering import width
from convert.paper.report.compared_picture import compared_picture, compared_sheet
from convert.piece.piece import Piece
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import EASE, bodies
from tests.lab_pieces import lab_piece

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def pieces() -> list[Piece]:
    return [lab_piece(scene) for scene in SET]


@pytest.fixture(scope="module")
def comparison(pieces: list[Piece]) -> Comparison:
    maker = {**bodies("maker_body"), "hip": 700.0}
    return compare(pieces, card=card_of(maker), drafted_for=bodies("pattern_size_body"), ease=EASE)


def test_a_bar_is_as_long_as_the_difference(pieces: list[Piece], comparison: Comparison) -> None:
    for name in ("waist", "bust", "upper arm"):
        level = comparison.level(name)
        drawn = ET.fromstring(compared_picture(level, pieces))
        wide = [float(one.get("width", 0)) for one in drawn.iter(f"{SVG}rect")]
        assert any(w == pytest.approx(abs(level.difference_mm or 0.0), abs=0.01) for w in wide), name


def test_a_bar_longer_than_the_paper_is_torn(pieces: list[Piece], comparison: Comparison) -> None:
    drawn = ET.fromstring(compared_sheet(comparison, pieces, title="A <sheet>"))
    assert (comparison.level("hip").difference_mm or 0.0) > 100.0
    for rect in drawn.iter(f"{SVG}rect"):
        assert float(rect.get("x", 0)) + float(rect.get("width", 0)) <= 190.01


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_words_stay_inside_the_picture(unit: str, pieces: list[Piece], comparison: Comparison) -> None:
    sheet = compared_sheet(comparison, pieces, title="The pattern beside maker A", unit="in" if unit == "in" else "cm")
    drawn = ET.fromstring(sheet)
    for text in drawn.iter(f"{SVG}text"):
        if text.get("text-anchor") == "start":
            size = float(text.get("font-size", 0))
            bold = text.get("font-weight") == "700"
            assert float(text.get("x", 0)) + width(text.text or "", 1.16 * size, bold) <= 190.0, text.text
    words = " ".join(text.text or "" for text in drawn.iter(f"{SVG}text"))
    assert re.search(r"\d in\b" if unit == "in" else r"\d cm\b", words)


def test_lines_lie_where_the_measurement_is_taken(pieces: list[Piece], comparison: Comparison) -> None:
    """Each line that is straight is as long as what it stands for, times how often the piece goes round."""
    for name, times in (("upper arm", 1), ("front waist length", 1), ("armhole depth", 1), ("across back", 2)):
        (place,) = places(pieces, name)
        drawn = float(np.hypot(*(place.points[-1] - place.points[0])))
        assert times * drawn == pytest.approx(comparison.level(name).pattern_mm, abs=0.01), name
    hip = places(pieces, "hip", waist_to_hip=comparison.waist_to_hip_mm)
    total = sum(float(np.hypot(*(one.points[1] - one.points[0]))) for one in hip)
    assert 2 * total == pytest.approx(comparison.level("hip").pattern_mm, abs=0.01)
    assert {one.piece for one in places(pieces, "waist")} == {"bodice front", "bodice back"}
