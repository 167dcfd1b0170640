"""What a sheet carries besides the pieces: test squares, guides, alignment marks, the assembly map, words."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from shapely import LineString

from calibration.ground.points import Points, as_points
from calibration.ground.units import MM_PER_INCH
from convert.paper.draw.drawing import Drawing, Line, LineKind, Path, Text, turn
from convert.paper.draw.label import Label, Obstacle, obstacles_of, set_label, texts_at
from convert.paper.draw.lettering import width
from convert.paper.sheets.packing import Grid

SQUARE_MM = 100.0
SQUARE_INCHES = 4.0
TYPE_MM = 4.4  # 12.5 point
Items = list[Path | Text]


def rectangle(left: float, bottom: float, right: float, top: float) -> Points:
    """The four corners, counter-clockwise."""
    return as_points([[left, bottom], [right, bottom], [right, top], [left, top]])


def metric_square(left: float, top: float) -> Items:
    """A 100 mm square with a 100 mm bar across it at 45 degrees, so that unequal shrinking shows."""
    middle = np.array([left + SQUARE_MM / 2, top - SQUARE_MM / 2])
    half = SQUARE_MM / 2
    bar = as_points(turn(np.array([[-half, 0.0], [half, 0.0]]), 45.0, middle))
    ends = [as_points(turn(np.array([[x, -3.0], [x, 3.0]]), 45.0, middle)) for x in (-half, half)]
    return [
        Path(kind="frame", points=rectangle(left, top - SQUARE_MM, left + SQUARE_MM, top), closed=True, name="100 mm"),
        Path(kind="frame", points=bar, name="100 mm bar"),
        *(Path(kind="frame", points=end) for end in ends),
        *texts_at(
            set_label((Line(words="100 mm", size=9.0, bold=True), Line(words="(10 cm) each way", size=TYPE_MM)), 60),
            left + 5, top - 5,
        ),
        Text(words="slanted bar: 100 mm too", at=np.array([left + 96, top - 94]), size=TYPE_MM, anchor="end"),
    ]  # fmt: skip


def inch_square(left: float, top: float, lines: Sequence[Line]) -> Items:
    """A 4 inch square with words in it."""
    side = SQUARE_INCHES * MM_PER_INCH
    head = Line(words="4 inches each way", size=7.0, bold=True)
    return [
        Path(kind="frame", points=rectangle(left, top - side, left + side, top), closed=True, name="4 inches"),
        *texts_at(set_label((head, *lines), side - 10), left + 5, top - 4),
    ]


def scale_ruler(left: float, bottom: float, scale: float, reach: float) -> Items:
    """A ruler that reads full-size centimetres on a drawing at ``scale``; ``reach`` is its length on this paper."""
    step = 10.0 * scale
    count = int(reach / step + 1e-9)
    items: Items = [Path(kind="frame", points=as_points([[left, bottom], [left + count * step, bottom]]), name="ruler")]
    for n in range(count + 1):
        high = 6.0 if n % 10 == 0 else 4.0 if n % 5 == 0 else 2.5
        at = np.array([left + n * step, bottom])
        items.append(Path(kind="fine" if n % 5 else "frame", points=as_points([at, at + [0.0, high]])))
        if n % 10 == 0:
            items.append(Text(words=str(n), at=at + [0.0, 7.5], size=TYPE_MM, anchor="middle"))
    items.append(Text(words="cm", at=np.array([left + count * step + 5.0, bottom + 7.5]), size=TYPE_MM))
    return items


def alignment_mark(at: Points, angle_deg: float) -> Items:
    """A mark across a join whose direction is ``angle_deg`` (90 for an upright join).

    A line square to the join and two slanted ones break where the sheets slip either way; lines half a millimetre apart
    along the join show by how much.
    """
    parts = [np.array([[0.0, -6.0], [0.0, 6.0]])]
    parts += [np.array([[-s * 4.0, -4.0], [s * 4.0, 4.0]]) for s in (1.0, -1.0)]
    parts += [np.array([[x, y], [x + 3.0, y]]) for x in (-6.0, 3.0) for y in (-1.0, -0.5, 0.5, 1.0)]
    return [Path(kind="fine", points=as_points(turn(part, angle_deg, at)), name="alignment mark") for part in parts]


def join_guides(
    grid: Grid, cell: tuple[int, int], names: Mapping[tuple[int, int], str], busy: Sequence[Obstacle]
) -> Items:
    """Guides of one sheet towards its neighbours, in the plane of the pieces.

    Left and upper edges are cut along the dashed line and laid over the neighbour, whose dotted line they must meet.
    ``busy`` are the lines that the words must keep clear of.
    """
    row, column = cell
    left, bottom, right, top = grid.window(row, column)
    inner_right, inner_bottom = right - grid.overlap, bottom + grid.overlap
    items: Items = []
    for x, beside, kind in ((left, (row, column - 1), TRIM), (inner_right, (row, column + 1), JOIN)):
        if beside in names:
            items.append(Path(kind=kind, points=as_points([[x, bottom], [x, top]])))
            for share in (0.22, 0.78):
                items += alignment_mark(np.array([x, inner_bottom + share * grid.step_y]), 90.0)
            words, at = _guide_words(kind, names[beside]), x + (5.0 if kind == TRIM else 0.7 * grid.overlap)
            items += _along(words, as_points([[at, inner_bottom], [at, top]]), [*busy, *obstacles_of(items)])
    for y, beside, kind in ((top, (row - 1, column), TRIM), (inner_bottom, (row + 1, column), JOIN)):
        if beside in names:
            items.append(Path(kind=kind, points=as_points([[left, y], [right, y]])))
            for share in (0.22, 0.78):
                items += alignment_mark(np.array([left + share * grid.step_x, y]), 0.0)
            words, at = _guide_words(kind, names[beside]), y - (5.0 if kind == TRIM else 0.65 * grid.overlap)
            items += _along(words, as_points([[left, at], [inner_right, at]]), [*busy, *obstacles_of(items)])
    return items


TRIM: LineKind = "trim"
JOIN: LineKind = "join"


def _guide_words(kind: LineKind, beside: str) -> str:
    return f"cut here, lay on {beside}" if kind == TRIM else f"{beside} goes on this strip"


def _along(words: str, line: Points, busy: Sequence[Obstacle]) -> Items:
    """Words along a straight line, slid to where they are clear of ``busy``; left out where there is no such place."""
    need, angle = width(words, TYPE_MM), 0.0 if line[0, 1] == line[1, 1] else 90.0
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    room = float(np.hypot(*(line[1] - line[0])))
    blocks = [LineString(points).buffer(reach) for points, reach in busy if len(points) > 1]
    for share in (0.5, 0.38, 0.62, 0.1, 0.9, 0.3, 0.7, 0.05, 0.95):
        start = line[0] + way * (share * room - need / 2)
        stretch = LineString([start, start + way * need])
        inside = share * room - need / 2 > 2.0 and share * room + need / 2 < room - 2.0
        if inside and not any(block.intersects(stretch) for block in blocks):
            return [Text(words=words, at=start, size=TYPE_MM, angle_deg=angle)]
    return []


MAP_GAP_MM = 6.0
MAP_LARGEST = 0.17


def _extent(cells: Iterable[tuple[int, int]], grid: Grid) -> tuple[float, float]:
    rows, columns = zip(*cells, strict=True)
    return (1 + max(columns)) * grid.step_x + grid.overlap, (1 + max(rows)) * grid.step_y + grid.overlap


def map_scale(
    groups: Sequence[Iterable[tuple[int, int]]], grid: Grid, room: tuple[float, float, float, float]
) -> float:
    """The scale at which an assembly map of the groups of sheets fits into a box."""
    left, bottom, right, top = room
    extents = [_extent(cells, grid) for cells in groups]
    across = (right - left) / max(wide for wide, _ in extents)
    down = (top - bottom - MAP_GAP_MM * (len(groups) - 1)) / sum(high for _, high in extents)
    return max(0.0, min(across, down, MAP_LARGEST))


def assembly_map(
    groups: Sequence[tuple[Mapping[tuple[int, int], str], Sequence[Drawing]]],
    grid: Grid,
    room: tuple[float, float, float, float],
) -> Items:
    """All joined sheets small, with their names and pieces, in the box ``room`` (left, bottom, right, top)."""
    left, _, _, top = room
    scale, gap = map_scale([names for names, _ in groups], grid, room), MAP_GAP_MM
    extents = [_extent(names, grid) for names, _ in groups]
    items: Items = []
    below = top
    for (names, drawings), (_, high) in zip(groups, extents, strict=True):
        corner = np.array([left, below])
        for drawing in drawings:
            ring = drawing.of_kind("cut") or drawing.of_kind("seam")
            items.append(Path(kind="fine", points=as_points(ring[0].points * scale + corner), closed=True))
        for (row, column), name in names.items():
            a, _, _, d = grid.window(row, column)
            box = np.array([a, d - grid.step_y, a + grid.step_x, d]) * scale + np.tile(corner, 2)
            items.append(Path(kind="frame", points=rectangle(*box), closed=True, name=f"sheet {name}"))
            size = float(np.clip(0.42 * grid.step_x * scale, 2.6, 6.0))
            items.append(Text(words=name, at=box[[0, 3]] + [0.12 * size, -0.9 * size], size=size, bold=True))
        below -= high * scale + gap
    return items


def column_of(lines: Sequence[Line], left: float, top: float, room: float) -> tuple[Items, float]:
    """Lines of words under one another; also the height where they end."""
    label: Label = set_label(tuple(lines), room)
    return list(texts_at(label, left, top)), top - label.height
