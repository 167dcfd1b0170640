"""The report as a PDF: tagged, with title, language and embedded type; the same content as the page."""

import ctypes
import io
from itertools import pairwise

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from PIL import Image

from convert.block.compared.compare import compare
from convert.paper.files.png import page_png
from convert.paper.files.svg_on_canvas import SvgPicture
from convert.paper.report.report_content import Photograph, ReportContent, report_content
from convert.paper.report.report_pdf import write_report_pdf
from convert.paper.sheets.papers import paper_named
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_report import block


def content() -> ReportContent:
    stream = io.BytesIO()
    Image.new("RGB", (400, 300), "#336699").save(stream, "JPEG")
    pieces = [bodice(), bodice("bodice back")]
    made = block()
    return report_content(
        made,
        pieces,
        title="Block of maker A",
        date="25 November 2026",
        photographs=[Photograph(title="Bodice front", picture=stream.getvalue(), caption="The pink line.")],
        measure_next=["Waist: round the narrowest place."],
        comparison=compare(pieces, card=made.maker, drafted_for={"bust": 900.0}, ease={"bust": 60.0}),
    )


def elements(data: bytes) -> list[tuple[str, str]]:
    """Role and alternative words of every element, in reading order, page by page."""
    found = []

    def text(call, element) -> str:  # type: ignore[no-untyped-def]
        buffer = ctypes.create_string_buffer(4096)
        size = call(element, buffer, 4096)
        return buffer.raw[: max(size - 2, 0)].decode("utf-16-le")

    def walk(element) -> None:  # type: ignore[no-untyped-def]
        found.append((text(raw.FPDF_StructElement_GetType, element), text(raw.FPDF_StructElement_GetAltText, element)))
        for k in range(raw.FPDF_StructElement_CountChildren(element)):
            child = raw.FPDF_StructElement_GetChildAtIndex(element, k)
            if child:
                walk(child)

    for page in pdfium.PdfDocument(data):
        tree = raw.FPDF_StructTree_GetForPage(page.raw)
        for k in range(raw.FPDF_StructTree_CountChildren(tree)):
            walk(raw.FPDF_StructTree_GetChildAtIndex(tree, k))
        raw.FPDF_StructTree_Close(tree)
    return found


def test_it_is_tagged_titled_and_in_a_language() -> None:
    data = write_report_pdf(content())
    assert pdfium.PdfDocument(data).get_metadata_dict()["Title"] == "Block of maker A"
    for entry in (b"/Lang (en)", b"/Marked true", b"/StructTreeRoot", b"/FontFile2", b"/DisplayDocTitle true"):
        assert entry in data, entry
    roles = [role for role, _ in elements(data)]
    assert roles.count("H1") == 1
    ranks = [int(role[1]) for role in roles if role in ("H1", "H2", "H3")]
    assert all(after - before <= 1 for before, after in pairwise(ranks))
    assert all(alt for role, alt in elements(data) if role == "Figure")
    assert sum(role == "Figure" for role in roles) >= 4  # photograph, overlay, comparison, move


def test_it_says_what_the_page_says() -> None:
    pages = pdfium.PdfDocument(write_report_pdf(content()))
    said = " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in pages).replace("\u00a0", " ")
    for words in ("Add 1.2 cm at the side seam.", "Not sound.", "On the paper:", "Sew a toile", "The pink line."):
        assert words in said, words
    titles = [item.get_title() for item in pages.get_toc()]
    assert titles[0] == "Block of maker A"
    assert "The comparison" in titles


def test_same_report_same_bytes_and_the_paper_asked_for() -> None:
    one = write_report_pdf(content(), paper=paper_named("Letter"))
    assert pdfium.PdfDocument(one)[0].get_size() == pytest.approx((612.0, 792.0), abs=0.01)
    assert pdfium.PdfDocument(write_report_pdf(content()))[0].get_size() == pytest.approx((595.28, 841.89), abs=0.01)
    assert write_report_pdf(content(), paper=paper_named("Letter")) == one


def test_nothing_stands_outside_the_margins() -> None:
    """Every page keeps 10 mm clear all round."""
    data = write_report_pdf(content())
    for number in range(len(pdfium.PdfDocument(data))):
        picture = np.asarray(Image.open(io.BytesIO(page_png(data, number, px_per_mm=2.0))).convert("L"))
        rim = picture < 200
        rim[16:-16, 16:-16] = False
        assert not rim.any(), number


def test_a_picture_is_replayed_where_it_stands() -> None:
    """A hatched square on the left half, an ink dot on the right: seen on the page where the SVG has them."""
    from reportlab.pdfgen.canvas import Canvas

    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 50"><title>t</title>'
        '<defs><pattern id="a" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        '<path d="M0 0V5" stroke="var(--added,#0b5d3b)" stroke-width="2.4"/></pattern></defs>'
        '<path d="M10 10H40V40H10Z" fill="url(#a)" stroke="#000000" stroke-width="1"/>'
        '<circle cx="80" cy="15" r="5" fill="var(--ink,#000000)"/></svg>'
    )
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(100, 50))
    SvgPicture(svg).draw(canvas, 0, 0, 1.0)
    canvas.save()
    picture = np.asarray(Image.open(io.BytesIO(page_png(stream.getvalue(), px_per_mm=72 / 25.4 * 2))).convert("L"))
    picture = np.asarray(Image.fromarray(picture).resize((400, 200)))
    inside = picture[44:156, 44:156] < 160
    assert 0.3 < inside.mean() < 0.7  # 2.4 of every 5 is ink
    assert picture[60, 320] < 60
    assert (picture[:, 200:280] > 240).all()
