"""Numbers printed beside nested lines, read whichever way up they stand."""

import socket
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFont

import convert
from calibration.ground.errors import InputError
from calibration.ground.points import Points, closed
from calibration.sheet.flatten import FlatSheet
from convert.trace.nest import size_numbers
from convert.trace.nest.nest import printed_cut_line
from convert.trace.nest.which_size import chosen, printed_number
from tests.convert.trace.test_lines_uncut import PAPER, STYLES, ring
from tests.render_lines import Drawing, paper_of

FONT = Path(convert.__file__).parent / "paper/fonts/AtkinsonHyperlegible-Bold.ttf"


def numbered(texts: tuple[str, ...], turn_deg: float, *, outside: bool = False) -> FlatSheet:
    """Nested lines with numbers beside their right-hand edge."""
    drawing = Drawing(234, 176)
    for k, style in enumerate(STYLES):
        line = ring(k)
        start = int(np.argmin(np.hypot(*(line - [20, 40]).T)))
        drawing.line(closed(np.roll(line, -start, axis=0)), 0.55, style)
    for k, text in enumerate(texts):
        for share in (0.3, 0.7):
            low, high = np.array([160 + 8.0 * k, 34 - 5.0 * k]), np.array([150 + 8.0 * k, 120 + 3.0 * k])
            stamp(drawing, text, low + share * (high - low) + [3.6 if outside else -3.6, 0], turn_deg)
    return drawing.sheet()


def stamp(drawing: Drawing, text: str, at: Points, turn_deg: float, high_mm: float = 3.2) -> None:
    """A printed number, its middle at a place, turned counter-clockwise."""
    per_mm = 20
    face = ImageFont.truetype(FONT, round(high_mm * per_mm / 0.68))
    image = Image.new("L", (24 * per_mm, 24 * per_mm))
    ImageDraw.Draw(image).text((12 * per_mm, 12 * per_mm), text, fill=255, font=face, anchor="mm")
    contours, _ = cv2.findContours(
        (np.asarray(image.rotate(turn_deg)) > 127).astype(np.uint8), cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE
    )
    drawing.shape([(c[:, 0] / per_mm - 12.0) * [1, -1] + at for c in contours])


@pytest.mark.parametrize(
    ("texts", "turn", "outside", "wanted", "line"),
    [
        (("8", "10", "12", "14", "16"), 90.0, False, "14", 4),
        (("8", "10", "12", "14", "16"), 0.0, False, 16, 5),
        (("6", "8", "10", "12", "14"), 197.0, True, "number 6", 1),
        (("4", "6", "8", "10", "12"), -90.0, False, "4", 1),
        (("XS", "S", "M", "L", "XL"), 0.0, False, "L", 4),
    ],
)
def test_line_is_chosen_by_the_number_beside_it(
    texts: tuple[str, ...], turn: float, outside: bool, wanted: str | int, line: int
) -> None:
    sheet = numbered(texts, turn, outside=outside)
    cut = printed_cut_line(sheet, paper_of(sheet, PAPER), wanted)
    assert cut is not None
    assert (cut.sizes, cut.size) == (5, line)
    assert [note.code for note in cut.notes] == ["size-by-number"]
    assert ", ".join(texts) in cut.notes[0].text


def test_number_that_is_not_there_names_those_that_are() -> None:
    sheet = numbered(("8", "10", "12", "14", "16"), 90.0)
    with pytest.raises(InputError) as caught:
        printed_cut_line(sheet, paper_of(sheet, PAPER), "20")
    assert "8, 10, 12, 14, 16" in caught.value.problem
    assert "size = 1" in caught.value.remedy


def test_counting_wins_over_a_printed_number_unless_it_is_quoted() -> None:
    assert printed_number(4, 5) is None
    assert printed_number("4", 5) == printed_number("number 4", 5) == printed_number("04", 5) == "4"
    assert printed_number(14, 5) == "14"
    texts = ("4", "6", "8", "10", "12")
    index, notes = chosen(5, 4, lambda wanted: texts)
    assert (index, notes[0].code) == (3, "size-counted")
    assert 'size = "4"' in notes[0].text
    index, notes = chosen(5, "4", lambda wanted: texts)
    assert (index, notes[0].code) == (0, "size-by-number")


def test_sizes_without_numbers_are_counted() -> None:
    with pytest.raises(InputError, match="No number can be read"):
        chosen(5, "14", lambda wanted: (None,) * 5)


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[object]]:
    """A machine without a network, its reader not yet loaded; what was asked of the network."""
    asked: list[object] = []

    def refuse(*words: object, **_: object) -> NoReturn:
        asked.append(words)
        raise OSError("no network")

    for way in ("getaddrinfo", "create_connection"):
        monkeypatch.setattr(socket, way, refuse)
    monkeypatch.setattr(socket.socket, "connect", refuse)
    size_numbers._reader.cache_clear()
    yield asked
    size_numbers._reader.cache_clear()


def test_numbers_are_read_without_a_network(no_network: list[object]) -> None:
    sheet = numbered(("8", "10", "12", "14", "16"), 90.0)
    cut = printed_cut_line(sheet, paper_of(sheet, PAPER), "14")
    assert cut is not None
    assert cut.size == 4
    assert no_network == []


def test_a_missing_model_is_said_and_the_rest_works(
    no_network: list[object], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(size_numbers, "model_file", lambda _name: tmp_path / "gone.onnx")
    sheet = numbered(("8", "10", "12", "14", "16"), 90.0)
    with pytest.raises(InputError) as caught:
        printed_cut_line(sheet, paper_of(sheet, PAPER), "14")
    assert "gone.onnx is missing" in caught.value.problem
    assert caught.value.problem.count(". ") == 0  # one sentence
    assert "size = 1 is the innermost" in caught.value.remedy
    counted = printed_cut_line(sheet, paper_of(sheet, PAPER), 4)
    assert counted is not None
    assert counted.size == 4
    assert no_network == []
    assert not list(tmp_path.iterdir())
