"""PDFs read back by pypdfium2: page sizes by ISO 216 and ANSI Y14.1, lengths in 1/72 inch (ISO 32000)."""

import ctypes

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from shapely import LineString, box, unary_union

from calibration.ground.errors import WordsError
from convert.paper.draw.draw_piece import draw_piece
from convert.paper.draw.drawing import LINES, Drawing
from convert.paper.files.pdf import write_pdf
from convert.paper.sheets.packing import Grid, best_turn
from convert.paper.sheets.papers import OVERLAP_MM, PAPERS, paper_named
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.sheets import Sheet, make_sheets
from convert.piece.outline.path import Cubic
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS

MM = 25.4 / 72
SIZES = {"A4": (210, 297), "A3": (297, 420), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8), "A0": (841, 1189)}
CENTRE_FRONT_MM = 342.0


def drawings(scale: float = 1.0) -> tuple[Drawing, ...]:
    return tuple(draw_piece(bodice(kind), WORDS, scale=scale) for kind in ("bodice front", "bodice back"))


def sheets_of(paper: str, scale: float = 1.0, printer: Printer | None = None) -> tuple[Sheet, ...]:
    return make_sheets(
        drawings(scale),
        paper_named(paper),
        title="Block of maker A",
        date="25 November 2026",
        scale=scale,
        printer=printer,
    )


def lines_on(page: pdfium.PdfPage) -> list[tuple[float, np.ndarray]]:
    """Every line drawn on a page: its width and its points, mm."""
    found = []
    for item in page.get_objects([raw.FPDF_PAGEOBJ_PATH]):
        points, handles, matrix = [], [], item.get_matrix()
        for i in range(raw.FPDFPath_CountSegments(item.raw)):
            x, y = ctypes.c_float(), ctypes.c_float()
            segment = raw.FPDFPath_GetPathSegment(item.raw, i)
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            handles.append(matrix.on_point(x.value, y.value))
            if raw.FPDFPathSegment_GetType(segment) == raw.FPDF_SEGMENT_BEZIERTO and len(handles) < 3:
                continue
            if len(handles) == 3:
                points += list(Cubic(nodes=np.array([points[-1], *handles])).at(np.linspace(0, 1, 201))[1:])
            else:
                points += handles
            handles = []
            if raw.FPDFPathSegment_GetClose(segment):
                points.append(points[0])
        width = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(item.raw, width)
        found.append((width.value * MM, np.array(points) * MM))
    return found


def seam_lines(page: pdfium.PdfPage) -> list[np.ndarray]:
    width = LINES["seam"].width
    return [points for w, points in lines_on(page) if abs(w - width) < 0.01 and len(points) > 20]


def straight_steps(points: np.ndarray) -> np.ndarray:
    return np.hypot(*np.diff(points, axis=0).T)


@pytest.mark.parametrize("paper", list(PAPERS))
def test_centre_front_is_true_on_every_paper(paper: str) -> None:
    pdf = pdfium.PdfDocument(write_pdf(sheets_of(paper), title="t"))
    rings = [ring for page in pdf for ring in seam_lines(page)]
    assert rings
    for ring in rings:
        assert np.abs(straight_steps(ring) - CENTRE_FRONT_MM).min() < 0.05


@pytest.mark.parametrize("paper", list(SIZES))
def test_page_boxes(paper: str) -> None:
    pdf = pdfium.PdfDocument(write_pdf(sheets_of(paper), title="Block of maker A"))
    for page in pdf:
        assert np.array(page.get_size()) * MM == pytest.approx(np.array(SIZES[paper]), abs=0.01)
        for name in ("media", "crop", "trim"):
            wanted = [0, 0, *SIZES[paper]]
            assert np.array(getattr(page, f"get_{name}box")()) * MM == pytest.approx(np.array(wanted), abs=0.01)


@pytest.mark.parametrize(("paper", "width"), [("roll 610", 610), ("roll 841", 841), ("roll 914", 914)])
def test_a_roll_is_one_length(paper: str, width: float) -> None:
    pdf = pdfium.PdfDocument(write_pdf(sheets_of(paper), title="t"))
    assert len(pdf) == 1
    assert pdf[0].get_size()[0] * MM == pytest.approx(width, abs=0.01)


def test_title_language_and_no_scaling() -> None:
    data = write_pdf(sheets_of("A4"), title="Block of maker A")
    assert pdfium.PdfDocument(data).get_metadata_dict()["Title"] == "Block of maker A"
    assert b"/Lang (en)" in data
    assert b"/PrintScaling /None" in data
    assert b"/FontFile2" in data
    assert data == write_pdf(sheets_of("A4"), title="Block of maker A")


@pytest.mark.parametrize("paper", ["A4", "Letter", "A3", "Tabloid"])
def test_joined_sheets_rebuild_the_pieces(paper: str) -> None:
    """What shows on the sheets, laid edge to edge as their names say, is each piece's whole line once."""
    sheets = sheets_of(paper)
    pdf = pdfium.PdfDocument(write_pdf(sheets, title="t"))
    fmt = paper_named(paper)
    assert fmt.height is not None
    shown = np.array([fmt.width, fmt.height]) - 2 * fmt.margin
    wholes: list[LineString] = []
    seen = []
    for sheet, page in zip(sheets, pdf, strict=True):
        if sheet.name == "first sheet":
            continue
        place = np.array([int(sheet.name[1:]) - 1, -(ord(sheet.name[0]) - ord("A"))]) * (shown - OVERLAP_MM)
        window = box(*(place + fmt.margin), *(place + fmt.margin + shown))
        for points in seam_lines(page):
            line = LineString(points + place)
            seen.append(line.intersection(window))
            if all(line.hausdorff_distance(known) > 0.1 for known in wholes):
                wholes.append(line)
    assert len(wholes) == 2  # all sheets show the same two pieces in the same places, within 0.1 mm
    joined = unary_union(seen).buffer(0.1)
    ring = bodice().seam_line
    for whole in wholes:
        assert whole.difference(joined).length == pytest.approx(0.0, abs=1e-6)
        assert whole.length == pytest.approx(LineString(np.vstack([ring, ring[:1]])).length, abs=0.1)


def test_a_shrinking_printer_is_corrected() -> None:
    """A sheet that the printer shrinks to 98.5 % across and 99 % up comes out true."""
    pdf = pdfium.PdfDocument(write_pdf(sheets_of("A4", printer=Printer(square_x=98.5, square_y=99.0)), title="t"))
    shrunk = [points * [0.985, 0.99] for page in pdf for points in seam_lines(page)]
    for ring in shrunk:
        assert np.abs(straight_steps(ring) - CENTRE_FRONT_MM).min() < 0.05
    squares = [points * [0.985, 0.99] for _, points in lines_on(pdf[0]) if len(points) in (5, 6)]
    sides = sorted({round(float(side), 1) for points in squares for side in straight_steps(points)})
    assert 100.0 in sides
    assert 101.6 in sides
    for page, sheet in zip(pdf, sheets_of("A4", printer=Printer(square_x=98.5, square_y=99.0)), strict=True):
        assert "98.5" in page.get_textpage().get_text_range(), sheet.name


@pytest.mark.parametrize("value", [50.0, 125.0, float("nan")])
def test_a_square_that_cannot_be_is_refused(value: float) -> None:
    with pytest.raises(WordsError, match="100 %"):
        Printer(square_x=value)


def test_a_set_takes_no_more_sheets_than_its_pieces_one_by_one() -> None:
    alone = 0
    for drawing in drawings():
        grid = Grid(step_x=180.0, step_y=267.0, overlap=OVERLAP_MM)
        alone += len(best_turn(drawing.outline, grid)[1])
    together = [sheet for sheet in sheets_of("A4") if sheet.name != "first sheet"]
    assert len(together) <= alone


def test_every_sheet_carries_something_and_says_what() -> None:
    for sheet, page in zip(sheets_of("A4"), pdfium.PdfDocument(write_pdf(sheets_of("A4"), title="t")), strict=True):
        text = page.get_textpage().get_text_range()
        assert "Block of maker A" in text
        assert "Full size" in text
        assert "No seam allowance" in text
        if sheet.name != "first sheet":
            window = box(*sheet.window)
            assert any(LineString(path.points).intersects(window) for piece in sheet.pieces for path in piece.paths)


def test_unknown_paper_names_those_known() -> None:
    with pytest.raises(WordsError, match="Tabloid"):
        paper_named("A5ish")
