"""What was read of a piece, put right by what was told of it: told always wins."""

from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from shapely.geometry import LinearRing, Polygon
from shapely.validation import explain_validity

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_points, closed, lengths_along, nearest_on_line, signed_area
from convert.trace.told.hand_drawn import smooth_line, smooth_ring_through, told_corners, without_repeats
from convert.trace.tracing import TracedLine, TracedMark, Tracing

POINTED_MM = 6.0
"""As near as a hand points at a mark on a screen."""
LINE_MM = 4.0
"""As near as it points at a line."""
# half-width of the 95 % interval of a line told on a screen: our choice, because a screen shows about 2 px for each mm
TOLD_MM = 0.5
_JOINS_MM = 2.5  # a stretch that ends nearer to the outline runs into it
_AT_CORNER_MM = 2.5  # and into its corner, if one is so near
_MOUTH_MM = 12.0  # a notch told no further from the outline stands in it
_HOLE_MM = 4.0  # a punched hole, where none was read to compare: our choice, because nobody states their width
_SHARED = 0.2
_SMALLEST_MM2 = 100.0
_SETTLED = ("runs-off", "pieces-touch", "crosses-itself")  # doubts that end where the outline was told


def _none() -> Points:
    return np.zeros((0, 2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corrections:
    """What is told of one piece's tracing, all points (N, 2) in mat mm; None where nothing was said.

    Attributes
    ----------
    outline
        The whole cut line, as a ring of points in order.
    parts
        Stretches (N, 2) of the cut line, each in place of what was traced between its two ends, the shorter way round.
    corners
        Its true corners. Without them a point told is a corner where the line turns by 40 degrees.
    notches, holes
        All there are, in place of those that were read.
    add_notches, add_holes
        Some that were not read.
    remove
        Places of things that were read but are not there: see :func:`corrected`.
    """

    outline: Points | None = None
    parts: tuple[Points, ...] = ()
    corners: Points | None = None
    notches: Points | None = None
    add_notches: Points = field(default_factory=_none)
    holes: Points | None = None
    add_holes: Points = field(default_factory=_none)
    remove: Points = field(default_factory=_none)

    def __post_init__(self) -> None:
        for name in ("outline", "corners", "notches", "add_notches", "holes", "add_holes", "remove"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, as_points(getattr(self, name)))
        object.__setattr__(self, "parts", tuple(as_points(part) for part in self.parts))

    @property
    def of_outline(self) -> bool:
        """Whether anything is told of the outline."""
        return self.outline is not None or bool(self.parts) or self.corners is not None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Ring:
    """An outline with what is known of each of its points."""

    points: Points
    corner: npt.NDArray[np.bool_]
    inferred: npt.NDArray[np.bool_]
    told: npt.NDArray[np.bool_]


def corrected(tracing: Tracing, said: Corrections) -> Tracing:
    """The tracing with what was told in place of what was read; told things bear the evidence ``told``.

    Each point of ``remove`` takes out the nearest mark within 6 mm, or, if there is none, the nearest printed line
    within 4 mm. (A dart goes when its point is removed: see :func:`convert.piece.darts.find_darts`.)

    Raises
    ------
    InputError
        If the outline as told is none: too few points, or it crosses itself.
    """
    marks, lines = _without(tracing, said.remove)
    if said.of_outline:
        tracing = _outlined(tracing, said)
    marks = _replaced(marks, "notch", said.notches, said.add_notches, tracing.outline)
    marks = _replaced(marks, "hole", said.holes, said.add_holes, tracing.outline)
    return replace(tracing, marks=marks, lines=lines)


def told_alone(said: Corrections) -> Tracing:
    """A tracing of nothing but what was told, where nothing could be read.

    Raises
    ------
    InputError
        If the outline as told is none.
    """
    ring = _whole(said)
    bare = Tracing(
        outline=ring.points, corners=np.flatnonzero(ring.corner), inferred=ring.inferred, uncertainty_mm=TOLD_MM
    )
    return corrected(replace(bare, told=ring.told), replace(said, outline=None, parts=(), corners=None))


def meant_by(outline: Points, tracings: tuple[Tracing, ...]) -> Tracing | None:
    """The tracing that shares most with an outline told, or None if none shares a fifth of it."""
    own = Polygon(outline).buffer(0)
    shares = [own.intersection(Polygon(one.outline).buffer(0)).area / max(own.area, 1e-9) for one in tracings]
    return tracings[int(np.argmax(shares))] if shares and max(shares) > _SHARED else None


# ---------------------------------------------------------------- outline


def _outlined(tracing: Tracing, said: Corrections) -> Tracing:
    corner = np.zeros(len(tracing.outline), bool)
    corner[tracing.corners] = True
    told = np.zeros(len(corner), bool) if tracing.told is None else tracing.told
    ring = _Ring(points=tracing.outline, corner=corner, inferred=tracing.inferred, told=told)
    if said.outline is not None:
        ring = _whole(said)
    for part in said.parts:
        ring = _with_part(ring, part, said.corners)
    ring = _with_corners(ring, said.corners)
    _check(ring.points)
    new = said.outline is not None or bool(said.parts)
    whole = tracing.complete or (new and not (ring.inferred & ~ring.told).any())
    return replace(
        tracing,
        outline=ring.points,
        corners=np.flatnonzero(ring.corner),
        inferred=ring.inferred,
        told=ring.told,
        complete=whole,
        uncertainty_mm=max(tracing.uncertainty_mm, TOLD_MM) if said.outline is not None else tracing.uncertainty_mm,
        notes=tuple(note for note in tracing.notes if not (whole and note.code in _SETTLED)),
    )


def _whole(said: Corrections) -> _Ring:
    """The ring through all of the outline's points."""
    points = without_repeats(_none() if said.outline is None else said.outline)
    if len(points) > 1 and np.allclose(points[0], points[-1], atol=0.05):
        points = points[:-1]
    if len(points) < 3:
        raise InputError(
            f"The outline told has {len(points)} points.", "Tell at least three, in order round the piece."
        )
    if signed_area(points) < 0:
        points = points[::-1]
    ring, corners = smooth_ring_through(points, _corners_of(points, said.corners, ring=True))
    flags = np.zeros(len(ring), bool)
    flags[corners] = True
    return _Ring(points=ring, corner=flags, inferred=np.zeros(len(ring), bool), told=np.ones(len(ring), bool))


def _corners_of(points: Points, corners: Points | None, *, ring: bool) -> npt.NDArray[np.int64]:
    """Which of the points told are corners: those told as such, or those where the line turns sharply."""
    if corners is None:
        return told_corners(points, ring=ring)
    gaps = np.hypot(*(points[:, None] - corners[None]).transpose(2, 0, 1)).reshape(len(points), -1)
    nearest = np.unique(gaps.argmin(0)) if len(corners) else np.zeros(0, np.int64)
    return np.asarray([k for k in nearest if gaps[k].min() <= POINTED_MM], np.int64)


def _with_part(ring: _Ring, part: Points, corners: Points | None) -> _Ring:
    """The ring with a told stretch in place of what lay between its ends, the shorter way round."""
    part = without_repeats(part)
    if len(part) < 2:
        raise InputError("A stretch of the outline was told by one point.", "Tell where it begins and where it ends.")
    start, end = (_foot(ring, point) for point in (part[0], part[-1]))
    along, n = lengths_along(closed(ring.points)), len(ring.points)
    if (along[end] - along[start]) % along[-1] > along[-1] / 2:
        start, end, part = end, start, part[::-1]
    if start == end:
        raise InputError(
            "A stretch of the outline was told whose two ends lie at one place.",
            "Tell the whole outline, or a stretch from one place on it to another.",
        )
    a, b = ring.points[start], ring.points[end]
    near = [np.hypot(*(told - foot)) <= _JOINS_MM for told, foot in ((part[0], a), (part[-1], b))]
    line = np.vstack([a, part[1 if near[0] else 0 : len(part) - 1 if near[1] else len(part)], b])
    reach = max(1, round(5.0 / 0.5))
    before = None if ring.corner[start] or not near[0] else ring.points[(start - reach) % n]
    after = None if ring.corner[end] or not near[1] else ring.points[(end + reach) % n]
    fresh, turns = _through(line, _corners_of(line, corners, ring=False), before, after)
    keep = np.arange(end, end + (start - end) % n + 1) % n
    inner = len(fresh) - 2
    corner = np.concatenate([ring.corner[keep], turns[1:-1]])
    corner[0], corner[len(keep) - 1] = corner[0] or not near[1], corner[len(keep) - 1] or not near[0]
    return _Ring(
        points=np.vstack([ring.points[keep], fresh[1:-1]]),
        corner=corner,
        inferred=np.concatenate([ring.inferred[keep], np.zeros(inner, bool)]),
        told=np.concatenate([ring.told[keep], np.ones(inner, bool)]),
    )


def _through(
    line: Points, corners: npt.NDArray[np.int64], before: Points | None, after: Points | None
) -> tuple[Points, npt.NDArray[np.bool_]]:
    """An open line smoothly through its points but for its corners, and which points of it are these."""
    stops = sorted({0, *(int(k) for k in corners), len(line) - 1})
    runs = []
    for a, b in pairwise(stops):
        first, last = before if a == 0 else None, after if b == len(line) - 1 else None
        runs.append(smooth_line(line[a : b + 1], before=first, after=last))
    points = np.vstack([runs[0], *(run[1:] for run in runs[1:])])
    flags = np.zeros(len(points), bool)
    flags[np.cumsum([len(run) - 1 for run in runs])[:-1]] = True
    return points, flags


def _foot(ring: _Ring, point: Points) -> int:
    """The outline's point nearest to where a stretch ends; its corner, if one lies there."""
    gaps = np.hypot(*(ring.points - point).T)
    at = int(gaps.argmin())
    corners = np.flatnonzero(ring.corner)
    if len(corners):
        near = corners[np.hypot(*(ring.points[corners] - ring.points[at]).T).argmin()]
        if np.hypot(*(ring.points[near] - ring.points[at])) <= _AT_CORNER_MM:
            return int(near)
    return at


def _with_corners(ring: _Ring, corners: Points | None) -> _Ring:
    """Told corners are corners wherever they lie on the outline."""
    if corners is None:
        return ring
    flags = ring.corner.copy()
    for corner in corners:
        gaps = np.hypot(*(ring.points - corner).T)
        if gaps.min() <= POINTED_MM and not flags[gaps <= 1.0].any():
            flags[gaps.argmin()] = True
    return replace(ring, corner=flags)


def _check(points: Points) -> None:
    line = LinearRing(points)
    if not line.is_simple:
        said = explain_validity(line)
        raise InputError(
            f"The outline as told crosses itself ({said.lower()}, mm on the mat).",
            "Move its points so that they follow each other round the piece.",
        )
    if abs(signed_area(points)) < _SMALLEST_MM2:
        raise InputError("The outline as told encloses nothing.", "Tell its points in order round the piece.")


# ---------------------------------------------------------------- marks and lines


def _without(tracing: Tracing, remove: Points) -> tuple[tuple[TracedMark, ...], tuple[TracedLine, ...]]:
    marks, lines = list(tracing.marks), list(tracing.lines)
    for point in remove:
        gaps = [_mark_gap(mark, point) for mark in marks]
        if gaps and min(gaps) <= POINTED_MM:
            marks.pop(int(np.argmin(gaps)))
            continue
        away = [nearest_on_line(line.points, point)[2] if len(line.points) > 1 else np.inf for line in lines]
        if away and min(away) <= LINE_MM:
            lines.pop(int(np.argmin(away)))
    return tuple(marks), tuple(lines)


def _mark_gap(mark: TracedMark, point: Points) -> float:
    """Distance of a point from a mark: its mouth, its tip or what lies between them."""
    if mark.tip is None:
        return float(np.hypot(*(mark.at - point)))
    return nearest_on_line(np.array([mark.at, mark.tip]), point)[2]


def _replaced(
    marks: tuple[TracedMark, ...], kind: str, instead: Points | None, more: Points, outline: Points
) -> tuple[TracedMark, ...]:
    """The marks with all of one kind told anew, or some added."""
    kept = marks if instead is None else tuple(mark for mark in marks if mark.kind != kind)
    told = [*(() if instead is None else instead), *more]
    if kind == "notch":
        return (*kept, *(_notch(point, outline) for point in told))
    sizes = [mark.size_mm for mark in marks if mark.kind == "hole"]
    size = float(np.median(sizes)) if sizes else _HOLE_MM
    return (*kept, *(TracedMark(kind="hole", at=point, size_mm=size, evidence="told") for point in told))


def _notch(point: Points, outline: Points) -> TracedMark:
    """A notch at a point told, which may be its mouth or its tip."""
    foot, _, off = nearest_on_line(closed(outline), point)
    if off > _MOUTH_MM:
        return TracedMark(kind="notch", at=point, evidence="told")
    tip = point if off > 1.0 else None
    return TracedMark(kind="notch", at=foot, tip=tip, size_mm=off if tip is not None else 0.0, evidence="told")
