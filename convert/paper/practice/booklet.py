"""The booklet as a PDF: the card to cut out, then each exercise with its box to draw in and the page to lay over it."""

import io
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from calibration.ground.units import MM_PER_INCH
from convert.block.block import Block
from convert.body.card import LengthUnit
from convert.paper.cautions import BLADES, CHILDREN, OWN_USE, PERSONAL
from convert.paper.draw.lettering import font_name, wrap, writable
from convert.paper.practice.exercise import Exercise
from convert.paper.practice.exercises import exercises
from convert.paper.practice.figure import Figure, Look, beside, figure
from convert.paper.sheets.papers import Paper, paper_named
from convert.paper.steps.page import FOOT_MM, HEADING_MM, LEADING, MARGIN_MM, MM, SMALL_MM, TITLE_MM, WORDS_MM, Page

SCALES = {"half": 0.5, "quarter": 0.25, "fifth": 0.2}
"""Scales of a booklet by their names."""
_GAP_MM, _BOX_ROOM_MM = 6.0, 6.0  # between things on a page; round a drawing in its box
_LEAST_PICTURE_MM, _BEST_PICTURE_MM = 45.0, 70.0
_RULER_MM = 110.0
_NAME_MM, _BREAK = 34.0, "\n"  # a name is broken to this width, and where it says so
_INK, _QUIET = HexColor("#000000"), HexColor("#4d473d")
_LOOKS: dict[Look, tuple[float, tuple[float, ...], str]] = {
    "outline": (0.5, (), "#000000"),
    "dart": (0.3, (), "#000000"),
    "cut": (0.4, (3.0, 1.5), "#9b1c31"),
    "stitch": (0.3, (2.0, 1.2), "#1f3a6e"),
    "fold": (0.9, (5.0, 1.5, 1.0, 1.5), "#000000"),
    "grain": (0.25, (), "#4d473d"),
    "old": (0.25, (0.8, 1.0), "#4d473d"),
}
_NEEDED = (
    "Thin card (a cereal box will do), thin paper, a soft pencil, a ruler, paper scissors, tape, a pin, cardboard "
    "below the page.",
    "Print at 100 %. Hold your own ruler to the line below: if it is not as long as it says, print again without "
    "“fit to page”.",
    "Glue the pages with the pieces on card and cut the pieces out on the line. Prick the bust point and the darts’ "
    "points with a pin. Snip a thread’s width into the edge at the darts’ ends.",
    "Work in the box. Then turn the page: the page after it shows what comes out. Hold both against a window, box on "
    "box. A pencil’s width beside is good.",
    "All lengths in the exercises are those of the body. Measure them on the small ruler below: cut it out, too.",
    BLADES,
    CHILDREN,
    PERSONAL,
    OWN_USE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Box:
    """Where an exercise is drawn, page mm: lower left corner, width, height."""

    left: float
    bottom: float
    wide: float
    high: float


def write_booklet(block: Block, *, date: str, scale: float = 0.25, paper: Paper | None = None) -> bytes:
    """The booklet of a block.

    Parameters
    ----------
    date
        Written out.
    scale
        Of the card and everything drawn: one of :data:`SCALES`.
    paper
        A4 unless another with pages is given.

    Raises
    ------
    InputError
        If there is nothing to practise with, or a drawing is larger than the page.
    """
    page = paper if paper is not None and paper.height is not None else paper_named("A4")
    unit = block.maker.unit
    found = exercises(block.pieces, unit, waist_to_hip=block.maker.mm("waist to hip"))
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(page.width * MM, (page.height or 0.0) * MM), invariant=1, lang="en")
    canvas.setTitle(f"Practice booklet: block of {block.maker.name}")
    canvas.setCreator("ownblock")
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    sheet = Page(canvas, page, foot=f"Practice booklet, block of {block.maker.name}. {_scale_name(scale)}. {date}.")
    _opening(sheet, block, found, scale)
    whose = f"{block.maker.name}, {_scale_name(scale).lower()}"
    _card(sheet, [figure(piece, name=f"{piece.kind.capitalize()}{_BREAK}{whose}") for piece in block.pieces], scale)
    for number, exercise in enumerate(found, 1):
        for k, results in enumerate(_boxes(sheet, exercise.results, scale)):
            one = replace(exercise, results=results)
            box = _more_room(sheet, one, number, scale) if k else _task(sheet, one, number, scale)
            _result(sheet, one, number, box, scale)
    canvas.save()
    return stream.getvalue()


def _scale_name(scale: float) -> str:
    return next((f"{name.capitalize()} scale" for name, one in SCALES.items() if one == scale), f"Scale {scale:g}")


def _opening(sheet: Page, block: Block, found: Sequence[Exercise], scale: float) -> None:
    sheet.mark("What you need")
    sheet.words("Practise on your own block", TITLE_MM, bold=True, after=1.0)
    sheet.words(f"{block.maker.name}. {_scale_name(scale)}", HEADING_MM, bold=True, after=2.0)
    for line in _NEEDED:
        sheet.words(line, WORDS_MM, after=1.2)
    sheet.y -= 4.0
    _ruler(sheet, scale, block.maker.unit)
    sheet.words("The exercises", HEADING_MM, bold=True, after=1.0)
    for number, exercise in enumerate(found, 1):
        sheet.words(f"{number}. {exercise.title}", WORDS_MM, after=0.6)
    sheet.end()


def _ruler(sheet: Page, scale: float, unit: LengthUnit) -> None:
    """A ruler that reads lengths of the body, and a line of known length to hold one's own ruler to."""
    step = (10.0 if unit == "cm" else MM_PER_INCH) * scale
    long = 10 if unit == "cm" else 4
    count = int(_RULER_MM / step) // long * long
    true = 100.0 if unit == "cm" else 4 * MM_PER_INCH
    base = sheet.y - 10.0
    _line(sheet, np.array([[MARGIN_MM, base], [MARGIN_MM + count * step, base]]), 0.4)
    for n in range(count + 1):
        x = MARGIN_MM + n * step
        high = 6.0 if n % long == 0 else 4.0 if n % (long // 2) == 0 else 2.5
        _line(sheet, np.array([[x, base], [x, base + high]]), 0.25 if n % long else 0.4)
        if n % long == 0:
            _say(sheet, str(n), x, base + 7.0, SMALL_MM * 0.85, middle=True)
    _say(sheet, f"{unit} of the body", MARGIN_MM + count * step + 5.0, base + 1.0, SMALL_MM)
    base -= 12.0
    _line(sheet, np.array([[MARGIN_MM, base], [MARGIN_MM + true, base]]), 0.4)
    for x in (MARGIN_MM, MARGIN_MM + true):
        _line(sheet, np.array([[x, base - 2.5], [x, base + 2.5]]), 0.4)
    said = "10 cm on your own ruler" if unit == "cm" else "4 inches on your own ruler"
    _say(sheet, said, MARGIN_MM + true + 5.0, base - 1.0, SMALL_MM)
    sheet.y = base - 8.0


def _card(sheet: Page, pieces: Sequence[Figure], scale: float) -> None:
    """The pieces to cut out, in rows, tallest first."""
    heading = "Card to cut out"
    sheet.mark(heading)
    sheet.words("To glue on card and cut out", HEADING_MM * 1.3, bold=True, after=3.0)
    x, row = MARGIN_MM, 0.0
    for one in sorted(pieces, key=lambda each: -float(each.size[1])):
        wide, high = one.size * scale
        _require_room(sheet, float(wide), float(high) + HEADING_MM * 2, one.name)
        if x > MARGIN_MM and x + wide > sheet.wide - MARGIN_MM:
            sheet.y -= row + _GAP_MM * 2
            x, row = MARGIN_MM, 0.0
        if sheet.y - high < FOOT_MM + 2.0:
            sheet.end()
            x, row = MARGIN_MM, 0.0
        _draw(sheet, one, np.array([x, sheet.y - high]), scale)
        x, row = x + float(wide) + _GAP_MM * 2, max(row, float(high))
    sheet.end()


def _require_room(sheet: Page, wide: float, high: float, name: str) -> None:
    if wide > sheet.room or high > sheet.high - MARGIN_MM - FOOT_MM:
        raise InputError(
            f"At this scale the {name[0].lower()}{name[1:]} is {wide:.0f} by {high:.0f} mm, and larger than the page.",
            "Choose a smaller scale, such as --scale quarter, or a larger paper, such as --paper A3.",
        )


def _task(sheet: Page, exercise: Exercise, number: int, scale: float) -> _Box:
    """The page, or pages, of an exercise; where its box lies on the last of them."""
    sheet.mark(f"Exercise {number}")
    sheet.words(f"{number}. {exercise.title}", HEADING_MM * 1.3, bold=True, after=0.5)
    sheet.words(exercise.aim, WORDS_MM, after=2.0)
    for k, step in enumerate(exercise.steps, 1):
        top = sheet.y
        sheet.box(MARGIN_MM, top - 5.4, 4.0)
        sheet.y = sheet.lines(wrap(f"{k}. {step}", WORDS_MM, sheet.room - 8.0, False), WORDS_MM, MARGIN_MM + 8.0, top)
        sheet.y -= 1.0
    sheet.y -= 2.0
    wide, high = _drawn_size(sheet, exercise.results, scale) + 2 * _BOX_ROOM_MM
    _require_room(sheet, float(wide), float(high) + HEADING_MM * 3, "drawing")
    beside_mm = sheet.room - float(wide) - _GAP_MM
    if sheet.left_mm >= high and (not exercise.pictures or beside_mm >= _LEAST_PICTURE_MM):
        box = _Box(left=MARGIN_MM, bottom=sheet.y - float(high), wide=float(wide), high=float(high))
        each = (max(float(high), sheet.left_mm) - _GAP_MM) / max(len(exercise.pictures), 1)
        for k, svg in enumerate(exercise.pictures):
            top = sheet.y - k * (each + _GAP_MM)
            sheet.picture(svg, MARGIN_MM + float(wide) + _GAP_MM, top, beside_mm, min(each, 1.3 * _BEST_PICTURE_MM))
    else:
        _pictures(sheet, exercise.pictures)
        sheet.end()
        return _more_room(sheet, exercise, number, scale)
    _frame(sheet, box, "Draw here")
    sheet.end()
    return box


def _boxes(sheet: Page, results: tuple[Figure, ...], scale: float) -> tuple[tuple[Figure, ...], ...]:
    """Results that are drawn in one box: all of them if the page holds them, else each in a box of its own."""
    high = float(_drawn_size(sheet, results, scale)[1]) + 2 * _BOX_ROOM_MM + HEADING_MM * 3
    return (results,) if high <= sheet.high - MARGIN_MM - FOOT_MM else tuple((one,) for one in results)


def _more_room(sheet: Page, exercise: Exercise, number: int, scale: float) -> _Box:
    """A page with the box for a further piece of the same exercise."""
    wide, high = (float(side) for side in _drawn_size(sheet, exercise.results, scale) + 2 * _BOX_ROOM_MM)
    _require_room(sheet, wide, high + HEADING_MM * 3, "drawing")
    sheet.words(f"{number}. {exercise.title}", HEADING_MM, bold=True, after=3.0)
    box = _Box(left=MARGIN_MM, bottom=sheet.y - high, wide=wide, high=high)
    _frame(sheet, box, "Draw here" if len(exercise.results) > 1 else f"Draw here: {exercise.results[0].name.lower()}")
    sheet.end()
    return box


def _pictures(sheet: Page, pictures: Sequence[str]) -> None:
    """Pictures in a row."""
    if not pictures:
        return
    if sheet.left_mm < _LEAST_PICTURE_MM:
        sheet.end()
    each = (sheet.room - _GAP_MM * (len(pictures) - 1)) / len(pictures)
    high = min(sheet.left_mm, 1.5 * _BEST_PICTURE_MM)
    for k, svg in enumerate(pictures):
        sheet.picture(svg, MARGIN_MM + k * (each + _GAP_MM), sheet.y, each, high)


def _result(sheet: Page, exercise: Exercise, number: int, box: _Box, scale: float) -> None:
    """What must have come out, at the very place where the box lay."""
    sheet.words(f"{number}. What comes out", HEADING_MM * 1.3, bold=True, after=1.0)
    free = sheet.y - (box.bottom + box.high) - 2.0
    told = [
        wrap(line, WORDS_MM, sheet.room, False) for line in ("Hold it against a window over yours.", *exercise.told)
    ]
    if sum(map(len, told)) * WORDS_MM * LEADING <= free:
        for lines in told:
            sheet.y = sheet.lines(lines, WORDS_MM, MARGIN_MM, sheet.y) - 0.8
    else:
        sheet.y = box.bottom - 4.0
        for lines in told:
            sheet.y = sheet.lines(lines, WORDS_MM, MARGIN_MM, sheet.y) - 0.8
    _frame(sheet, box, "")
    at = np.array([box.left + _BOX_ROOM_MM, box.bottom + _BOX_ROOM_MM])
    for one, place in _placed(sheet, exercise.results, scale):
        _draw(sheet, one, at + place * scale, scale)
    sheet.end()


def _placed(sheet: Page, results: tuple[Figure, ...], scale: float) -> tuple[tuple[Figure, Points], ...]:
    return beside(results, _BOX_ROOM_MM / scale, (sheet.room - 2 * _BOX_ROOM_MM) / scale)


def _drawn_size(sheet: Page, results: tuple[Figure, ...], scale: float) -> Points:
    return np.asarray(np.max([place + one.size for one, place in _placed(sheet, results, scale)], axis=0) * scale)


def _frame(sheet: Page, box: _Box, words: str) -> None:
    sheet.canvas.setLineWidth(0.3 * MM)
    sheet.canvas.setDash([])
    sheet.canvas.setStrokeColor(_QUIET)
    sheet.canvas.rect(box.left * MM, box.bottom * MM, box.wide * MM, box.high * MM)
    if words:
        _say(sheet, words, box.left + 2.0, box.bottom + box.high - 5.0, SMALL_MM)


def _draw(sheet: Page, one: Figure, at: Points, scale: float) -> None:
    """A figure with its lower left corner at a place of the page."""
    for stroke in one.strokes:
        width, dashes, colour = _LOOKS[stroke.look]
        points = stroke.points * scale + at
        _line(sheet, points, width, dashes=dashes, colour=colour)
    for word in one.words:
        x, y = word.at * scale + at
        if word.ring:
            sheet.canvas.circle(x * MM, y * MM, 1.0 * MM)
        _say(sheet, word.words, x + 2.0, y + 1.5, SMALL_MM * 0.75)
    x, y = one.name_at * scale + at
    lines = [part for line in one.name.split(_BREAK) for part in wrap(line, SMALL_MM, _NAME_MM, True)]
    for k, words in enumerate(lines):
        _say(sheet, words, x, y + (len(lines) / 2 - k - 0.8) * SMALL_MM * LEADING, SMALL_MM, bold=k == 0, middle=True)


def _line(sheet: Page, points: Points, width: float, *, dashes: Sequence[float] = (), colour: str = "#000000") -> None:
    canvas = sheet.canvas
    canvas.setStrokeColor(HexColor(colour))
    canvas.setLineWidth(width * MM)
    canvas.setDash([dash * MM for dash in dashes])
    canvas.setLineJoin(1)
    path = canvas.beginPath()
    path.moveTo(*(points[0] * MM))
    for point in points[1:]:
        path.lineTo(*(point * MM))
    canvas.drawPath(path)
    canvas.setDash([])


def _say(sheet: Page, words: str, x: float, y: float, size: float, *, bold: bool = False, middle: bool = False) -> None:
    sheet.canvas.setFillColor(_INK)
    sheet.canvas.setFont(font_name(bold), size * MM)
    draw = sheet.canvas.drawCentredString if middle else sheet.canvas.drawString
    draw(x * MM, y * MM, writable(words, bold))
