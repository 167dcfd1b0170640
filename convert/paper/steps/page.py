"""A page of words and pictures to work from: written from the top down, in mm from its lower left corner."""

from collections.abc import Sequence

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.units import MM_PER_INCH
from convert.paper.draw.lettering import font_name, wrap, writable
from convert.paper.files.svg_on_canvas import SvgPicture
from convert.paper.sheets.papers import Paper

MM = 72.0 / MM_PER_INCH
MARGIN_MM, FOOT_MM = 16.0, 14.0
TITLE_MM, HEADING_MM, WORDS_MM, SMALL_MM = 9.0, 4.9, 4.4, 4.2  # 26, 14, 12.5 and 12 point
LEADING = 1.3
_INK, _QUIET = HexColor("#000000"), HexColor("#4d473d")


class Page:
    """A page being written, in mm from its lower left corner."""

    def __init__(self, canvas: Canvas, paper: Paper, *, foot: str) -> None:
        self.canvas, self.foot = canvas, foot
        self.wide, self.high = paper.width, paper.height or 297.0
        self.room = self.wide - 2 * MARGIN_MM
        self.y = self.high - MARGIN_MM
        self.page = 1

    @property
    def left_mm(self) -> float:
        """How much of the page is still free."""
        return self.y - FOOT_MM

    def words(self, words: str, size: float, *, bold: bool = False, after: float = 1.5) -> None:
        """Words across the page, below what stands already."""
        self.y = self.lines(wrap(words, size, self.room, bold), size, MARGIN_MM, self.y, bold=bold) - after

    def lines(self, lines: Sequence[str], size: float, left: float, top: float, *, bold: bool = False) -> float:
        """Lines from a place down; where they end."""
        self.canvas.setFillColor(_INK)
        self.canvas.setFont(font_name(bold), size * MM)
        for line in lines:
            top -= size * LEADING
            self.canvas.drawString(left * MM, (top + 0.3 * size) * MM, writable(line, bold))
        return top

    def picture(self, svg: str, left: float, top: float, wide: float, high: float) -> None:
        """A picture as large as it fits into a box."""
        picture = SvgPicture(svg)
        scale = min(wide / picture.size[0], high / picture.size[1])
        left += (wide - scale * picture.size[0]) / 2
        picture.draw(self.canvas, left * MM, (top - scale * picture.size[1]) * MM, scale * MM)

    def box(self, left: float, bottom: float, side: float) -> None:
        """A box to tick."""
        self.canvas.setLineWidth(1.0)
        self.canvas.setStrokeColor(_INK)
        self.canvas.rect(left * MM, bottom * MM, side * MM, side * MM)

    def mark(self, name: str) -> None:
        """A bookmark on this page."""
        self.canvas.bookmarkPage(name)
        self.canvas.addOutlineEntry(name, name)

    def end(self) -> None:
        """Finish the page."""
        self.canvas.setFont(font_name(), SMALL_MM * MM)
        self.canvas.setFillColor(_QUIET)
        self.canvas.drawString(MARGIN_MM * MM, 8.0 * MM, writable(self.foot))
        self.canvas.drawRightString((self.wide - MARGIN_MM) * MM, 8.0 * MM, f"Page {self.page}")
        self.canvas.showPage()
        self.y, self.page = self.high - MARGIN_MM, self.page + 1
