"""The steps by hand as a sheet: four to a page, piece by piece, each with its picture and a box to tick."""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace

from reportlab.pdfgen.canvas import Canvas

from convert.block.block import Move
from convert.body.card import LengthUnit
from convert.paper.cautions import BLADES
from convert.paper.draw.lettering import wrap
from convert.paper.sheets.papers import Paper, paper_named
from convert.paper.steps.by_hand import HandStep, steps_by_hand
from convert.paper.steps.hand_pictures import step_picture
from convert.paper.steps.page import HEADING_MM, LEADING, MARGIN_MM, MM, TITLE_MM, WORDS_MM, Page
from convert.paper.steps.pictures import key_picture

_GAP = 8.0
_LEAST_PICTURE, _BEST_PICTURE = 58.0, 76.0  # a picture's height in mm: lower can't be read, higher wastes paper
_SMALL_PICTURE = 44.0  # beside the words that end a piece: the block as it is then
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
    canvas = Canvas(stream, pagesize=(page.width * MM, (page.height or 0.0) * MM), invariant=1, lang="en")
    canvas.setTitle(f"Steps: {title}")
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setSubject("The steps from the pattern to the block, by hand")
    sheet = Page(canvas, page, foot=f"{title}. {date}.")
    steps = steps_by_hand(moves, unit)
    _opening(sheet, title, len(steps))
    numbered = list(enumerate(steps, 1))
    for kind in dict.fromkeys(step.piece for step in steps):
        _piece(sheet, [(number, step) for number, step in numbered if step.piece == kind], unit)
    sheet.end()
    canvas.save()
    return stream.getvalue()


def _opening(sheet: Page, title: str, count: int) -> None:
    """What is needed, and what the lines mean."""
    sheet.mark("What you need")
    sheet.words("Step by step", TITLE_MM, bold=True, after=1.0)
    sheet.words(f"{title}: {count} steps", HEADING_MM, bold=True, after=2.0)
    for line in NEEDED:
        sheet.words(line, WORDS_MM, after=1.0)
    sheet.picture(key_picture(), MARGIN_MM, sheet.y - 2.0, sheet.room, 8.0)
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
        return LEADING * (len(self.heading) * HEADING_MM + sum(map(len, self.lines)) * WORDS_MM) + 0.8 * len(self.lines)


def _piece(sheet: Page, steps: Sequence[tuple[int, HandStep]], unit: LengthUnit) -> None:
    """A piece's steps, two in a row; a row stays on one page."""
    half = (sheet.room - _GAP) / 2
    cells = [
        _Cell(
            number,
            step,
            wrap(f"{number}. {step.title}", HEADING_MM, half - 8.0, True),
            [wrap(text, WORDS_MM, half, False) for text in step.sentences],
        )
        for number, step in steps
    ]
    closing = cells.pop() if cells[-1].step.closing and not cells[-1].step.marked else None
    kind = steps[0][1].piece
    for k in range(0, len(cells), 2):
        row = cells[k : k + 2]
        words = max(cell.high for cell in row)
        heading = 0.0 if k else HEADING_MM * 2.4
        if sheet.left_mm < words + heading + _LEAST_PICTURE + 4.0:
            sheet.end()
        if not k:
            sheet.mark(kind.capitalize())
            sheet.words(kind.capitalize(), 1.35 * HEADING_MM, bold=True, after=1.0)
        picture = min(_BEST_PICTURE, sheet.left_mm - words - 4.0)
        for column, cell in enumerate(row):
            _cell(sheet, cell, MARGIN_MM + column * (half + _GAP), half, words, picture, unit)
        sheet.y -= words + picture + 6.0
    if closing is not None:
        _closing(sheet, closing, unit, first="" if cells else kind.capitalize())


def _closing(sheet: Page, cell: _Cell, unit: LengthUnit, *, first: str) -> None:
    """A piece's last step, where nothing new is drawn: across the page, its picture small beside the words."""
    wide = 0.66 * sheet.room
    across = replace(cell, lines=[wrap(text, WORDS_MM, wide, False) for text in cell.step.sentences])
    high = max(across.high, _SMALL_PICTURE)
    if sheet.left_mm < high + 4.0:
        sheet.end()
    if first:
        sheet.mark(first)
        sheet.words(first, 1.35 * HEADING_MM, bold=True, after=1.0)
    y = sheet.lines(across.heading, HEADING_MM, MARGIN_MM, sheet.y, bold=True)
    for lines in across.lines:
        y = sheet.lines(lines, WORDS_MM, MARGIN_MM, y - 0.8)
    sheet.box(MARGIN_MM + sheet.room - 6.0, sheet.y - 6.0, 5.0)
    beside = sheet.room - wide - 12.0
    sheet.picture(step_picture(cell.step, unit), MARGIN_MM + wide + 4.0, sheet.y, beside, high)
    sheet.y -= high + 6.0


def _cell(sheet: Page, cell: _Cell, left: float, wide: float, words: float, picture: float, unit: LengthUnit) -> None:
    top = sheet.y
    sheet.box(left + wide - 6.0, top - 6.0, 5.0)
    y = sheet.lines(cell.heading, HEADING_MM, left, top, bold=True)
    for lines in cell.lines:
        y = sheet.lines(lines, WORDS_MM, left, y - 0.8)
    sheet.picture(step_picture(cell.step, unit), left, top - words - 2.0, wide, picture)
