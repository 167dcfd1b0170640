"""PDF: the sheets replayed as vectors, true to size, with the typeface embedded.

One PDF unit is 1/72 inch (ISO 32000), so 1 mm is 72/25.4 units.
"""

import io
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.points import Points
from calibration.ground.units import MM_PER_INCH
from convert.paper.draw.drawing import LINES, Path, Text
from convert.paper.draw.lettering import font_name, writable
from convert.paper.sheets.sheets import Sheet

UNITS_PER_MM = 72.0 / MM_PER_INCH
rl_config.useA85 = 0  # streams as bytes, not spelt out in letters: a quarter smaller, and no second lost on photographs


def write_pdf(
    sheets: Sequence[Sheet], *, title: str, author: str = "", subject: str = "", language: str = "en"
) -> bytes:
    """All sheets as one PDF; viewers are told not to scale it when printing."""
    stream = io.BytesIO()
    # invariant: the file holds no moment of writing, so the same block gives the same bytes
    canvas = Canvas(stream, invariant=1, pageCompression=1, lang=language, pdfVersion=(1, 7))
    canvas.setTitle(title)
    canvas.setAuthor(author)
    canvas.setSubject(subject)
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for sheet in sheets:
        _page(canvas, sheet)
    canvas.save()
    return stream.getvalue()


def _page(canvas: Canvas, sheet: Sheet) -> None:
    size = (sheet.width * UNITS_PER_MM, sheet.height * UNITS_PER_MM)
    canvas.setPageSize(size)
    canvas.setCropBox((0, 0, *size))
    canvas.setTrimBox((0, 0, *size))
    canvas.bookmarkPage(sheet.name)
    canvas.addOutlineEntry(sheet.name, sheet.name)
    canvas.saveState()
    left, bottom, right, top = (edge * UNITS_PER_MM for edge in sheet.window)
    clip = canvas.beginPath()
    rim = 0.5 * LINES["trim"].width * UNITS_PER_MM  # so that a line on the window's edge keeps its full width
    clip.rect(left - rim, bottom - rim, right - left + 2 * rim, top - bottom + 2 * rim)
    canvas.clipPath(clip, stroke=0, fill=0)
    for piece in sheet.pieces:
        _draw(canvas, piece.items, sheet.window)
    _draw(canvas, sheet.items, sheet.window)
    canvas.restoreState()
    canvas.showPage()


def _draw(canvas: Canvas, items: Sequence[Path | Text], window: tuple[float, float, float, float]) -> None:
    for item in items:
        if isinstance(item, Text):
            _text(canvas, item)
        elif _touches(item.points, window, LINES[item.kind].width):
            _path(canvas, item)


def _touches(points: Points, window: tuple[float, float, float, float], width: float) -> bool:
    left, bottom, right, top = window
    low, high = points.min(0) - width, points.max(0) + width
    return bool(low[0] <= right and high[0] >= left and low[1] <= top and high[1] >= bottom)


def _path(canvas: Canvas, path: Path) -> None:
    style = LINES[path.kind]
    colour = HexColor(style.colour)
    shape = canvas.beginPath()
    parts = path.curve or pairwise(path.points)
    shape.moveTo(*(path.curve[0][0] if path.curve else path.points[0]) * UNITS_PER_MM)
    for part in parts:
        if len(part) == 4:
            shape.curveTo(*(np.asarray(part)[1:] * UNITS_PER_MM).ravel())
        else:
            shape.lineTo(*(part[1] * UNITS_PER_MM))
    if path.closed:
        shape.close()
    canvas.setStrokeColor(colour)
    canvas.setFillColor(colour)
    canvas.setLineWidth(style.width * UNITS_PER_MM)
    canvas.setDash([dash * UNITS_PER_MM for dash in style.dashes])
    canvas.setLineJoin(
        1 if path.kind == "dart" else 0
    )  # a dart's point is so sharp that a mitred corner would stick out
    canvas.drawPath(shape, stroke=0 if path.filled else 1, fill=1 if path.filled else 0)


def _text(canvas: Canvas, text: Text) -> None:
    canvas.saveState()
    canvas.translate(*(text.at * UNITS_PER_MM))
    canvas.rotate(text.angle_deg)
    canvas.setFillColor(HexColor("#000000"))
    canvas.setFont(font_name(text.bold), text.size * UNITS_PER_MM)
    draw = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[text.anchor]
    draw(0, 0, writable(text.words, text.bold))
    canvas.restoreState()
