"""What a sheet carries besides the pieces: test squares, guides, alignment marks, the assembly map, words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from calibration.points import Points, as_points
from calibration.units import MM_PER_INCH
from convert.paper.drawing import Drawing, Path, Text, turn
from convert.paper.label import LINE_HEIGHT, Line, Label, set_label, texts_at
from convert.paper.packing import Grid

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
    ticks = [
        Path(
            kind="fine" if n % 5 else "frame",
            points=as_points([[left + n * step, bottom], [left + n * step, bottom + (6 if n % 10 == 0 else 4 if n % 5 == 0 else 2.5)]]),
        )
        for n in range(count + 1)
    ]  # fmt: skip
    marks = [n for n in range(count + 1) if n % 10 == 0]
    numbers = [
        Text(words=f"{n}" if n != marks[-1] else f"{n} cm", at=np.array([left + n * step, bottom + 7.5]), size=TYPE_MM,
             anchor="middle")
        for n in marks
    ]  # fmt: skip
    base = Path(kind="frame", points=as_points([[left, bottom], [left + count * step, bottom]]), name="ruler")
    return [base, *ticks, *numbers]


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
    grid: Grid, cell: tuple[int, int], used: frozenset[tuple[int, int]], names: Mapping[tuple[int, int], str]
) -> Items:
    """Guides of one sheet towards its neighbours, in the plane of the pieces.

    Left and upper edges are cut along the dashed line and laid over the neighbour, whose dotted line they must meet.
    """
    row, column = cell
    left, bottom, right, top = grid.window(row, column)
    inner_right, inner_bottom = right - grid.overlap, bottom + grid.overlap
    items: Items = []
    for x, beside, kind in ((left, (row, column - 1), "trim"), (inner_right, (row, column + 1), "join")):
        if beside in used:
            items.append(Path(kind=kind, points=as_points([[x, bottom], [x, top]]), name=kind))  # type: ignore[arg-type]
            for share in (0.22, 0.78):
                items += alignment_mark(np.array([x, inner_bottom + share * grid.step_y]), 90.0)
    for y, beside, kind in ((top, (row - 1, column), "trim"), (inner_bottom, (row + 1, column), "join")):
        if beside in used:
            items.append(Path(kind=kind, points=as_points([[left, y], [right, y]]), name=kind))  # type: ignore[arg-type]
            for share in (0.22, 0.78):
                items += alignment_mark(np.array([left + share * grid.step_x, y]), 0.0)
    middle = np.array([left + 0.5 * grid.step_x, inner_bottom + 0.5 * grid.step_y])
    if (row, column + 1) in used:
        at = np.array([right - 0.28 * grid.overlap, middle[1]])
        items.append(Text(words=f"{names[row, column + 1]} goes on this strip", at=at, size=TYPE_MM, angle_deg=90.0,
                          anchor="middle"))  # fmt: skip
    if (row + 1, column) in used:
        at = np.array([middle[0], bottom + 0.35 * grid.overlap])
        items.append(Text(words=f"{names[row + 1, column]} goes on this strip", at=at, size=TYPE_MM, anchor="middle"))
    return items


def assembly_map(
    groups: Sequence[tuple[Mapping[tuple[int, int], str], Sequence[Drawing]]], grid: Grid, room: tuple[float, float, float, float]
) -> Items:
    """All joined sheets small, with their names and the pieces on them, in the box ``room`` (left, bottom, right, top)."""
    left, bottom, right, top = room
    gap = 6.0
    extents = [
        ((1 + max(c for _, c in names)) * grid.step_x + grid.overlap, (1 + max(r for r, _ in names)) * grid.step_y + grid.overlap)
        for names, _ in groups
    ]  # fmt: skip
    scale = min(
        (right - left) / max(wide for wide, _ in extents),
        (top - bottom - gap * (len(groups) - 1)) / sum(high for _, high in extents),
        0.12,
    )
    items: Items = []
    below = top
    for (names, drawings), (_, high) in zip(groups, extents, strict=True):
        corner = np.array([left, below])
        for drawing in drawings:
            ring = drawing.of_kind("cut") or drawing.of_kind("seam")
            items.append(Path(kind="seam", points=as_points(ring[0].points * scale + corner), closed=True))
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


def spaced(lines: Sequence[Line], size: float = TYPE_MM) -> tuple[Line, ...]:
    """The lines in one size of type."""
    return tuple(replace(line, size=size) for line in lines)


LINE_STEP_MM = TYPE_MM * LINE_HEIGHT
