"""A block of words, and a free place for it inside an outline."""

from collections.abc import Container, Iterable
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from convert.paper.draw.drawing import Line, Path, Text, turn
from convert.paper.draw.lettering import width, wrap

LINE_HEIGHT = 1.35
CELL_MM = 2.0  # grain of the search for a free place


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Lines of words under one another, with the width and height they take."""

    lines: tuple[Line, ...]
    width: float
    height: float


def set_label(lines: tuple[Line, ...], room: float) -> Label:
    """Break the lines so that none is wider than ``room``, where words allow it."""
    broken = tuple(
        Line(words=part, size=line.size, bold=line.bold)
        for line in lines
        for part in wrap(line.words, line.size, room, line.bold)
    )
    widest = max((width(line.words, line.size, line.bold) for line in broken), default=0.0)
    return Label(lines=broken, width=widest, height=sum(line.size * LINE_HEIGHT for line in broken))


def texts_at(label: Label, left: float, top: float, *, movable: bool = False) -> tuple[Text, ...]:
    """The label's lines, left aligned, with its top left corner at the point given."""
    texts, below = [], top
    for line in label.lines:
        baseline = below - line.size * (0.5 * LINE_HEIGHT + 0.30)
        at = np.array([left, baseline])
        texts.append(Text(words=line.words, at=at, size=line.size, bold=line.bold, movable=movable))
        below -= line.size * LINE_HEIGHT
    return tuple(texts)


def free_room(
    outline: Points, obstacles: list[tuple[Points, float]], *, clear: float
) -> tuple[npt.NDArray[np.uint8], Points]:
    """Cells of :data:`CELL_MM` inside the outline that no obstacle touches.

    Parameters
    ----------
    outline : (N, 2)
    obstacles
        Lines (M, 2), each with the distance to keep from it.
    clear
        Distance to keep from the outline, mm.

    Returns
    -------
    free : (rows, columns) uint8
        1 where free; row 0 is the lowest.
    origin : (2,)
        The lower left corner of cell (0, 0).
    """
    origin = outline.min(0) - 2 * CELL_MM
    columns, rows = np.ceil((outline.max(0) - origin) / CELL_MM).astype(int) + 3

    def cells(points: Points) -> npt.NDArray[np.int32]:
        return np.round((points - origin) / CELL_MM - 0.5).astype(np.int32)

    def thickness(reach: float) -> int:
        return max(1, round(2 * reach / CELL_MM))

    free = np.zeros((rows, columns), np.uint8)
    cv2.fillPoly(free, [cells(outline)], 1)
    cv2.polylines(free, [cells(outline)], True, 0, thickness(clear))
    for line, reach in obstacles:
        cv2.polylines(free, [cells(line)], False, 0, thickness(reach))
    return free, origin


def find_place(free: npt.NDArray[np.uint8], origin: Points, size: tuple[float, float]) -> Points | None:
    """Top left corner (2,) of the roomiest free box of that width and height, or None if there is none."""
    wide, high = (int(np.ceil(side / CELL_MM)) + 1 for side in size)
    if high > free.shape[0] or wide > free.shape[1]:
        return None
    total = cv2.integral(free)
    filled = total[high:, wide:] - total[:-high, wide:] - total[high:, :-wide] + total[:-high, :-wide]
    fits = (filled == wide * high).astype(np.uint8)
    if not fits.any():
        return None
    depth = cv2.distanceTransform(cv2.copyMakeBorder(fits, 1, 1, 1, 1, cv2.BORDER_CONSTANT), cv2.DIST_L2, 3)
    row, column = np.unravel_index(int(np.argmax(depth[1:-1, 1:-1])), fits.shape)
    return origin + np.array([column + 0.5, row + high - 0.5]) * CELL_MM


Obstacle = tuple[Points, float]
SLACK = 1.06  # room for another typeface where ours is not installed


def obstacles_of(items: Iterable[Path | Text], *, ignore: Container[str] = (), clear: float = 2.5) -> list[Obstacle]:
    """Lines and words as obstacles, each with the distance to keep; kinds of line in ``ignore`` left out."""
    kept: list[Obstacle] = []
    for item in items:
        if isinstance(item, Text):
            end = np.array([width(item.words, item.size, item.bold), 0.0])
            start = {"start": 0.0, "middle": -0.5, "end": -1.0}[item.anchor] * end
            up = np.array([0.0, 0.35 * item.size])
            kept.append((turn(np.array([start + up, start + end + up]), item.angle_deg, item.at), 0.8 * item.size))
        elif item.kind not in ignore:
            kept.append((np.vstack([item.points, item.points[:1]]) if item.closed else item.points, clear))
    return kept


def place_label(
    lines: tuple[Line, ...],
    outline: Points,
    obstacles: list[Obstacle],
    *,
    shrinks: tuple[float, ...],
    rooms: tuple[float, ...] = (110.0, 90.0, 75.0, 60.0, 48.0),
    clear: float = 4.0,
) -> tuple[Text, ...] | None:
    """The lines in the roomiest free place inside the outline, in the largest type that fits; None if none does."""
    free, origin = free_room(outline, obstacles, clear=clear)
    for shrink in shrinks:
        smaller = tuple(Line(words=line.words, size=line.size * shrink, bold=line.bold) for line in lines)
        for room in rooms:
            label = set_label(smaller, room * max(shrink, 0.8))
            corner = find_place(free, origin, (label.width * SLACK, label.height))
            if corner is not None:
                return texts_at(label, float(corner[0]), float(corner[1]), movable=True)
    return None
