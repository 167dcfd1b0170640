"""Two seam lines laid on one another: where they touch, and where they part."""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString

from calibration.ground.plane import cross, meet, unit
from calibration.ground.points import Points, as_points, frozen, length, lengths_along, nearest_on_line, resample
from convert.piece.outline.meeting import stretch
from convert.piece.piece import EdgeName, Piece
from convert.piece.together.motion import Motion, fitted

STEP_MM = 1.0  # between points at which two seams are compared: 400 on a long seam
FITS_MM = 0.6  # nearer than this two seams touch: twice what tracing leaves on either (95 %)
ROUNDS = 12
SLIDES_MM = 1.5  # so far from where its end and notches say a seam may be slid
GAP_SD_MM, INDEPENDENT_MM = 0.12, 25.0  # of a traced seam line, and how far apart readings of it are independent
PLACE_SD_MM = 0.3  # of a notch or a corner along its seam
PARTS_MM = (2.5, 12.0)  # a gap so wide tells how a dart opens: past a rounded corner, before its legs may bend
STRAIGHT_MM = 0.35  # a dart's leg that bends by less is straight
LEAST_LEG_MM = 35.0
ENDS_MM = 3.0  # at a seam's end its corner may be off
LEAST_OPEN_DEG = 2.0
CORNER_MM = 70.0  # so far about its point the corner of a panel may be rounded (our choice; a bust is no point)
NOTCHES_APART_MM = 12.0  # notches that lie farther apart are not one pair


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seam:
    """A seam line (N, 2) from the end where two parts are laid on one another, its notches as arc lengths (K,)."""

    points: Points
    notches: npt.NDArray[np.float64]

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))
        object.__setattr__(self, "notches", frozen(np.sort(np.asarray(self.notches, float))))

    @property
    def length(self) -> float:
        """Its length."""
        return length(self.points)

    def at(self, along: npt.ArrayLike) -> Points:
        """Points (M, 2) at arc lengths (M,), carried straight on past its ends."""
        s = lengths_along(self.points)
        where = np.asarray(along, float)
        out = np.column_stack([np.interp(where, s, self.points[:, k]) for k in (0, 1)])
        for beyond, tip, inner in ((where < 0, 0, 4), (where > s[-1], -1, -5)):
            if beyond.any() and len(self.points) > 4:
                way = unit(self.points[tip] - self.points[inner])
                out[beyond] = self.points[tip] + np.abs(where[beyond] - s[tip])[:, None] * way
        return out


def seam_of(piece: Piece, name: EdgeName, *, backwards: bool) -> Seam:
    """A part's edge as a seam with its notches; ``backwards`` runs it against the part's own order."""
    points = piece.edge(name).points
    points = points[::-1] if backwards else points
    marks = [m.seam_at if m.seam_at is not None else m.at for m in piece.marks if m.kind == "notch" and m.on == name]
    return Seam(points=points, notches=np.array([nearest_on_line(points, at)[1] for at in marks]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touching:
    """``moving`` laid on ``still``: the motion, the stretch (arc lengths on ``still``) where they touch.

    ``offset`` is what to add to an arc length of ``still`` to find its partner on ``moving``; ``along`` (M,) and
    ``gap`` (M,) are the gap left all along, positive where the parts stand apart, negative where they overlap.
    """

    motion: Motion
    span: tuple[float, float]
    offset: float
    along: npt.NDArray[np.float64]
    gap: npt.NDArray[np.float64]

    @property
    def inside(self) -> npt.NDArray[np.bool_]:
        """Which of ``along`` lie where the parts touch."""
        return (self.along >= self.span[0] - 1e-6) & (self.along <= self.span[1] + 1e-6)


def pairs_of(one: Seam, other: Seam) -> list[tuple[float, float]]:
    """Notches of two seams that belong together, as arc lengths, in order; a notch may stay alone.

    They are paired in their order, so that the distances from one pair to the next agree as well as they can.
    """
    few, many = (one, other) if len(one.notches) <= len(other.notches) else (other, one)
    best: list[tuple[float, float]] = []
    for chosen in itertools.combinations(range(len(many.notches)), len(few.notches)):
        if len(few.notches) == 0 or len(many.notches) > 8:
            break
        pair = list(zip(few.notches, many.notches[list(chosen)], strict=True))
        if not best or _apart(pair) < _apart(best):
            best = pair
    pairs = [(a, b) if few is one else (b, a) for a, b in best]
    return [(float(a), float(b)) for a, b in pairs]


def _apart(pairs: Sequence[tuple[float, float]]) -> float:
    return float(np.sum([(a - b) ** 2 for a, b in pairs]))


def offset_of(still: Seam, moving: Seam, span: tuple[float, float]) -> float:
    """What to add to an arc length of one seam to come to its partner on the other, from the notches in a stretch.

    Without a pair there, the seams begin together.
    """
    offsets = _offsets(still, moving, span)
    return float(np.median(offsets)) if offsets else 0.0


def _offsets(still: Seam, moving: Seam, span: tuple[float, float]) -> list[float]:
    """What each pair of notches in a stretch says of the offset, and the seams' common end."""
    near = [b - a for a, b in pairs_of(still, moving) if span[0] - 1.0 <= a <= span[1] + 1.0]
    near = [gap for gap in near if abs(gap) < NOTCHES_APART_MM]
    return [*([0.0] if span[0] < 1.0 else []), *near]


def touching(still: Seam, moving: Seam, start: tuple[float, float], *, grows: bool = True) -> Touching:
    """Lay ``moving`` on ``still`` where they fit, beginning with a stretch and going on as far as they do.

    How far one seam is slid along the other is what their ends and notches say, and, on a bend, their shape.
    """
    offset = _slid(still, moving, start)
    span = start
    along = np.linspace(0.0, still.length, max(8, int(still.length / STEP_MM)) + 1)
    for _ in range(ROUNDS):
        here = along[(along >= span[0]) & (along <= span[1])]
        motion = fitted(moving.at(here + offset), still.at(here))
        gap = gap_along(still, motion.of(moving.at(along + offset)), along)
        grown = _grown(along, gap, start) if grows else span
        if np.allclose(grown, span):
            break
        span = grown
    return Touching(motion=motion, span=span, offset=offset, along=frozen(along), gap=frozen(gap))


def _slid(still: Seam, moving: Seam, span: tuple[float, float]) -> float:
    """The offset at which a stretch fits best, ends and notches weighed against the gap that is left."""
    said = np.array(_offsets(still, moving, span) or [0.0])
    here = np.linspace(span[0], span[1], max(8, int((span[1] - span[0]) / 2.0)))
    readings = max(1.0, (span[1] - span[0]) / INDEPENDENT_MM)
    best, found = np.inf, 0.0
    for offset in np.median(said) + np.linspace(-SLIDES_MM, SLIDES_MM, 25):
        motion = fitted(moving.at(here + offset), still.at(here))
        gap = gap_along(still, motion.of(moving.at(here + offset)), here)
        cost = readings * float(np.mean(gap**2)) / GAP_SD_MM**2 + float(np.abs(said - offset).sum()) / PLACE_SD_MM
        if cost < best:
            best, found = cost, float(offset)
    return found


def gap_along(still: Seam, there: Points, along: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """How far (M,) points laid beside a seam lie to its left, the outside of the part that lies still."""
    way = still.at(along + 1.0) - still.at(along - 1.0)
    way = way / np.maximum(np.hypot(*way.T), 1e-9)[:, None]
    path, at = LineString(still.points), shapely.points(there)
    feet = shapely.get_coordinates(shapely.line_interpolate_point(path, shapely.line_locate_point(path, at)))
    off = shapely.distance(path, at)
    return np.asarray(np.where(cross(way, there - feet) >= 0, off, -off))


def _grown(
    along: npt.NDArray[np.float64], gap: npt.NDArray[np.float64], start: tuple[float, float]
) -> tuple[float, float]:
    """The stretch round ``start`` over which the gap stays small."""
    fits = np.abs(gap) <= FITS_MM
    first, last = np.searchsorted(along, start[0]), np.searchsorted(along, start[1], side="right") - 1
    while first > 0 and fits[first - 1]:
        first -= 1
    while last < len(along) - 1 and fits[last + 1]:
        last += 1
    return float(along[first]), float(along[last])


def parts_at(laid: Touching, *, below: bool) -> float | None:
    """Where two seams begin to part, as an arc length; None if they do not, or overlap.

    The gap of a dart grows evenly from its point, so the line through the gap past the rounded corner leads back to it.
    """
    own = laid.along > laid.span[1] if below else laid.along < laid.span[0]
    along, gap = laid.along[own], laid.gap[own]
    if len(gap) == 0 or gap[-1 if below else 0] < PARTS_MM[0]:
        return None
    most = max(min(PARTS_MM[1], float(gap.max())), 2.0 * PARTS_MM[0])
    tells = (gap > min(PARTS_MM[0], 0.3 * gap.max())) & (gap <= most)
    near = np.flatnonzero(tells)
    if len(near) < 3:
        return laid.span[1] if below else laid.span[0]
    slope, base = np.polyfit(along[near], gap[near], 1)
    return float(-base / slope) if slope else laid.span[1]


def point_of_dart(one: Points, other: Points, near: Points) -> Points:
    """A dart's point (2,) from its two legs, each (N, 2) from about its point outward to the seam.

    Straight legs meet there, made longer over the rounded corner that sewing needs; bent ones leave it where the seams
    part, which is ``near``.
    """
    ways = [_straight(leg) for leg in (one, other)]
    if ways[0] is None or ways[1] is None:
        return near
    (p, u), (q, v) = ways[0], ways[1]
    angle = np.degrees(np.arccos(np.clip(abs(u @ v), 0.0, 1.0)))
    at = meet(p, u, q, v) if angle > LEAST_OPEN_DEG else None
    return near if at is None or np.hypot(*(at - near)) > CORNER_MM else at


def _straight(leg: Points) -> tuple[Points, Points] | None:
    """The longest straight stretch of a leg from its outer end, as a point and a direction; None if it is short."""
    size = length(leg)
    for rounded in np.arange(0.0, min(CORNER_MM, 0.6 * size), 4.0):
        part = resample(stretch(leg, float(rounded), max(size - ENDS_MM, float(rounded) + STEP_MM)), STEP_MM)
        middle = part.mean(0)
        way = np.linalg.svd(part - middle, full_matrices=False)[2][0]
        off = (part - middle) @ np.array([-way[1], way[0]])
        if np.abs(off).max() < STRAIGHT_MM and len(part) * STEP_MM > LEAST_LEG_MM:
            return middle, way
    return None
