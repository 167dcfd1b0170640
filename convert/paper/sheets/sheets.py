"""Sheets of paper: the pieces laid, every sheet with its guides, names and test square, true to the scale chosen."""

import string
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import LineString, Polygon

from calibration.ground.points import Points, as_points
from calibration.ground.units import MM_PER_INCH
from convert.body.card import LengthUnit
from convert.paper.cautions import TOILE_FIRST
from convert.paper.draw.draw_piece import scale_words
from convert.paper.draw.drawing import Drawing, Line, Path, Text, placed
from convert.paper.draw.label import Obstacle, obstacles_of, place_label, set_label, texts_at
from convert.paper.sheets.furniture import (
    SQUARE_INCHES,
    TYPE_MM,
    Items,
    assembly_map,
    column_of,
    inch_square,
    join_guides,
    map_scale,
    rectangle,
    scale_ruler,
    true_side,
    true_square,
)
from convert.paper.sheets.joined import lay_tiles
from convert.paper.sheets.packing import Grid, Group, Place, lay_whole
from convert.paper.sheets.papers import Paper
from convert.paper.sheets.printer import Printer
from convert.paper.sheets.settling import points_to_meet

SHEET_NAME_MM = 11.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """One sheet in sheet mm (y up, origin at its lower left corner).

    ``items`` stand as they are; ``pieces`` are drawn within ``window`` (left, bottom, right, top) only.
    """

    name: str
    width: float
    height: float
    window: tuple[float, float, float, float]
    items: tuple[Path | Text, ...]
    pieces: tuple[Drawing, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """The printable part of a paper, measured in true mm after the printer has shrunk it."""

    paper: Paper
    printer: Printer

    @property
    def wide(self) -> float:
        return float((self.paper.width - 2 * self.paper.margin) / self.printer.correction[0])

    @property
    def high(self) -> float | None:
        height = self.paper.height
        return None if height is None else float((height - 2 * self.paper.margin) / self.printer.correction[1])

    def on_sheet(self, item: Path | Text, origin: Points) -> Path | Text:
        """An item of the plane whose point ``origin`` lies at the printable corner, in sheet mm."""
        factor = self.printer.correction

        def move(points: Points) -> Points:
            return (points - origin) * factor + self.paper.margin

        if isinstance(item, Path):
            return item.moved(move)
        return replace(item, at=move(item.at.reshape(1, 2))[0])

    def sheet(self, name: str, origin: Points, high: float, items: Items, pieces: Sequence[Drawing]) -> Sheet:
        """A sheet that shows the plane from ``origin`` (its lower left printable corner) upwards."""
        margin = self.paper.margin
        far = np.array([self.wide, high]) * self.printer.correction + margin
        return Sheet(
            name=name,
            width=self.paper.width,
            height=self.paper.height if self.paper.height is not None else float(far[1] + margin),
            window=(margin, margin, float(far[0]), float(far[1])),
            items=tuple(self.on_sheet(item, origin) for item in items),
            pieces=tuple(self._drawing(piece, origin) for piece in pieces),
        )

    def _drawing(self, drawing: Drawing, origin: Points) -> Drawing:
        ring = (drawing.outline - origin) * self.printer.correction + self.paper.margin
        return replace(drawing, items=tuple(self.on_sheet(item, origin) for item in drawing.items), outline=ring)


def make_sheets(
    drawings: Sequence[Drawing],
    paper: Paper,
    *,
    title: str,
    date: str,
    scale: float = 1.0,
    printer: Printer | None = None,
    note: str = "No seam allowance",
    unit: LengthUnit = "cm",
) -> tuple[Sheet, ...]:
    """Lay the drawings on sheets of a paper, at the scale at which they were drawn.

    Parameters
    ----------
    drawings
        Recorded at ``scale``, which is only written on the sheets here: nothing is ever fitted to a page.
    paper
        What to print on.
    title
        Whose block it is.
    date
        Written out.
    printer
        What the test square measured; a true printer if left out.
    note
        The allowance in words.
    unit
        The maker's, for test squares and rulers.

    Raises
    ------
    ValueError
        If there is nothing to draw.
    """
    if not drawings:
        raise ValueError("there is no piece to lay on sheets")
    room = _Room(paper=paper, printer=printer or Printer())
    told = _Told(
        title=title, date=date, scale=scale, note=note, pieces=tuple(drawing.name for drawing in drawings), unit=unit
    )
    whole = _whole_sheets(drawings, room, told)
    # a reduced block is for practising: whole pieces on a few sheets are better than joining
    if whole is not None and (not paper.tiled or len(whole) == 1 or scale < 1.0):
        return whole
    tiled = _tiled_sheets(drawings, room, told)
    return whole if whole is not None and len(whole) <= len(tiled) else tiled


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    title: str
    date: str
    scale: float
    note: str
    pieces: tuple[str, ...]
    unit: LengthUnit = "cm"

    @property
    def line(self) -> str:
        return f"{self.title}. {scale_words(self.scale)}. {self.note}. {self.date}."


def _grid(room: _Room) -> Grid:
    high = room.high
    if high is None:  # a piece wider than a roll runs on over lengths as long as the roll is wide twice
        high = 2.0 * room.wide
    overlap = room.paper.overlap
    return Grid(step_x=room.wide - overlap, step_y=high - overlap, overlap=overlap)


def _tiled_sheets(drawings: Sequence[Drawing], room: _Room, told: _Told) -> tuple[Sheet, ...]:
    grid = _grid(room)
    groups = lay_tiles([one.outline for one in drawings], grid, [points_to_meet(one) for one in drawings])
    laid, first_row = [], 0
    for group in groups:
        names = {cell: f"{_letters(first_row + cell[0])}{cell[1] + 1}" for cell in sorted(group.used)}
        pieces = [placed(drawings[i], place.angle_deg, place.shift) for i, place in group.places.items()]
        laid.append((group, names, [_relabelled(piece, grid, names) for piece in pieces]))
        first_row += 1 + max(row for row, _ in group.used)
    sheets = [_cover(laid, grid, room, told)]
    for group, names, pieces in laid:
        sheets += [_tile(cell, names, pieces, grid, room, told) for cell in sorted(group.used)]
    return tuple(sheets)


def _letters(row: int) -> str:
    letters = string.ascii_uppercase
    return letters[row] if row < 26 else letters[row // 26 - 1] + letters[row % 26]


def _tile(
    cell: tuple[int, int],
    names: dict[tuple[int, int], str],
    pieces: list[Drawing],
    grid: Grid,
    room: _Room,
    told: _Told,
) -> Sheet:
    left, bottom, right, top = grid.window(*cell)
    here = [
        p for p in pieces if p.bounds[0] < right and p.bounds[2] > left and p.bounds[1] < top and p.bounds[3] > bottom
    ]
    busy = [obstacle for piece in here for obstacle in obstacles_of(piece.items)]
    guides = join_guides(grid, cell, names, busy)
    own = (left, bottom + grid.overlap, right - grid.overlap, top)
    words = (" and ".join(piece.name for piece in here), told.line, room.printer.short_words)
    lines = (
        Line(words=names[cell], size=SHEET_NAME_MM, bold=True),
        *(Line(words=text, size=TYPE_MM) for text in words if text),
    )
    items = [*guides, *_sheet_label(lines, own, [*busy, *obstacles_of(guides)])]
    return room.sheet(names[cell], np.array([left, bottom]), top - bottom, items, here)


def _sheet_label(
    lines: tuple[Line, ...], own: tuple[float, float, float, float], busy: list[Obstacle]
) -> tuple[Text, ...]:
    """The sheet's name and words where no line of a piece runs; fewer words where there is little room."""
    left, _, _, top = own
    for count in range(len(lines), 0, -1):
        texts = place_label(
            lines[:count], rectangle(*own), busy, shrinks=(1.0, 0.8), rooms=(80.0, 55.0, 110.0, 40.0), clear=3.0
        )
        if texts is not None:
            return texts
    return texts_at(set_label(lines[:1], 40.0), left + 4, top - 4)


def _relabelled(piece: Drawing, grid: Grid, names: Iterable[tuple[int, int]]) -> Drawing:
    """The piece with its words set upright on one sheet, where no join cuts them, if there is such a place."""
    rest = [item for item in piece.items if not (isinstance(item, Text) and item.movable)]
    if not piece.label:
        return piece
    joins: list[Obstacle] = []
    for row, column in names:
        left, bottom, right, top = grid.window(row, column)
        joins.append((np.array([[left, bottom], [left, top], [right, top]]), JOIN_CLEAR_MM))
        strip = 0.5 * grid.overlap
        joins.append((np.array([[left, bottom + strip], [right - strip, bottom + strip], [right - strip, top]]), strip))
    ring = (piece.of_kind("stitching") or piece.of_kind("seam"))[0].points
    busy = [*obstacles_of(rest, ignore=("seam", "cut", "stitching")), *joins]
    texts = place_label(
        piece.label, ring, busy, shrinks=(1.3, 1.15, 1.0, 0.9, 0.8, 0.7), rooms=(120.0, 90.0, 60.0, 48.0)
    )
    return piece if texts is None else replace(piece, items=(*rest, *texts))


JOIN_CLEAR_MM = 7.0  # beside a join stands its guide's text


def _check_lines(printer: Printer) -> tuple[Line, ...]:
    words = (
        "Print at 100 %. In the print window choose “Actual size” or “100 %”, never “Fit to page”.",
        "Print this sheet first. Measure both squares across and up.",
        printer.words or "Not right? Measure a side of a square, tell ownblock what it is, and print again.",
    )
    return tuple(Line(words=text, size=TYPE_MM) for text in words)


def _heading(told: _Told) -> tuple[Line, ...]:
    return (
        Line(words=told.title, size=9.0, bold=True),
        Line(words=f"{', '.join(told.pieces)}. {scale_words(told.scale)}. {told.note}. {told.date}.", size=TYPE_MM),
        *([Line(words=TOILE_FIRST, size=TYPE_MM)] if told.scale == 1.0 else []),
    )


def _cover(
    laid: list[tuple[Group, dict[tuple[int, int], str], list[Drawing]]], grid: Grid, room: _Room, told: _Told
) -> Sheet:
    high = room.high if room.high is not None else 2 * room.wide
    items, below = column_of(_heading(told), 0.0, high, room.wide)
    side = SQUARE_INCHES * MM_PER_INCH
    beside = room.wide > 2 * side + 110
    top = below - 4
    items += true_square(0.5, top, told.unit)
    items += inch_square(*((side + 8, top) if beside else (0.5, top - side - 5)), _check_lines(room.printer))
    column = 2 * side + 16 if beside else side + 8
    count = sum(len(names) for _, names, _ in laid)
    steps = (
        Line(words="How the sheets join", size=6.0, bold=True),
        *(
            Line(words=words, size=TYPE_MM)
            for words in (
                f"{count} sheets follow this one. Lay them out as in the picture."
                if count > 1
                else "One sheet follows this one.",
                "Cut away the left and the upper edge along the dashed line.",
                "Lay the cut edge on the dotted line of the sheet before. The fine marks must run on without a step.",
                "Tape. Cut the pieces out along the middle of the line.",
            )
        ),
    )
    words, below = column_of(steps, column, top + 1, room.wide - column)
    items += words
    picture = [(names, pieces) for _, names, pieces in laid]
    under = (0.5 if not beside else column, 1.0, room.wide - 1, top - 2 * side - 10)
    rooms = ((column, 1.0, room.wide - 1, below - 5), under)
    cells = [names for names, _ in picture]
    items += assembly_map(picture, grid, max(rooms, key=lambda box: map_scale(cells, grid, box)))
    return room.sheet("first sheet", np.zeros(2), high, items, [])


def _whole_sheets(drawings: Sequence[Drawing], room: _Room, told: _Told) -> tuple[Sheet, ...] | None:
    """Every piece whole on a sheet, the words and test marks on the first; None if a piece is too large for a sheet."""
    panel, fixed = _panel(room, told)
    sheets = lay_whole([drawing.outline for drawing in drawings], (room.wide, room.high), [fixed])
    if sheets is None:
        return None
    made = []
    for number, places in enumerate(sheets):
        pieces = [placed(drawings[i], p.angle_deg, p.shift) for i, p in places.items() if i < len(drawings)]
        lowest = min([float(fixed[:, 1].min()) if number == 0 else 0.0, *(piece.bounds[1] for piece in pieces)])
        high = room.high if room.high is not None else -lowest + 5.0
        items: Items = []
        if len(drawings) in places:
            items = [_shifted(item, places[len(drawings)]) for item in panel]
        lines = () if number == 0 else _whole_sheet_words(number + 1, len(sheets), told, room.printer)
        lines += tuple(_left_out(piece) for piece in pieces if piece.left_out)
        if lines:
            busy = [obstacle for piece in pieces for obstacle in _kept_clear(piece)]
            busy += obstacles_of(items)
            items += _sheet_label(lines, (0.0, -high, room.wide, 0.0), busy)
        made.append(room.sheet(str(number + 1), np.array([0.0, -high]), high, items, pieces))
    return tuple(made)


def _left_out(piece: Drawing) -> Line:
    """What a small piece should say and has no room for, to stand beside it."""
    return Line(words=f"{piece.name}: {'. '.join(piece.left_out)}.", size=TYPE_MM)


def _kept_clear(piece: Drawing) -> list[Obstacle]:
    """The whole of a piece as lines a few millimetres apart, so that a sheet's words stand beside it."""
    shape = Polygon(piece.outline)
    left, bottom, right, top = shape.bounds
    rows = (LineString([(left, y), (right, y)]).intersection(shape) for y in np.arange(bottom, top, 4.0))
    lines = (part for row in rows for part in getattr(row, "geoms", [row]) if isinstance(part, LineString))
    return [(np.array(line.coords), 3.0) for line in lines if not line.is_empty]


def _whole_sheet_words(number: int, count: int, told: _Told, printer: Printer) -> tuple[Line, ...]:
    words = (told.line, printer.short_words)
    return (
        Line(words=f"Sheet {number} of {count}", size=6.0, bold=True),
        *(Line(words=text, size=TYPE_MM) for text in words if text),
    )


def _shifted(item: Path | Text, place: Place) -> Path | Text:
    if isinstance(item, Path):
        return item.moved(lambda points: points + place.shift)
    return replace(item, at=item.at + place.shift)


def _panel(room: _Room, told: _Told) -> tuple[Items, Points]:
    """Title, test marks and, for a reduced scale, a ruler, from (0, 0) rightwards and down; with the outline taken."""
    side = SQUARE_INCHES * MM_PER_INCH
    if told.scale != 1.0 and room.wide < 300:
        return _practice_panel(room, told)
    wide = 2 * side + 10
    items, below = column_of(_heading(told), 0.0, 0.0, wide)
    items += true_square(0.5, below - 4, told.unit)
    items += inch_square(side + 6, below - 4, _check_lines(room.printer))
    below -= side + 8
    if told.scale != 1.0:
        items += scale_ruler(4.0, below - 14, told.scale, 200.0, told.unit)
        below -= 18
    return items, rectangle(0.0, below, wide, 0.0)


def _practice_panel(room: _Room, told: _Told) -> tuple[Items, Points]:
    side = true_side(told.unit)
    words = (
        f"{scale_words(told.scale)}: the ruler reads full-size {'centimetres' if told.unit == 'cm' else 'inches'}.",
        "Print at 100 %, never “Fit to page”. The upright bar is "
        f"{'100 mm (10 cm)' if told.unit == 'cm' else '4 inches'} long on your own ruler, the lying one too.",
        room.printer.words,
    )
    lines = (*_heading(told), *(Line(words=text, size=TYPE_MM) for text in words if text))
    items, below = column_of(lines, 0.0, 0.0, room.wide - 12)
    items += scale_ruler(4.0, below - 15, told.scale, side, told.unit)
    right = room.wide - 5
    items += [
        Path(kind="frame", points=as_points([[right, 0.0], [right, -side]]), name="upright bar"),
        *(Path(kind="frame", points=as_points([[right - 2, y], [right + 2, y]])) for y in (0.0, -side)),
    ]
    low, inner = below - 18, right - 4
    ring = [
        [0.0, 0.0],
        [0.0, low],
        [inner, low],
        [inner, -side - 1],
        [room.wide, -side - 1],
        [room.wide, 0.0],
    ]
    return items, as_points(ring)
