"""A piece slashed and spread or lapped, as it lies on the table: its parts, paper put in between, where they overlap.

The moves blend the edges that a slash crosses; here the parts are laid as a cutter lays them before blending: each as a
stiff piece of paper, where the outline far from the slash says it went.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Point, Polygon, contains_xy
from shapely.affinity import affine_transform
from shapely.geometry.base import BaseGeometry
from shapely.ops import polygonize, unary_union

from calibration.ground.points import Points
from convert.block.block import Move

_BEYOND_MM = 12.0  # a cut is carried on a little, so that it surely parts the paper, a folded dart’s peak too
_LEAST_PART = 0.01  # of the piece: smaller cuttings are none
_FAR = 0.6  # of the way from the slash to the farthest point: beyond, a part shows where it went
_STIFF = 0.2  # of the largest shift: a part that fits its new place worse than this was bent, not moved
_MOVED_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slashed:
    """Parts of the paper where they lie after a move, how far each went (2,); paper added, paper lapped or cut off."""

    parts: tuple[Polygon, ...]
    shifts: tuple[Points, ...]
    added: BaseGeometry
    lapped: BaseGeometry


def slashed(move: Move) -> Slashed | None:
    """How a move's paper lies, or None where nothing is slashed through (an edge drawn anew, a part bent)."""
    before, after = move.before.seam_line, move.after.seam_line
    if before.shape != after.shape:
        return None
    whole = Polygon(before).buffer(0)
    cuts = [_carried_on(cut) for cut in move.cuts if 2 <= len(cut) <= 6]
    faces = [
        face
        for face in polygonize(unary_union([LineString(whole.exterior), *cuts]))
        if face.area > _LEAST_PART * whole.area and whole.contains(face.representative_point())
    ]
    if len(faces) < 2:
        return None
    laid = [_laid(face, cuts, before, after, turns=len(move.hinges) > 0) for face in faces]
    if any(one is None for one in laid):
        return None
    parts = tuple(one[0] for one in laid if one is not None)
    shifts = tuple(one[1] for one in laid if one is not None)
    largest = max(float(np.hypot(*shift)) for shift in shifts)
    off = max(one[2] for one in laid if one is not None)
    if largest < _MOVED_MM or off > max(0.3, _STIFF * largest):
        return None
    now, together = Polygon(after).buffer(0), unary_union(parts)
    over = [a.intersection(b) for i, a in enumerate(parts) for b in parts[i + 1 :]]
    return Slashed(
        parts=parts,
        shifts=shifts,
        added=now.difference(together),
        lapped=unary_union([*over, together.difference(now)]),
    )


def _carried_on(cut: Points) -> LineString:
    line = np.array(cut)
    first, last = line[0] - line[1], line[-1] - line[-2]
    first, last = (way / max(float(np.hypot(*way)), 1e-9) * _BEYOND_MM for way in (first, last))
    return LineString(np.vstack([line[0] + first, line[1:-1], line[-1] + last]))


def _laid(
    face: Polygon, cuts: Sequence[LineString], before: Points, after: Points, *, turns: bool
) -> tuple[Polygon, Points, float] | None:
    """A part in its new place, the shift of its middle, and how badly it fits there."""
    near = face.buffer(0.2)
    mine = np.flatnonzero(contains_xy(near, before[:, 0], before[:, 1]))
    if len(mine) < 8:
        return None
    away = np.array([min(cut.distance(Point(before[i])) for cut in cuts) for i in mine[::4]])
    far = mine[::4][away >= _FAR * away.max()]
    old, new = before[far], after[far]
    turn, shift = np.eye(2), np.median(new - old, axis=0)
    if turns:
        stiff = _turned_fit(old, new)
        if _misfit(old, new, *stiff) < 0.7 * _misfit(old, new, turn, shift):
            turn, shift = stiff
    moved = affine_transform(face, [turn[0, 0], turn[1, 0], turn[0, 1], turn[1, 1], shift[0], shift[1]])
    middle = np.array(face.centroid.coords[0])
    return moved, middle @ turn + shift - middle, _misfit(old, new, turn, shift)


def _turned_fit(old: Points, new: Points) -> tuple[Points, Points]:
    """Rotation (2, 2) and shift (2,) that lay points on points best."""
    left, _, right = np.linalg.svd((old - old.mean(0)).T @ (new - new.mean(0)))
    turn = left @ np.diag([1.0, np.sign(np.linalg.det(left @ right))]) @ right
    return turn, new.mean(0) - old.mean(0) @ turn


def _misfit(old: Points, new: Points, turn: Points, shift: Points) -> float:
    """How far off most of the points lie."""
    return float(np.percentile(np.hypot(*(old @ turn + shift - new).T), 70))
