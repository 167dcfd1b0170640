"""Every paper at every scale: joined sheets rebuild the pieces, lengths are true, no sheet too many."""

import re
from functools import cache

import numpy as np
import pypdfium2 as pdfium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, box, unary_union

from calibration.ground.errors import WordsError
from convert.paper.draw.draw_piece import draw_piece
from convert.paper.draw.drawing import Path, turn
from convert.paper.files.pdf import write_pdf
from convert.paper.sheets.packing import Grid, best_turn, sheets_used
from convert.paper.sheets.papers import OVERLAP_MM, PAPERS, paper_named
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.sheets import Sheet, make_sheets
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_pdf import CENTRE_FRONT_MM, drawings, lines_on, seam_lines, straight_steps
from tests.convert.paper.test_svg import WORDS

SCALES = (1.0, 0.5, 0.25)
PAIRS = [(paper, scale) for paper in PAPERS for scale in SCALES]


@cache
def printed(paper: str, scale: float, square: tuple[float, float] = (100.0, 100.0)) -> tuple[tuple[Sheet, ...], bytes]:
    sheets = make_sheets(
        drawings(scale),
        paper_named(paper),
        title="Block of maker A",
        date="25 November 2026",
        scale=scale,
        printer=Printer(square_x=square[0], square_y=square[1]),
    )
    return sheets, write_pdf(sheets, title="t")


@pytest.mark.parametrize(("paper", "scale"), PAIRS)
def test_each_piece_is_whole_and_true_on_every_paper_at_every_scale(paper: str, scale: float) -> None:
    """Sheets laid edge to edge as their names say show each piece's line once, within 0.1 mm; CF within 0.05 mm."""
    sheets, data = printed(paper, scale)
    fmt = paper_named(paper)
    wholes: list[LineString] = []
    seen = []
    for sheet, page in zip(sheets, pdfium.PdfDocument(data), strict=True):
        if sheet.name == "first sheet":
            continue
        window = np.array(sheet.window)
        place = np.zeros(2)
        named = re.fullmatch(r"([A-Z]+)(\d+)", sheet.name)
        if named:
            shown = window[2:] - window[:2]
            place = np.array([int(named[2]) - 1, -(ord(named[1]) - ord("A"))]) * (shown - OVERLAP_MM)
        else:
            place = np.array([0.0, -3000.0 * int(sheet.name)])
        for points in seam_lines(page):
            line = LineString(points + place)
            assert np.abs(straight_steps(points) - CENTRE_FRONT_MM * scale).min() < 0.05
            seen.append(line.intersection(box(*(window + np.tile(place, 2)))))
            if all(line.hausdorff_distance(known) > 0.1 for known in wholes):
                wholes.append(line)
    assert len(wholes) == 2
    ring = bodice().seam_line * scale
    joined = unary_union(seen).buffer(0.1)
    for whole in wholes:
        assert whole.difference(joined).length == pytest.approx(0.0, abs=1e-6)
        assert whole.length == pytest.approx(LineString(np.vstack([ring, ring[:1]])).length, abs=0.1)
    assert fmt.width == pytest.approx(sheets[0].width)


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter", "Tabloid"])
def test_no_more_sheets_than_the_pieces_one_by_one(paper: str) -> None:
    fmt = paper_named(paper)
    assert fmt.height is not None
    room = np.array([fmt.width, fmt.height]) - 2 * fmt.margin
    grid = Grid(step_x=room[0] - OVERLAP_MM, step_y=room[1] - OVERLAP_MM, overlap=OVERLAP_MM)
    alone = sum(len(best_turn(drawing.outline, grid)[1]) for drawing in drawings())
    joined = [sheet for sheet in printed(paper, 1.0)[0] if sheet.name != "first sheet"]
    assert len(joined) <= alone


@given(st.floats(120.0, 700.0), st.floats(120.0, 700.0))
@settings(max_examples=15, deadline=None)
def test_a_piece_alone_takes_no_more_than_straight_or_quarter_turned(wide: float, high: float) -> None:
    """Against the plain count: a rectangle on a grid, either way round."""
    grid = Grid(step_x=180.0, step_y=267.0, overlap=OVERLAP_MM)
    ring = np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])
    plain = min(
        max(1, int(np.ceil((w - OVERLAP_MM) / grid.step_x))) * max(1, int(np.ceil((h - OVERLAP_MM) / grid.step_y)))
        for w, h in ((wide, high), (high, wide))
    )
    place, used = best_turn(ring, grid)
    assert len(used) <= plain
    laid = Polygon(turn(ring, place.angle_deg, place.shift))
    assert sheets_used([laid], grid) == used
    assert laid.difference(unary_union([box(*grid.window(*cell)) for cell in used])).area < 1e-6


@given(st.floats(-60.0, 120.0), st.sampled_from(SCALES[1:]))
@settings(max_examples=12, deadline=None)
def test_every_length_is_exactly_a_quarter_or_a_half(wider: float, scale: float) -> None:
    """Lines and curves alike: the reduced drawing is that share of the full-size one, to the last digit."""
    piece = bodice(wider=wider)
    full, small = (draw_piece(piece, WORDS, scale=s, label=False) for s in (1.0, scale))
    for kind in ("dart", "level", "fold", "grainline"):
        for one, other in zip(full.of_kind(kind), small.of_kind(kind), strict=True):
            if not one.filled:
                assert other.points == pytest.approx(one.points * scale, abs=1e-9), kind
    (one,), (other,) = full.of_kind("seam"), small.of_kind("seam")
    for part, reduced in zip(one.curve, other.curve, strict=True):
        assert reduced == pytest.approx(part * scale, abs=1e-9)


def test_practice_sheets_carry_a_ruler_at_their_scale() -> None:
    """On the quarter-scale sheet 40 cm of the ruler measure 100 mm."""
    sheets, data = printed("A4", 0.25)
    (ruler,) = [item for item in sheets[0].items if getattr(item, "name", "") == "ruler"]
    assert np.hypot(*(ruler.points[1] - ruler.points[0])) == pytest.approx(100.0, abs=1e-6)  # type: ignore[union-attr]
    text = pdfium.PdfDocument(data)[0].get_textpage().get_text_range()
    assert "40" in text
    assert "Quarter scale" in text


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize("square", [(98.5, 99.0), (101.0, 97.5)])
def test_squares_and_pieces_are_true_once_the_printer_has_shrunk_them(
    scale: float, square: tuple[float, float]
) -> None:
    _, data = printed("A4", scale, square)
    shrink = np.array(square) / 100.0
    document = pdfium.PdfDocument(data)
    for page in document:
        for ring in seam_lines(page):
            assert np.abs(straight_steps(ring * shrink) - CENTRE_FRONT_MM * scale).min() < 0.05
        assert f"{square[0]:g}" in page.get_textpage().get_text_range()
    lengths = [float(one) for _, line in lines_on(document[0]) for one in straight_steps(line * shrink)]
    assert min(abs(one - 100.0) for one in lengths) < 0.01
    if scale == 1.0:  # the slanted bar too: unequal shrinking would show in it
        slanted = [
            float(np.hypot(*(line[-1] - line[0])))
            for _, line in ((w, line * shrink) for w, line in lines_on(document[0]))
            if len(line) == 2 and np.abs(line[1] - line[0]).min() > 50
        ]
        assert slanted == pytest.approx([100.0], abs=0.01)


@pytest.mark.parametrize("scale", SCALES)
def test_everything_a_piece_must_say_is_on_its_sheet(scale: float) -> None:
    """Where a small piece has no room for a line of its label, the sheet says it beside the piece."""
    _, data = printed("A4", scale)
    said = " ".join(
        " ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)
    ).replace("\u00a0", " ")
    for drawing in drawings(scale):
        for line in drawing.label:
            assert line.words in said or line.words.replace(", 25", ", 25") in said, line.words
        if scale == 1.0:
            assert drawing.left_out == ()


def test_sheets_join_with_the_overlap_asked_for() -> None:
    paper = paper_named("A4", overlap_mm=20.0)
    sheets = make_sheets(drawings(), paper, title="t", date="25 November 2026")
    dotted = [item for sheet in sheets for item in sheet.items if isinstance(item, Path) and item.kind == "join"]
    assert dotted
    upright = [line.points for line in dotted if np.ptp(line.points[:, 0]) < 1e-6]
    for points in upright:  # the next sheet's edge is laid 20 mm in from the printable edge
        assert points[0, 0] == pytest.approx(210.0 - 10.0 - 20.0, abs=1e-6)
    with pytest.raises(WordsError, match="overlap of 3 mm"):
        paper_named("A4", overlap_mm=3.0)
