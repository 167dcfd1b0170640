"""PNG previews: a page of a PDF as a picture."""

import io
from collections.abc import Sequence

import pypdfium2 as pdfium

from calibration.ground.units import MM_PER_INCH
from convert.paper.draw.drawing import Drawing, placed
from convert.paper.draw.svg import MARGIN_MM, side_by_side
from convert.paper.files.pdf import write_pdf
from convert.paper.sheets.sheets import Sheet


def page_png(pdf: bytes, page: int = 0, *, px_per_mm: float = 2.0) -> bytes:
    """One page of a PDF as a PNG."""
    document = pdfium.PdfDocument(pdf)
    try:
        picture = document[page].render(scale=px_per_mm * MM_PER_INCH / 72.0).to_pil()
    finally:
        document.close()
    stream = io.BytesIO()
    picture.convert("RGB").save(stream, "PNG")
    return stream.getvalue()


def preview_png(drawings: Sequence[Drawing], *, px_per_mm: float = 2.0) -> bytes:
    """All pieces side by side on one white picture."""
    laid = [placed(drawing, 0.0, (MARGIN_MM, MARGIN_MM)) for drawing in side_by_side(tuple(drawings))]
    wide, high = (max(drawing.bounds[side] for drawing in laid) + MARGIN_MM for side in (2, 3))
    sheet = Sheet(name="preview", width=wide, height=high, window=(0.0, 0.0, wide, high), items=(), pieces=tuple(laid))
    return page_png(write_pdf([sheet], title="preview"), px_per_mm=px_per_mm)
