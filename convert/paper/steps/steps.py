"""The moves as a step-by-step sheet: one step a page, in large type, to follow by hand with the paper pattern."""

import io
from collections.abc import Sequence

from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.points import Points, lengths_along, nearest_on_line
from calibration.ground.units import MM_PER_INCH
from convert.block.block import Move
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.paper.draw.lettering import font_name, width, wrap, writable
from convert.paper.files.svg_on_canvas import SvgPicture
from convert.paper.sheets.papers import Paper, paper_named
from convert.paper.steps.pictures import key_picture, move_picture, move_title, start_picture

_MM = 72.0 / MM_PER_INCH
_MARGIN = 16.0
_TITLE, _SENTENCE, _WORDS, _SMALL = 11.0, 7.4, 5.6, 4.4  # type in mm: 31, 21, 16 and 12 point
_ON_EDGE_MM = 1.5  # an end of a cut this near to an edge lies on it
_INK, _QUIET = HexColor("#000000"), HexColor("#4d473d")
NEEDED = (
    "The paper pattern, cut out on its seam line (or a tracing of it: never cut old tissue).",
    "Spare paper, tape, a pencil, a ruler, paper scissors.",
    "One step a page. Do them in order, piece by piece, and tick each when it is done.",
    "Where paper is added the picture is hatched; where it is taken away or lapped it is crossed.",
    "Blades injure: cut away from your hand, cover the blade.",
)


def write_steps(
    moves: Sequence[Move], *, title: str, date: str, unit: LengthUnit = "cm", paper: Paper | None = None
) -> bytes:
    """The step-by-step sheet as a PDF.

    Parameters
    ----------
    moves
        In the order in which they were made; they are shown piece by piece.
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
    steps = by_piece(moves)
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(page.width * _MM, (page.height or 0.0) * _MM), invariant=1, lang="en")
    canvas.setTitle(f"Steps: {title}")
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setSubject("The moves from the pattern to the block, one by one")
    sheet = _Sheet(canvas, page, foot=f"{title}. {date}.")
    _first(sheet, steps, title)
    for number, move in enumerate(steps, 1):
        _step(sheet, move, number, steps, unit)
    canvas.save()
    return stream.getvalue()


def by_piece(moves: Sequence[Move]) -> tuple[Move, ...]:
    """The moves piece by piece, in the order in which the pieces first come; on each piece as they were made."""
    kinds = list(dict.fromkeys(move.piece for move in moves))
    return tuple(sorted(moves, key=lambda move: kinds.index(move.piece)))


def cut_words(move: Move, unit: LengthUnit = "cm") -> str:
    """Where the cut runs, measured from corners that a cutter can find; empty where nothing is slashed."""
    for cut in move.cuts:
        ends = [_end_words(move, end, unit) for end in (cut[0], cut[-1])]
        edges = [_edge_at(move, end) for end in (cut[0], cut[-1])]
        if len(cut) > 6 or ends[0] == "" or edges[0] == edges[1]:
            continue  # a line drawn anew along an edge or a dart, not a slash
        if ends[1]:
            return f"The cut runs from {ends[0]}, to {ends[1]}."
        return f"The cut starts at {ends[0]}."
    return ""


def _edge_at(move: Move, end: Points) -> str:
    return min(move.before.edges, key=lambda one: nearest_on_line(one.points, end)[2]).name


def _end_words(move: Move, end: Points, unit: LengthUnit) -> str:
    """An end of a cut on an edge: how far along it from the nearer corner; empty if it lies inside."""
    piece = move.before
    edge = min(piece.edges, key=lambda one: nearest_on_line(one.points, end)[2])
    _, along, off = nearest_on_line(edge.points, end)
    if off > _ON_EDGE_MM:
        return ""
    at = piece.edges.index(edge)
    whole = float(lengths_along(edge.points)[-1])
    before, after = piece.edges[at - 1], piece.edges[(at + 1) % len(piece.edges)]
    far, corner = (along, before.name) if along <= whole / 2 else (whole - along, after.name)
    if far < 2 * _ON_EDGE_MM:
        return f"the corner of {edge.name} and {corner}"
    return f"the {edge.name}, {format_paper_mm(far, unit)} from the {corner}"


class _Sheet:
    """A page being written, in mm from its lower left corner."""

    def __init__(self, canvas: Canvas, paper: Paper, *, foot: str) -> None:
        self.canvas, self.foot = canvas, foot
        self.wide, self.high = paper.width, paper.height or 297.0
        self.room = self.wide - 2 * _MARGIN
        self.y = self.high - _MARGIN

    def words(self, words: str, size: float, *, bold: bool = False, after: float = 2.0, indent: float = 0.0) -> None:
        """Words below what stands already."""
        self.canvas.setFillColor(_INK)
        for line in wrap(words, size, self.room - indent, bold):
            self.y -= size * 1.3
            self.canvas.setFont(font_name(bold), size * _MM)
            self.canvas.drawString((_MARGIN + indent) * _MM, (self.y + 0.3 * size) * _MM, writable(line, bold))
        self.y -= after

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

    def end(self, name: str) -> None:
        """Finish the page."""
        self.canvas.setFont(font_name(), _SMALL * _MM)
        self.canvas.setFillColor(_QUIET)
        self.canvas.drawString(_MARGIN * _MM, 9.0 * _MM, writable(self.foot))
        self.canvas.bookmarkPage(name)
        self.canvas.addOutlineEntry(name, name)
        self.canvas.showPage()
        self.y = self.high - _MARGIN


def _first(sheet: _Sheet, steps: Sequence[Move], title: str) -> None:
    """What is needed, and the list of steps to tick."""
    sheet.words("Step by step", _TITLE, bold=True)
    sheet.words(title, _SENTENCE, after=6.0)
    for line in NEEDED:
        sheet.words(line, _WORDS, after=3.0)
    sheet.end("What you need")
    kind = ""
    for number, move in enumerate(steps, 1):
        if sheet.y < 34.0:
            sheet.end("All steps")
        if move.piece != kind:
            kind = move.piece
            sheet.y -= 2.0
            sheet.words(kind.capitalize(), _WORDS, bold=True, after=1.0)
        sheet.box(_MARGIN + 1, sheet.y - 1.05 * _WORDS, 0.75 * _WORDS)
        sheet.words(f"{number}. {move_title(move)}", _WORDS, after=0.15 * _WORDS, indent=2.2 * _WORDS)
    sheet.end("All steps")


def _step(sheet: _Sheet, move: Move, number: int, steps: Sequence[Move], unit: LengthUnit) -> None:
    """One step on a page of its own."""
    own = [one for one in steps if one.piece == move.piece]
    which = next(i for i, one in enumerate(own, 1) if one is move)
    sheet.words(f"Step {number} of {len(steps)}", _WORDS, after=1.0)
    sheet.words(f"{move.piece.capitalize()}, {which} of {len(own)}", _TITLE, bold=True, after=4.0)
    sheet.words(move.sentence, _SENTENCE, after=3.0)
    where = cut_words(move, unit)
    if where:
        sheet.words(where, _WORDS, after=2.0)
    top = sheet.y - 4.0
    half = (sheet.room - 8.0) / 2
    high = top - 42.0
    for left, name, svg in (
        (_MARGIN, "Before", start_picture(move)),
        (_MARGIN + half + 8.0, "After", move_picture(move)),
    ):
        sheet.y = top
        sheet.canvas.setFont(font_name(True), _WORDS * _MM)
        sheet.canvas.setFillColor(_INK)
        sheet.canvas.drawString(left * _MM, (top - _WORDS) * _MM, name)
        sheet.picture(svg, left, top - _WORDS - 5.0, half, high - 8.0)
    sheet.picture(key_picture(), _MARGIN, 32.0, sheet.room, 14.0)
    done = f"Done: step {number}"
    box = sheet.wide - _MARGIN - width(done, _WORDS) - 9.0
    sheet.box(box, 8.0, 6.0)
    sheet.canvas.setFont(font_name(), _WORDS * _MM)
    sheet.canvas.drawString((box + 8.5) * _MM, 9.2 * _MM, done)
    sheet.end(f"Step {number}: {move.piece}")
