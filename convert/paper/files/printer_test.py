"""One sheet with one square, to try a printer with: its side is asked for in the unit in which it is drawn."""

import numpy as np

from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit
from convert.paper.draw.drawing import Line, Path
from convert.paper.files.pdf import write_pdf
from convert.paper.sheets.furniture import SQUARE_MM, column_of, rectangle
from convert.paper.sheets.papers import Paper
from convert.paper.sheets.sheets import Sheet

SQUARE_OF_UNIT_MM = {"cm": SQUARE_MM, "in": 4 * MM_PER_INCH}
"""The square's side: 10 cm, or 4 inches; each is whole in its own unit, and a hand's ruler is longer than either."""
_SIDE_WORDS = {"cm": "10 cm", "in": "4 inches"}
_TOP_MM = 12.0  # below the printable edge
_ROLL_MM = 180.0  # of a roll's length: the square and its words


def printer_test(paper: Paper, unit: LengthUnit, *, title: str) -> bytes:
    """The sheet as a PDF, drawn as for a true printer: what it comes out as is what is asked for.

    Parameters
    ----------
    paper
        What is printed on.
    unit
        The maker's.
    title
        Of the document.
    """
    side = SQUARE_OF_UNIT_MM[unit]
    high = paper.height if paper.height is not None else _ROLL_MM
    left, top = paper.margin, high - paper.margin
    lines = (
        Line(words="Printer test", size=9.0, bold=True),
        Line(words="Print this sheet at 100 % (actual size), never to fit the page.", size=5.0),
        Line(words=f"Then measure one side of the square. It should be {_SIDE_WORDS[unit]}.", size=5.0),
        Line(words="Say on the page what your ruler shows.", size=5.0),
    )
    words, below = column_of(lines, left, top, paper.width - 2 * paper.margin)
    corner = np.array([left + 0.5, below - _TOP_MM - side])
    square = Path(kind="frame", points=rectangle(*corner, *(corner + side)), closed=True, name=_SIDE_WORDS[unit])
    sheet = Sheet(
        name="Printer test",
        width=paper.width,
        height=high,
        window=(left, paper.margin, paper.width - left, top),
        items=(*words, square),
        pieces=(),
    )
    return write_pdf([sheet], title=title, author="", subject="Measure one side of the square.")
