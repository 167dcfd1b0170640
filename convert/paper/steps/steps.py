"""The steps by hand as a sheet: four to a page, piece by piece, each with its picture and a box to tick."""

import io
from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.units import MM_PER_INCH
from convert.block.block import Move
from convert.body.card import LengthUnit
from convert.paper.cautions import BLADES
from convert.paper.draw.lettering import font_name, wrap, writable
from convert.paper.files.svg_on_canvas import SvgPicture
from convert.paper.sheets.papers import Paper, paper_named
from convert.paper.steps.by_hand import HandStep, steps_by_hand
from convert.paper.steps.hand_pictures import step_picture
from convert.paper.steps.pictures import key_picture

_MM = 72.0 / MM_PER_INCH
_MARGIN, _GAP, _FOOT = 16.0, 8.0, 14.0
_TITLE, _HEADING, _WORDS, _SMALL = 9.0, 4.9, 4.4, 4.2  # type in mm: 26, 14, 12.5 and 12 point
_LEADING = 1.3
_LEAST_PICTURE, _BEST_PICTURE = 58.0, 76.0  # a picture's height in mm: lower can't be read, higher wastes paper
_INK, _QUIET, _RULE = HexColor("#000000"), HexColor("#4d473d"), HexColor("#8a8171")
NEEDED = (
    "The paper pattern, cut out on its seam line (or a tracing of it: never cut old tissue).",
    "Spare paper, tape, a pencil, a ruler, paper scissors.",
    "Do the steps in order, piece by piece, and tick each when it is done.",
    "An arrow’s tip is the new place. A small ring is a hinge: cut up to it, not through it.",
    BLADES,
)


def write_steps(
    moves: Sequence[Move], *, title: str, date: str, unit: LengthUnit = "cm", paper: Paper | None = None
) -> bytes:
    """The sheet of steps as a PDF.

    Parameters
    ----------
    moves
        In the order in which they were made; they are joined into steps and shown piece by piece.
    title
        Whose block it is.
    date
        Written out.
    paper
        A4 unless another of a home printer's is given.

    Raises
    ------
    ValueError
        If there is no move.
    """
    if not moves:
        raise ValueError("a sheet of steps needs a step")
    page = paper if paper is not None and paper.tiled and paper.height is not None else paper_named("A4")
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(page.width * _MM, (page.height or 0.0) * _MM), invariant=1, lang="en")
    canvas.setTitle(f"Steps: {title}")
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setSubject("The steps from the pattern to the block, by hand")
    sheet = _Sheet(canvas, page, foot=f"{title}. {date}.")
    steps = steps_by_hand(moves, unit)
    _opening(sheet, title, len(steps))
    numbered = list(enumerate(steps, 1))
    for kind in dict.fromkeys(step.piece for step in steps):
        _piece(sheet, [(number, step) for number, step in numbered if step.piece == kind], unit)
    sheet.end()
    canvas.save()
    return stream.getvalue()


class _Sheet:
    """A page being written, in mm from its lower left corner."""

    def __init__(self, canvas: Canvas, paper: Paper, *, foot: str) -> None:
        self.canvas, self.foot = canvas, foot
        self.wide, self.high = paper.width, paper.height or 297.0
        self.room = self.wide - 2 * _MARGIN
        self.y = self.high - _MARGIN
        self.page = 1

    @property
    def left_mm(self) -> float:
        """How much of the page is still free."""
        return self.y - _FOOT

    def words(self, words: str, size: float, *, bold: bool = False, after: float = 1.5) -> None:
        """Words across the page, below what stands already."""
        self.y = self.lines(wrap(words, size, self.room, bold), size, _MARGIN, self.y, bold=bold) - after

    def lines(self, lines: Sequence[str], size: float, left: float, top: float, *, bold: bool = False) -> float:
        """Lines from a place down; where they end."""
        self.canvas.setFillColor(_INK)
        self.canvas.setFont(font_name(bold), size * _MM)
        for line in lines:
            top -= size * _LEADING
            self.canvas.drawString(left * _MM, (top + 0.3 * size) * _MM, writable(line, bold))
        return top

    def picture(self, svg: str, left: float, top: float, wide: float, high: float) -> None:
        """A picture as large as it fits into a box."""
        picture = SvgPicture(svg)
        scale = min(wide / picture.size[0], high / picture.size[1])
        left += (wide - scale * picture.size[0]) / 2
        picture.draw(self.canvas, left * _MM, (top - scale * picture.size[1]) * _MM, scale * _MM)

    def box(self, left: float, bottom: float, side: float) -> None:
        """A box to tick."""
        self.canvas.setLineWidth(1.0)
        self.canvas.setStrokeColor(_INK)
        self.canvas.rect(left * _MM, bottom * _MM, side * _MM, side * _MM)

    def mark(self, name: str) -> None:
        """A bookmark on this page."""
        self.canvas.bookmarkPage(name)
        self.canvas.addOutlineEntry(name, name)

    def end(self) -> None:
        """Finish the page."""
        self.canvas.setFont(font_name(), _SMALL * _MM)
        self.canvas.setFillColor(_QUIET)
        self.canvas.drawString(_MARGIN * _MM, 8.0 * _MM, writable(self.foot))
        self.canvas.drawRightString((self.wide - _MARGIN) * _MM, 8.0 * _MM, f"Page {self.page}")
        self.canvas.showPage()
        self.y, self.page = self.high - _MARGIN, self.page + 1


def _opening(sheet: _Sheet, title: str, count: int) -> None:
    """What is needed, and what the lines mean."""
    sheet.mark("What you need")
    sheet.words("Step by step", _TITLE, bold=True, after=1.0)
    sheet.words(f"{title}: {count} steps", _HEADING, bold=True, after=2.0)
    for line in NEEDED:
        sheet.words(line, _WORDS, after=1.0)
    sheet.picture(key_picture(), _MARGIN, sheet.y - 2.0, sheet.room, 8.0)
    sheet.y -= 13.0


@dataclass(frozen=True, slots=True)
class _Cell:
    """A step set in its column: its lines of words, its picture, how high its words are."""

    number: int
    step: HandStep
    heading: Sequence[str]
    lines: Sequence[Sequence[str]]

    @property
    def high(self) -> float:
        return _LEADING * (len(self.heading) * _HEADING + sum(map(len, self.lines)) * _WORDS) + 0.8 * len(self.lines)


def _piece(sheet: _Sheet, steps: Sequence[tuple[int, HandStep]], unit: LengthUnit) -> None:
    """A piece's steps, two in a row; a row stays on one page."""
    half = (sheet.room - _GAP) / 2
    cells = [
        _Cell(
            number,
            step,
            wrap(f"{number}. {step.title}", _HEADING, half - 8.0, True),
            [wrap(text, _WORDS, half, False) for text in step.sentences],
        )
        for number, step in steps
    ]
    kind = steps[0][1].piece
    for k in range(0, len(cells), 2):
        row = cells[k : k + 2]
        words = max(cell.high for cell in row)
        heading = 0.0 if k else _HEADING * 2.4
        if sheet.left_mm < words + heading + _LEAST_PICTURE + 4.0:
            sheet.end()
        if not k:
            sheet.mark(kind.capitalize())
            sheet.words(kind.capitalize(), 1.35 * _HEADING, bold=True, after=1.0)
        picture = min(_BEST_PICTURE, sheet.left_mm - words - 4.0)
        for column, cell in enumerate(row):
            _cell(sheet, cell, _MARGIN + column * (half + _GAP), half, words, picture, unit)
        sheet.y -= words + picture + 6.0


def _cell(sheet: _Sheet, cell: _Cell, left: float, wide: float, words: float, picture: float, unit: LengthUnit) -> None:
    top = sheet.y
    sheet.box(left + wide - 6.0, top - 6.0, 5.0)
    y = sheet.lines(cell.heading, _HEADING, left, top, bold=True)
    for lines in cell.lines:
        y = sheet.lines(lines, _WORDS, left, y - 0.8)
    sheet.picture(step_picture(cell.step, unit), left, top - words - 2.0, wide, picture)
