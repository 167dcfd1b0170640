"""The measurement drawings and the printed form: every measurement has one, and everything stays on the page."""

import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from convert.body.card import BodyMeasurement, Card
from convert.body.definitions import definitions
from convert.cli import main as cli
from convert.paper.card.body_figure import body_lines, mirrored
from convert.paper.card.card_form import card_form
from convert.paper.card.measurement_drawing import drawing_of, measurement_drawing
from convert.paper.sheets.papers import PAPERS


@pytest.mark.parametrize("name", definitions())
def test_every_measurement_has_a_drawing(name: str) -> None:
    drawing = drawing_of(name)
    left, top, right, bottom = drawing.window
    kinds = {stroke.kind for stroke in drawing.strokes}
    assert {"body", "tape", "arrow"} <= kinds
    for stroke in drawing.strokes:
        assert np.isfinite(stroke.points).all()
        if stroke.kind in ("tape", "behind", "arrow"):  # the tape's whole way is seen
            assert (stroke.points >= [left, top]).all()
            assert (stroke.points <= [right, bottom]).all()
    heads = sum(stroke.kind == "arrow" for stroke in drawing.strokes)
    goes_behind = "behind" in kinds
    assert goes_behind == (definitions()[name].kind == "girth")
    assert heads == (1 if goes_behind else 2)  # all round, or from place to place
    picture = ET.fromstring(measurement_drawing(name))
    assert picture.get("role") == "img"
    assert definitions()[name].where in (picture.get("aria-label") or "")
    assert "stroke-dasharray" in measurement_drawing(name)


def test_the_figure_is_the_same_on_both_sides() -> None:
    lines = body_lines("front")
    points = np.vstack(lines)
    for one in lines[1:3]:
        for point in mirrored(one)[::20]:
            assert np.hypot(*(points - point).T).min() < 0.5


def words_of(pdf: pypdfium2.PdfDocument) -> str:
    return "\n".join(page.get_textpage().get_text_bounded() for page in pdf)


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_form_asks_for_each_measurement_once(paper: str) -> None:
    sheet = PAPERS[paper]
    pdf = pypdfium2.PdfDocument(card_form(Card(name="maker B", unit="in"), paper=sheet))
    for page in pdf:
        assert page.get_width() == pytest.approx(sheet.width * 72 / 25.4, abs=0.01)
        assert page.get_height() == pytest.approx((sheet.height or 0) * 72 / 25.4, abs=0.01)
    lines = [line.strip() for line in words_of(pdf).splitlines()]
    for name in definitions():
        assert lines.count(name.capitalize()) == 1, name
    beside = sum(line == "in" or line.endswith(" in") for line in lines)
    assert beside == len(definitions())  # the unit stands beside each box
    assert not any("cm" in line.split() or "centimetres" in line for line in lines)  # one unit throughout


def test_what_is_known_stands_in_its_box() -> None:
    card = Card(name="maker B", measurements={"bust": BodyMeasurement(mm=945.0)})
    text = words_of(pypdfium2.PdfDocument(card_form(card)))
    assert "94.5" in text
    assert "maker B" in text


def test_the_command_writes_card_and_form(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    card, form = tmp_path / "maker.toml", tmp_path / "card.pdf"
    assert cli.run(["card", str(card), "--form", str(form), "--paper", "Letter"]) == 0
    assert card.is_file()
    assert form.read_bytes().startswith(b"%PDF")
    assert cli.run(["card"]) == 2
    assert cli.run(["card", "--form", str(form)]) == 4
    assert cli.run(["card", "--form", str(tmp_path / "b.pdf"), "--paper", "roll 914"]) == 2
    assert "roll" in capsys.readouterr().err
