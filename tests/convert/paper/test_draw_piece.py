"""What a piece says lies inside the piece and over nothing else; sheets hold odd sizes too."""

import io
from dataclasses import replace
from itertools import combinations

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image
from shapely import LineString, Polygon, box
from shapely.affinity import rotate, translate

from convert.paper.draw.draw_piece import draw_piece, level_lines
from convert.paper.draw.drawing import LINES, Drawing, Text, placed, turn
from convert.paper.draw.lettering import width, wrap, writable
from convert.paper.files.pdf import write_pdf
from convert.paper.files.png import page_png
from convert.paper.sheets.papers import paper_named
from convert.paper.sheets.sheets import Sheet, make_sheets
from convert.piece.piece import Piece
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS


def box_of(text: Text) -> Polygon:
    """The letters' box, from below the baseline to the capitals' height."""
    wide = width(text.words, text.size, text.bold)
    left = {"start": 0.0, "middle": -wide / 2, "end": -wide}[text.anchor]
    flat = box(left, -0.2 * text.size, left + wide, 0.7 * text.size)
    return translate(rotate(flat, text.angle_deg, origin=(0, 0)), *text.at)


def larger(piece: Piece, factor: float) -> Piece:
    edges = tuple(replace(e, points=e.points * factor, cut_points=e.cut_points * factor) for e in piece.edges)
    darts = tuple(replace(d, apexes=d.apexes * factor, legs=d.legs * factor) for d in piece.darts)
    marks = tuple(replace(m, at=m.at * factor) for m in piece.marks)
    assert piece.grainline is not None
    return replace(piece, edges=edges, darts=darts, marks=marks, grainline=piece.grainline * factor)


@pytest.mark.parametrize("scale", [1.0, 0.5, 0.25])
def test_words_lie_inside_and_over_nothing(scale: float) -> None:
    drawing = draw_piece(bodice(), WORDS, scale=scale)
    paper = Polygon(drawing.of_kind("seam")[0].points)
    assert any(text.words == "Bodice front" for text in drawing.texts)
    for text in drawing.texts:
        assert paper.contains(box_of(text)), text.words
        for path in drawing.paths:
            assert not LineString(path.points).intersects(box_of(text)), (text.words, path.kind)
    for one, other in combinations(drawing.texts, 2):
        assert not box_of(one).intersects(box_of(other)), (one.words, other.words)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_words_on_sheets_collide_with_nothing(paper: str) -> None:
    drawings = [draw_piece(bodice(kind), WORDS) for kind in ("bodice front", "bodice back")]
    sheets = make_sheets(drawings, paper_named(paper), title="Block of maker A", date="25 November 2026")
    for sheet in sheets:
        window = box(*sheet.window)
        texts = [item for item in sheet.items if isinstance(item, Text)]
        texts += [text for piece in sheet.pieces for text in piece.texts if window.intersects(box_of(text))]
        for text in texts:
            assert window.buffer(0.5).contains(box_of(text)), (sheet.name, text.words)
        for one, other in combinations(texts, 2):
            assert not box_of(one).intersects(box_of(other)), (sheet.name, one.words, other.words)


def test_a_turned_piece_stands_upright_again() -> None:
    piece = bodice()
    tilted = replace(
        piece,
        edges=tuple(replace(e, points=turn(e.points, 33.0), cut_points=turn(e.cut_points, 33.0)) for e in piece.edges),
        darts=(), marks=(), grainline=turn(piece.grainline, 33.0) if piece.grainline is not None else None,
    )  # fmt: skip
    left, bottom, right, top = draw_piece(tilted, WORDS, label=False).bounds
    assert (right - left, top - bottom) == pytest.approx((251.2, 421.2), abs=0.1)
    without = replace(tilted, grainline=None)
    left, bottom, right, top = draw_piece(without, WORDS, label=False).bounds
    assert (right - left, top - bottom) == pytest.approx((251.2, 421.2), abs=0.1)


def test_bust_line_runs_level_through_the_underarm() -> None:
    line = level_lines(bodice())["underarm line"]
    assert line[:, 1] == pytest.approx([194.0, 194.0], abs=1e-6)
    assert line[:, 0] == pytest.approx([0.0, 250.0], abs=0.01)


def test_a_reduced_block_has_every_length_reduced() -> None:
    full, quarter = draw_piece(bodice(), WORDS), draw_piece(bodice(), WORDS, scale=0.25)
    for kind in ("dart", "level", "grainline", "fold"):
        for one, other in zip(full.of_kind(kind), quarter.of_kind(kind), strict=True):
            if not one.filled:
                assert LineString(other.points).length == pytest.approx(LineString(one.points).length / 4, rel=1e-9)


@pytest.mark.parametrize("paper", ["A4", "A0", "roll 610"])
def test_a_piece_larger_than_any_paper(paper: str) -> None:
    drawing = draw_piece(larger(bodice(), 3.2), WORDS)
    sheets = make_sheets([drawing], paper_named(paper), title="Block of maker A", date="25 November 2026")
    assert len(pdfium.PdfDocument(write_pdf(sheets, title="t"))) == len(sheets) > 1


def test_kinds_of_line_differ_by_pattern_or_width() -> None:
    on_pieces = ("seam", "cut", "stitching", "fold", "dart", "level")
    looks = [(LINES[kind].width, LINES[kind].dashes) for kind in on_pieces]
    assert len(set(looks)) == len(looks)


def test_signs_the_typeface_lacks_are_written_out() -> None:
    assert writable("2⅝ in") == "2 5/8 in"
    assert writable("½") == "½"
    assert wrap("ease 2.5 cm", 5.0, width("ease 2.5", 5.0) + 1.0) == ("ease", "2.5\u00a0cm")


def test_a_quarter_turn_is_exact() -> None:
    drawing = Drawing(name="x", items=(), outline=np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]]))
    assert placed(drawing, 90.0, (0.0, 0.0)).outline.tolist() == [[0.0, 0.0], [0.0, 3.0], [-4.0, 3.0]]


def test_rastered_square_is_square() -> None:
    """The 100 mm square rendered at 10 pixels a millimetre is 1000 pixels each way."""
    sheets = make_sheets([draw_piece(bodice(), WORDS)], paper_named("A4"), title="t", date="d")
    first: Sheet = sheets[0]
    picture = np.array(Image.open(io.BytesIO(page_png(write_pdf([first], title="t"), px_per_mm=10.0))).convert("L"))
    square = next(item for item in first.items if getattr(item, "name", "") == "100 mm")
    assert not isinstance(square, Text)
    low, high = square.points.min(0), square.points.max(0)
    row = picture[round((first.height - (low[1] + 30.0)) * 10)] < 128
    dark = np.flatnonzero(row[round(low[0] * 10) - 20 : round(high[0] * 10) + 20])
    assert dark[-1] - dark[0] == pytest.approx(1000, abs=5)
