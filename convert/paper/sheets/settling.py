"""A layout on joined sheets moved as a whole, so that joins run where they do least harm.

No join within a finger's breadth of a dart's point, a notch or a corner, and no sheet for a narrow strip, as far as the
same number of sheets allows.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt
from shapely import box

from calibration.ground.points import Points
from convert.paper.draw.drawing import Drawing, turn
from convert.paper.sheets.packing import Grid, Group, laid_shape, sheets_used

CLEAR_MM = 10.0  # between a join and a point that must be met exactly
STRIP_MM = 25.0  # a narrower strip on a sheet of its own is hard to hold and to tape
_REACH_MM, _STEP_MM = 12.0, 4.0  # a tight layout has no more play than this
_TRIED = 48  # places looked at exactly: each takes some milliseconds
_CORNER_RAD = np.deg2rad(30.0)  # the outline bends by more only at a corner (our choice)
_STRIP_WEIGHT = 4.0  # marks that a strip is as bad as (our choice)


def settled(group: Group, outlines: Sequence[Points], marks: Sequence[Points], grid: Grid) -> Group:
    """The group moved to where fewest marks lie near a join and fewest sheets carry a strip only.

    Parameters
    ----------
    outlines, marks
        Of each piece by its number, before it is turned: the ring (N, 2), the points (M, 2) to keep off joins.
    """
    if len(group.used) < 2:
        return group
    at = np.vstack([turn(marks[i], place.angle_deg, place.shift) for i, place in group.places.items()])
    shifts = _shifts()
    near = np.array([near_joins(at + shift, grid) for shift in shifts])
    here = _harm(group, outlines, float(near[0]), grid)
    best, least = group, here
    for k in np.argsort(near, kind="stable")[:_TRIED]:
        if near[k] >= least:
            break
        moved = _moved(group, shifts[k], outlines, grid)
        if len(moved.used) > len(group.used) or max(_reach(moved)) > max(_reach(group)):
            continue
        harm = _harm(moved, outlines, float(near[k]), grid)
        if harm < least:
            best, least = moved, harm
    return best


def near_joins(points: Points, grid: Grid) -> int:
    """How many points lie within :data:`CLEAR_MM` of a line on which sheets are joined."""
    steps = np.array([grid.step_x, grid.step_y])
    away = np.abs(points - steps * np.round(points / steps))
    return int((away.min(1) < CLEAR_MM).sum())


def strips(group: Group, outlines: Sequence[Points], grid: Grid) -> int:
    """How many of the group's sheets carry a strip narrower than :data:`STRIP_MM` only."""
    shapes = [laid_shape(outlines[i], place) for i, place in group.places.items()]
    count = 0
    for row, column in group.used:
        left, bottom, right, top = grid.window(row, column)
        own = box(left, bottom + grid.overlap, right - grid.overlap, top)
        parts = [shape.intersection(own) for shape in shapes if shape.intersects(own)]
        bounds = np.array([part.bounds for part in parts if not part.is_empty])
        if len(bounds):
            size = bounds[:, 2:].max(0) - bounds[:, :2].min(0)
            count += bool(size.min() < STRIP_MM)
    return count


def _shifts() -> npt.NDArray[np.float64]:
    """Shifts to try (N, 2), the one that leaves everything where it is first, small ones before large ones."""
    side = np.arange(-_REACH_MM, _REACH_MM + 1e-9, _STEP_MM)
    every = np.array([(x, y) for x in side for y in side])
    return every[np.argsort(np.hypot(*every.T), kind="stable")]


def _moved(group: Group, shift: Points, outlines: Sequence[Points], grid: Grid) -> Group:
    places = {i: replace(place, shift=place.shift + shift) for i, place in group.places.items()}
    return Group(places=places, used=sheets_used([laid_shape(outlines[i], one) for i, one in places.items()], grid))


def _harm(group: Group, outlines: Sequence[Points], near: float, grid: Grid) -> float:
    return near + _STRIP_WEIGHT * strips(group, outlines, grid)


def _reach(group: Group) -> tuple[int, int]:
    cells = np.array(sorted(group.used))
    rows, columns = np.ptp(cells, axis=0)
    return int(rows), int(columns)


def points_to_meet(drawing: Drawing) -> Points:
    """Points (N, 2) that must be met exactly and so shall lie off the joins: dart points, notches, corners."""
    seam = (drawing.of_kind("stitching") or drawing.of_kind("seam"))[0].points
    steps = np.diff(np.vstack([seam[-1:], seam, seam[:1]]), axis=0)
    ways = np.arctan2(steps[:, 1], steps[:, 0])
    bend = np.abs((np.diff(ways) + np.pi) % (2 * np.pi) - np.pi)
    darts = [path.points for path in (*drawing.of_kind("dart"), *drawing.of_kind("notch"))]
    return np.vstack([seam[bend > _CORNER_RAD], *darts])
