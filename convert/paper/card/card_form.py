"""The measurement card as a printed form: one measurement a row, a drawing, how to take it, a box for the number."""

import io
from collections.abc import Sequence

import numpy as np
from reportlab.lib.colors import HexColor, white
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.points import Points
from convert.body.card import Card
from convert.body.definitions import Definition, definitions
from convert.body.wording import format_body_mm
from convert.paper.card.measurement_drawing import INKS, Ink, MeasurementDrawing, drawing_of
from convert.paper.draw.lettering import font_name, wrap, writable
from convert.paper.files.pdf import UNITS_PER_MM
from convert.paper.sheets.papers import PAPERS, Paper

_INK: dict[Ink, str] = {"ink": "#1a1a1a", "faint": "#6b6b6b", "paper": "#ffffff"}
_MARGIN = 14.0
_HEAD_TALL, _FIRST_TALL, _FOOT_TALL = 4.0, 40.0, 9.0
_ROW_LEAST = 47.0
_DRAWING = 46.0  # widest and tallest a drawing gets
_BOX_WIDE, _BOX_TALL = 38.0, 17.0
_NAME, _TYPE, _SMALL = 5.6, 4.3, 3.8  # type in mm; 4.2 mm is 12 pt
_LEADING = 1.35


def card_form(card: Card | None = None, *, paper: Paper | None = None) -> bytes:
    """The form as a PDF; what ``card`` tells stands in its boxes already.

    Parameters
    ----------
    card
        Whose form it is, and its unit; by default an empty one in centimetres.
    paper
        Any sheet that is not a roll, by default A4.
    """
    shown, sheet = card or Card(name=""), paper or PAPERS["a4"]
    if sheet.height is None:
        raise ValueError("a form needs a sheet, not a roll")
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1, lang="en", pdfVersion=(1, 7))
    canvas.setTitle("Measurement card")
    canvas.setCreator("ownblock")
    canvas.setPageSize((sheet.width * UNITS_PER_MM, sheet.height * UNITS_PER_MM))
    pages = _pages(sheet.height)
    for number, rows in enumerate(pages, 1):
        _page(canvas, sheet.width, sheet.height, rows, shown, number, len(pages))
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _pages(height: float) -> list[list[Definition]]:
    """The measurements of each page: as many rows as fit with room around them."""
    rest = list(definitions().values())
    pages: list[list[Definition]] = []
    while rest:
        used = 2 * _MARGIN + _FOOT_TALL + (_HEAD_TALL if pages else _FIRST_TALL)
        count = int((height - used) // _ROW_LEAST)
        pages.append(rest[:count])
        rest = rest[count:]
    return pages


def _page(
    canvas: Canvas, wide: float, tall: float, rows: Sequence[Definition], card: Card, number: int, pages: int
) -> None:
    """One page, from the top down; y runs up in mm."""
    y = tall - _MARGIN
    y = _heading(canvas, y, wide, card) if number == 1 else y - _HEAD_TALL
    room = (y - _MARGIN - _FOOT_TALL) / max(len(rows), int((y - _MARGIN - _FOOT_TALL) // _ROW_LEAST))
    for one in rows:
        _row(canvas, y, room, wide, one, card)
        y -= room
    whose = card.name or "……………………"
    _say(canvas, _MARGIN, _MARGIN, f"Measurements of {whose}", _SMALL)
    _say(canvas, wide - _MARGIN, _MARGIN, f"page {number} of {pages}", _SMALL, right=True)


def _heading(canvas: Canvas, top: float, wide: float, card: Card) -> float:
    _say(canvas, _MARGIN, top - 7.0, "Measurement card", 8.5, bold=True)
    y = top - 18.0
    x = _MARGIN
    for label, known, long in (("Name", card.name, 78.0), ("Date", "", 46.0)):
        _say(canvas, x, y, label, _TYPE)
        _rule(canvas, x + 13.0, y - 1.2, x + 13.0 + long)
        _say(canvas, x + 15.0, y, known, _TYPE, bold=True)
        x += long + 22.0
    unit = "centimetres. Half centimetres are enough" if card.unit == "cm" else "inches. Eighths are enough"
    for text in (
        f"Write in {unit}. Leave out what was not measured.",
        "Measure over thin clothes, tape flat, not tight. Ask somebody to help.",
    ):
        y -= 7.5
        _say(canvas, _MARGIN, y, text, _TYPE)
    return top - _FIRST_TALL


def _row(canvas: Canvas, top: float, tall: float, wide: float, one: Definition, card: Card) -> None:
    """A row from ``top`` down, ``tall`` high: drawing, words, box."""
    _rule(canvas, _MARGIN, top, wide - _MARGIN, width=0.2)
    _figure(canvas, drawing_of(one.name), _MARGIN, top - 1.5, _DRAWING, min(_DRAWING, tall - 3.0))
    x = _MARGIN + _DRAWING + 6.0
    room = wide - _MARGIN - _BOX_WIDE - 16.0 - x
    y = top - 9.0
    _say(canvas, x, y, one.name.capitalize(), _NAME, bold=True)
    y -= 7.5
    for line in wrap(one.how, _TYPE, room):
        _say(canvas, x, y, line, _TYPE)
        y -= _LEADING * _TYPE
    _box(canvas, wide - _MARGIN - _BOX_WIDE - 10.0, top - tall / 2.0 - _BOX_TALL / 2.0, one.name, card)


def _box(canvas: Canvas, x: float, y: float, name: str, card: Card) -> None:
    canvas.setLineWidth(0.4 * UNITS_PER_MM)
    canvas.setStrokeColor(HexColor(_INK["ink"]))
    canvas.setDash([])
    canvas.rect(*(mm * UNITS_PER_MM for mm in (x, y, _BOX_WIDE, _BOX_TALL)), stroke=1, fill=0)
    _say(canvas, x + _BOX_WIDE + 2.5, y + _BOX_TALL / 2.0 - 1.6, card.unit, _NAME)
    told = card.told().get(name)
    if told is not None:
        number = format_body_mm(told, card.unit).rsplit(" ", 1)[0]
        _say(canvas, x + _BOX_WIDE - 4.0, y + _BOX_TALL / 2.0 - 2.4, number, 7.0, bold=True, right=True)


def _figure(canvas: Canvas, drawing: MeasurementDrawing, x: float, top: float, wide: float, tall: float) -> None:
    """The drawing fitted into a box whose upper left corner is (x, top), nothing outside its window."""
    left, upper, right, lower = drawing.window
    scale = min(wide / (right - left), tall / (lower - upper))
    x += (wide - scale * (right - left)) / 2.0

    def place(points: Points) -> Points:
        return np.column_stack([x + scale * (points[:, 0] - left), top - scale * (points[:, 1] - upper)]) * UNITS_PER_MM

    canvas.saveState()
    corners = place(np.array([[left, lower], [right, upper]]))
    clip = canvas.beginPath()
    clip.rect(*corners[0], *(corners[1] - corners[0]))
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.setLineJoin(1)
    for stroke in drawing.strokes:
        path = canvas.beginPath()
        first, *rest = place(stroke.points)
        path.moveTo(*first)
        for point in rest:
            path.lineTo(*point)
        if stroke.kind == "arrow":
            path.close()
            canvas.setFillColor(HexColor(_INK["ink"]))
            canvas.drawPath(path, stroke=0, fill=1)
        for ink, width, dashes in INKS[stroke.kind]:
            per = scale * drawing.weight * UNITS_PER_MM
            canvas.setStrokeColor(white if ink == "paper" else HexColor(_INK[ink]))
            canvas.setLineWidth(width * per)
            canvas.setDash([dash * per for dash in dashes])
            canvas.drawPath(path, stroke=1, fill=0)
    canvas.restoreState()


def _say(
    canvas: Canvas, x: float, y: float, text: str, size: float, *, bold: bool = False, right: bool = False
) -> None:
    canvas.setFillColor(HexColor(_INK["ink"]))
    canvas.setFont(font_name(bold), size * UNITS_PER_MM)
    draw = canvas.drawRightString if right else canvas.drawString
    draw(x * UNITS_PER_MM, y * UNITS_PER_MM, writable(text, bold))


def _rule(canvas: Canvas, x: float, y: float, to: float, *, width: float = 0.3) -> None:
    canvas.setStrokeColor(HexColor(_INK["faint"]))
    canvas.setLineWidth(width * UNITS_PER_MM)
    canvas.setDash([])
    canvas.line(x * UNITS_PER_MM, y * UNITS_PER_MM, to * UNITS_PER_MM, y * UNITS_PER_MM)
