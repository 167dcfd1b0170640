"""A piece slashed and spread or lapped, as it lies on the table: its parts, paper put in between, where they overlap.

The moves blend the edges that a slash crosses; here the parts are laid as a cutter lays them before blending: each as a
stiff piece of paper, where the outline far from the slash says it went.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import LineString, Polygon, contains_xy, distance, line_merge, points, prepare
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
PARALLEL_MM = (
    1.0  # two ends of a cut that gape alike within this gape by one amount: a millimetre is a pencil line's play
)
HINGE_MM = 1.5  # parts that meet within this turn about a hinge: what a strip of tape holds together
_LEAST_CUT_MM = 15.0  # a shorter stretch between two parts is where cuts meet, no cut


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opening:
    """One cut between two parts after the move: its ends (2, 2) midway between the parts, how far each gapes, mm."""

    ends: Points
    gaps: tuple[float, float]

    @property
    def flat(self) -> bool:
        """Whether it can be laid by hand: opened by one amount all along, or about a hinge at one end."""
        return abs(self.gaps[0] - self.gaps[1]) <= PARALLEL_MM or min(self.gaps) <= HINGE_MM

    @property
    def hinge(self) -> Points | None:
        """The end (2,) that the parts turn about, None where they part by one amount."""
        if abs(self.gaps[0] - self.gaps[1]) <= PARALLEL_MM:
            return None
        return np.asarray(self.ends[int(np.argmin(self.gaps))])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slashed:
    """Parts of the paper where they lie after a move, how far each went (2,); paper added, paper lapped or cut off."""

    parts: tuple[Polygon, ...]
    shifts: tuple[Points, ...]
    added: BaseGeometry
    lapped: BaseGeometry
    openings: tuple[Opening, ...] = ()

    @property
    def flat(self) -> bool:
        """Whether all of it lies flat on the table as a cutter can lay it."""
        return all(one.flat for one in self.openings)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stiff:
    """A stiff part's way: ``points @ turn + shift``."""

    turn: Points
    shift: Points

    def of(self, points: Points) -> Points:
        """Points (N, 2) carried along."""
        return np.asarray(points @ self.turn + self.shift)

    def laid(self, face: Polygon) -> Polygon:
        """A part carried along."""
        turn, shift = self.turn, self.shift
        return affine_transform(face, [turn[0, 0], turn[1, 0], turn[0, 1], turn[1, 1], shift[0], shift[1]])


def slashed(move: Move) -> Slashed | None:
    """How a move's paper lies, or None where nothing is slashed through (an edge drawn anew, a part bent)."""
    before, after = move.before.seam_line, move.after.seam_line
    if before.shape != after.shape:
        return None
    cuts = [_carried_on(cut) for cut in move.cuts if 2 <= len(cut) <= 6]
    faces = parts_of(before, cuts)
    if len(faces) < 2:
        return None
    laid = [_laid(face, cuts, before, after, turns=len(move.hinges) > 0) for face in faces]
    if any(one is None for one in laid):
        return None
    ways = [one[0] for one in laid if one is not None]
    found = laid_out(faces, ways, after)
    largest = max(float(np.hypot(*shift)) for shift in found.shifts)
    off = max(one[1] for one in laid if one is not None)
    return None if largest < _MOVED_MM or off > max(0.3, _STIFF * largest) else found


def parts_of(outline: Points, cuts: Sequence[LineString]) -> list[Polygon]:
    """The parts that an outline (N, 2) falls into along cuts."""
    whole = Polygon(outline).buffer(0)
    return [
        face
        for face in polygonize(unary_union([LineString(whole.exterior), *cuts]))
        if face.area > _LEAST_PART * whole.area and whole.contains(face.representative_point())
    ]


def laid_out(faces: Sequence[Polygon], ways: Sequence[Stiff], after: Points) -> Slashed:
    """Parts laid in their new places, each gone its own way, under the outline ``after`` (N, 2)."""
    parts = tuple(way.laid(face) for face, way in zip(faces, ways, strict=True))
    middles = [np.array(face.centroid.coords) for face in faces]
    now, together = Polygon(after).buffer(0), unary_union(parts)
    over = [a.intersection(b) for i, a in enumerate(parts) for b in parts[i + 1 :]]
    return Slashed(
        parts=parts,
        shifts=tuple((way.of(middle) - middle)[0] for way, middle in zip(ways, middles, strict=True)),
        added=now.difference(together),
        lapped=unary_union([*over, together.difference(now)]),
        openings=_openings(faces, ways),
    )


def _openings(faces: Sequence[Polygon], ways: Sequence[Stiff]) -> tuple[Opening, ...]:
    """Each cut between two parts that part or lap."""
    out = []
    for i, a in enumerate(faces):
        for j in range(i + 1, len(faces)):
            shared = _shared(a, faces[j])
            if shared is None:
                continue
            one, other = ways[i].of(shared), ways[j].of(shared)
            gaps = np.hypot(*(one - other).T)
            if gaps.max() >= _MOVED_MM:
                out.append(Opening(ends=(one + other) / 2, gaps=(float(gaps[0]), float(gaps[1]))))
    return tuple(out)


def _shared(a: Polygon, b: Polygon) -> Points | None:
    """The two ends (2, 2) of the line along which two parts lie side by side; None where they only touch."""
    line = a.boundary.intersection(b.buffer(0.01))
    pieces = line_merge(line) if line.geom_type != "LineString" else line
    longest = max((part for part in getattr(pieces, "geoms", [pieces])), key=lambda part: part.length)
    return None if longest.length < _LEAST_CUT_MM else np.array(longest.coords)[[0, -1]]


def _carried_on(cut: Points) -> LineString:
    line = np.array(cut)
    first, last = line[0] - line[1], line[-1] - line[-2]
    first, last = (way / max(float(np.hypot(*way)), 1e-9) * _BEYOND_MM for way in (first, last))
    return LineString(np.vstack([line[0] + first, line[1:-1], line[-1] + last]))


def _laid(
    face: Polygon, cuts: Sequence[LineString], before: Points, after: Points, *, turns: bool
) -> tuple[Stiff, float] | None:
    """A part's way to its new place, and how badly it fits there."""
    near = face.buffer(0.2)
    prepare(near)
    mine = np.flatnonzero(contains_xy(near, before[:, 0], before[:, 1]))
    if len(mine) < 8:
        return None
    away = distance(np.array(cuts)[:, None], points(before[mine[::4]])).min(0)
    far = mine[::4][away >= _FAR * away.max()]
    old, new = before[far], after[far]
    turn, shift = np.eye(2), np.median(new - old, axis=0)
    if turns:
        stiff = _turned_fit(old, new)
        if _misfit(old, new, *stiff) < 0.7 * _misfit(old, new, turn, shift):
            turn, shift = stiff
    return Stiff(turn=turn, shift=shift), _misfit(old, new, turn, shift)


def _turned_fit(old: Points, new: Points) -> tuple[Points, Points]:
    """Rotation (2, 2) and shift (2,) that lay points on points best."""
    left, _, right = np.linalg.svd((old - old.mean(0)).T @ (new - new.mean(0)))
    turn = left @ np.diag([1.0, np.sign(np.linalg.det(left @ right))]) @ right
    return turn, new.mean(0) - old.mean(0) @ turn


def _misfit(old: Points, new: Points, turn: Points, shift: Points) -> float:
    """How far off most of the points lie."""
    return float(np.percentile(np.hypot(*(old @ turn + shift - new).T), 70))
