"""A piece as one array of points in its own frame: what the moves work on.

The frame of a shape, in mm, does not depend on how the paper lay or which way round it was:

- bodice and dress: the centre line is u = 0, the side seam lies at u > 0, v runs up, v = 0 where the centre line
  meets the waist (dress: the hem);
- skirt: likewise, v = 0 where the centre line meets the waist, the hem lies at v < 0;
- sleeve: u = 0 midway between the two ends of the cap, u > 0 towards the front, v = 0 at the underarm (bicep) line,
  the cap lies at v > 0.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.plane import left, points_at, unit
from calibration.ground.points import Points, as_points, lengths_along, nearest_on_line
from convert.piece.piece import Allowance, Dart, Mark, Piece

Weights = npt.NDArray[np.floating]
Indices = npt.NDArray[np.intp]

NO_ALLOWANCE = Allowance(mm=0.0, evidence="deduced", why="a block has no seam allowance")
STEP = 0.5  # mm between points of an edge, the piece's own promise


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frame:
    """Where a shape's own frame lies on the paper: ``origin`` (2,), unit vectors ``out`` and ``up`` (2,)."""

    origin: Points
    out: Points
    up: Points

    def to_local(self, points: Points) -> Points:
        """Paper (N, 2) to (u, v) (N, 2)."""
        return (np.asarray(points, float) - self.origin) @ np.column_stack([self.out, self.up])

    def to_paper(self, points: Points) -> Points:
        """(u, v) (N, 2) to paper (N, 2)."""
        return np.asarray(points, float) @ np.vstack([self.out, self.up]) + self.origin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bound:
    """Marks tied to the outline: ring index, share of the way to the next point."""

    index: Indices
    share: Weights


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """A piece as points in its own frame.

    Attributes
    ----------
    ring : (N, 2)
        Outline on the seam line, counter-clockwise on the paper; first point not repeated.
    starts : tuple of int
        Ring index at which each edge starts; the edge ends where the next one starts.
    legs : (D, 2) int
        Ring indices of each dart's leg ends in ring order, -1 where the dart lies on no edge.
    apexes : (D, 2)
        First apex of each dart.
    inner : (M, 2)
        Points inside: second apexes and legs of double-pointed darts, marks on no edge.
    """

    piece: Piece
    frame: Frame
    ring: Points
    starts: tuple[int, ...]
    legs: Indices
    apexes: Points
    inner: Points
    bound: Bound

    @property
    def names(self) -> tuple[str, ...]:
        """Edge names in ring order."""
        return tuple(edge.name for edge in self.piece.edges)

    @property
    def centre(self) -> str:
        """Name of the centre edge."""
        return next(name for name in self.names if name.startswith("centre"))

    def has(self, name: str) -> bool:
        """Whether there is an edge of that name."""
        return name in self.names

    def corner(self, one: str, other: str) -> int:
        """Ring index of the corner where two edges meet.

        Raises
        ------
        InputError
            If the edges do not meet.
        """
        names, starts = self.names, self.starts
        i, j = names.index(one), names.index(other)
        if (i + 1) % len(names) == j:
            return starts[j]
        if (j + 1) % len(names) == i:
            return starts[i]
        raise InputError(
            f"On the {self.piece.kind} the {one} and the {other} do not meet.",
            "Check the names of its edges in job.toml.",
        )

    def run(self, name: str, start: str) -> Indices:
        """Ring indices of an edge, both corners included, in order from its corner with the edge ``start``."""
        i = self.names.index(name)
        first, last = self.starts[i], self.starts[(i + 1) % len(self.starts)]
        if last <= first:
            last += len(self.ring)
        indices = np.arange(first, last + 1) % len(self.ring)
        return indices if indices[0] == self.corner(name, start) else indices[::-1]

    def darts_on(self, name: str) -> tuple[int, ...]:
        """Numbers of the darts whose mouth lies on an edge."""
        return tuple(i for i, dart in enumerate(self.piece.darts) if dart.on == name and self.legs[i, 0] >= 0)

    def mouths(self, run: Indices, name: str) -> list[tuple[int, int, int]]:
        """Darts on an edge as (dart, position in ``run`` of its near leg, of its far leg), near ones first."""
        count, start = len(self.ring), int(run[0])
        way = 1 if len(run) < 2 or int(run[1]) == (start + 1) % count else -1
        found = []
        for dart in self.darts_on(name):
            near, far = sorted((way * (int(leg) - start)) % count for leg in self.legs[dart])
            found.append((dart, near, far))
        return sorted(found, key=lambda mouth: mouth[1])

    def net_along(self, run: Indices, name: str) -> Weights:
        """Sewn length (N,) from the start of ``run`` to each of its points: the mouths of darts count nothing."""
        step = np.hypot(*np.diff(self.ring[run], axis=0).T)
        for _, near, far in self.mouths(run, name):
            step[near:far] = 0.0
        return np.concatenate([[0.0], np.cumsum(step)])

    def net_share(self, run: Indices, name: str) -> Weights:
        """The same as a share of the whole sewn length, 0 to 1."""
        along = self.net_along(run, name)
        return np.asarray(along / max(along[-1], 1e-9))

    def moved(
        self, *, ring: Points | None = None, apexes: Points | None = None, inner: Points | None = None
    ) -> "Shape":
        """A copy with other coordinates for the same points."""
        return replace(
            self,
            ring=self.ring if ring is None else ring,
            apexes=self.apexes if apexes is None else apexes,
            inner=self.inner if inner is None else inner,
        )


def shape_of(piece: Piece) -> Shape:
    """A piece as a shape, its points all kept.

    Raises
    ------
    InputError
        If an edge that the kind of piece needs is missing.
    """
    require_edges(piece)
    ring, starts, legs = _ring_with_legs(piece)
    frame = frame_of(piece)
    apexes = np.array([dart.apexes[0] for dart in piece.darts]).reshape(-1, 2)
    inner = [dart.apexes[1:] for dart in piece.darts] + [d.legs for d in piece.darts if d.on is None]
    inner += [mark.at[None] for mark in piece.marks if mark.on is None]
    stacked = np.vstack(inner) if inner else np.zeros((0, 2))
    return Shape(
        piece=piece,
        frame=frame,
        ring=frame.to_local(ring),
        starts=starts,
        legs=legs,
        apexes=frame.to_local(apexes),
        inner=frame.to_local(stacked),
        bound=_bound_marks(piece, ring),
    )


def coarse(shape: Shape, every: int = 8) -> Shape:
    """The shape with every eighth point (4 mm), corners and leg ends kept: enough to see what moves do to lengths."""
    count = len(shape.ring)
    keep = np.zeros(count, dtype=bool)
    keep[::every] = True
    keep[list(shape.starts)] = True
    on = shape.legs[shape.legs >= 0]
    keep[on] = True
    place = np.cumsum(keep) - 1
    legs = np.where(shape.legs >= 0, place[np.maximum(shape.legs, 0)], -1)
    return replace(
        shape,
        ring=shape.ring[keep],
        starts=tuple(int(place[start]) for start in shape.starts),
        legs=legs,
        bound=Bound(index=place[shape.bound.index], share=shape.bound.share),
    )


def piece_of(shape: Shape, *, dense: bool = False) -> Piece:
    """The shape as a piece without allowance, where it lay on the paper; ``dense`` refills long steps."""
    paper = shape.frame.to_paper(shape.ring)
    count = len(paper)
    edges = []
    for i, old in enumerate(shape.piece.edges):
        first, last = shape.starts[i], shape.starts[(i + 1) % len(shape.starts)]
        points = paper[np.arange(first, last + (count if last <= first else 0) + 1) % count]
        points = densified(points, STEP) if dense else points
        edges.append(replace(old, points=points, cut_points=points, allowance=NO_ALLOWANCE))
    return replace(
        shape.piece,
        edges=tuple(edges),
        darts=_darts_of(shape, paper),
        marks=_marks_of(shape, paper),
        grainline=_grainline_of(shape),
    )


def densified(line: Points, step: float) -> Points:
    """The polyline with points put into every stretch longer than ``step``; its own points all stay."""
    gap = np.hypot(*np.diff(line, axis=0).T)
    pieces = np.maximum(1, np.ceil(gap / step - 1e-9).astype(int))
    if (pieces == 1).all():
        return line
    at = np.concatenate([np.arange(n) / n + k for k, n in enumerate(pieces)] + [[float(len(gap))]])
    places = np.arange(len(line))
    return points_at(line, at, places.astype(float))


_NEEDED: dict[str, tuple[str, ...]] = {
    "bodice": ("centre", "neckline", "shoulder", "armhole", "side seam", "waist"),
    "dress": ("centre", "neckline", "shoulder", "armhole", "side seam", "hem"),
    "skirt": ("centre", "waist", "side seam", "hem"),
    "sleeve": ("cap", "underarm seam front", "underarm seam back"),
}


def require_edges(piece: Piece) -> None:
    """Refuse a piece without the edges its moves need.

    Raises
    ------
    InputError
        With the names of the edges that are missing.
    """
    needed = _NEEDED[piece.kind.split()[0]]
    missing = [n for n in needed if not any(edge.name.split()[0] == n or edge.name == n for edge in piece.edges)]
    if piece.kind == "sleeve" and not (piece.has("wrist") or piece.has("hem")):
        missing.append("wrist")
    if missing:
        raise InputError(
            f"The {piece.kind} has no edge called {' and no edge called '.join(missing)}.",
            "Name the edges of this piece in job.toml; a block needs them all.",
        )


def frame_of(piece: Piece) -> Frame:
    """The piece's own frame (see the module)."""
    if piece.kind == "sleeve":
        cap = piece.edge("cap").points
        front = piece.edge("underarm seam front").points
        ends = sorted((cap[0], cap[-1]), key=lambda end: float(np.hypot(*(front - end).T).min()))
        out = unit(ends[0] - ends[1])
        up = left(out)
        origin = (cap[0] + cap[-1]) / 2
        return Frame(origin=origin, out=out, up=up if (cap.mean(0) - origin) @ up > 0 else -up)
    centre = next(edge for edge in piece.edges if edge.name.startswith("centre")).points
    skirt = piece.kind.startswith("skirt")
    upper = piece.edge("waist" if skirt else "neckline").points
    top, low = sorted((centre[0], centre[-1]), key=lambda end: float(np.hypot(*(upper - end).T).min()))
    up = unit(top - low)
    out = np.array([up[1], -up[0]])
    if (piece.seam_line.mean(0) - low) @ out < 0:
        out = -out
    return Frame(origin=top if skirt else low, out=out, up=up)


def _ring_with_legs(piece: Piece) -> tuple[Points, tuple[int, ...], Indices]:
    """The seam line as a ring in which every leg end is a point of its own."""
    lines = [np.array(edge.points) for edge in piece.edges]
    for dart in piece.darts:
        for leg in dart.legs if dart.on is not None else ():
            k = next(i for i, edge in enumerate(piece.edges) if edge.name == dart.on)
            lines[k] = _with_point(lines[k], leg)
    starts = np.concatenate([[0], np.cumsum([len(line) - 1 for line in lines])[:-1]])
    ring = np.vstack([line[:-1] for line in lines])
    legs = np.full((len(piece.darts), 2), -1, dtype=np.intp)
    for i, dart in enumerate(piece.darts):
        if dart.on is None:
            continue
        k = next(j for j, edge in enumerate(piece.edges) if edge.name == dart.on)
        places = sorted(int(np.argmin(np.hypot(*(lines[k] - leg).T))) for leg in dart.legs)
        if places[0] == places[1]:  # a dart not opened yet: two points at one place
            places = [places[0], places[0] + 1]
        legs[i] = [(starts[k] + place) % len(ring) for place in places]
    return ring, tuple(int(s) for s in starts), legs


def _with_point(line: Points, point: Points, near: float = 1e-6) -> Points:
    """The polyline with ``point`` among its points: put in at its foot unless one lies there already."""
    foot, along, _ = nearest_on_line(line, point)
    if float(np.hypot(*(line - foot).T).min()) <= near:
        return line
    i = int(np.searchsorted(lengths_along(line), along))
    return np.insert(line, i, foot, axis=0)


def _bound_marks(piece: Piece, ring: Points) -> Bound:
    """Where marks that belong to an edge sit on the ring."""
    loop = np.vstack([ring, ring[:1]])
    along = lengths_along(loop)
    index, share = [], []
    for mark in piece.marks:
        if mark.on is not None:
            _, at, _ = nearest_on_line(loop, mark.at if mark.seam_at is None else mark.seam_at)
            i = int(np.clip(np.searchsorted(along, at, side="right") - 1, 0, len(ring) - 1))
            index.append(i)
            share.append((at - along[i]) / max(along[i + 1] - along[i], 1e-12))
    return Bound(index=np.array(index, dtype=np.intp), share=np.array(share, dtype=float))


def _darts_of(shape: Shape, paper: Points) -> tuple[Dart, ...]:
    apexes = shape.frame.to_paper(shape.apexes)
    inner = shape.frame.to_paper(shape.inner)
    seconds = [len(dart.apexes) - 1 for dart in shape.piece.darts]
    at_apex, at_legs = 0, sum(seconds)
    darts = []
    for i, dart in enumerate(shape.piece.darts):
        tips = np.vstack([apexes[i : i + 1], inner[at_apex : at_apex + seconds[i]]])
        at_apex += seconds[i]
        if dart.on is None:
            legs = inner[at_legs : at_legs + 2]
            at_legs += 2
        else:
            legs = paper[shape.legs[i]]
        darts.append(replace(dart, apexes=as_points(tips), legs=as_points(legs), cap=None))
    return tuple(darts)


def _marks_of(shape: Shape, paper: Points) -> tuple[Mark, ...]:
    inner = shape.frame.to_paper(shape.inner)
    loop = np.vstack([paper, paper[:1]])
    at_inner = len(inner) - sum(mark.on is None for mark in shape.piece.marks)
    at_bound = 0
    marks = []
    for mark in shape.piece.marks:
        if mark.on is None:
            marks.append(replace(mark, at=inner[at_inner]))
            at_inner += 1
        else:
            i, share = int(shape.bound.index[at_bound]), float(shape.bound.share[at_bound])
            at = loop[i] + share * (loop[i + 1] - loop[i])
            marks.append(replace(mark, at=at, seam_at=at))
            at_bound += 1
    return tuple(marks)


def _grainline_of(shape: Shape) -> Points | None:
    """The grainline, kept straight and where it was, shortened to what is left of the piece."""
    if shape.piece.grainline is None:
        return None
    ends = shape.frame.to_local(shape.piece.grainline)
    low, high = shape.ring[:, 1].min(), shape.ring[:, 1].max()
    margin = 0.05 * (high - low)
    share = np.clip(ends[:, 1], low + margin, high - margin)
    if abs(ends[1, 1] - ends[0, 1]) < 1e-6:
        return shape.piece.grainline
    slope = (ends[1, 0] - ends[0, 0]) / (ends[1, 1] - ends[0, 1])
    return as_points(shape.frame.to_paper(np.column_stack([ends[0, 0] + slope * (share - ends[0, 1]), share])))


def smooth(share: Weights | float) -> Weights:
    """Smooth ramp from 0 to 1 with level ends (cubic), clipped outside."""
    t = np.clip(share, 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t))


def ramp(values: Weights, zero: float, one: float) -> Weights:
    """Straight ramp: 0 at ``zero``, 1 at ``one``, clipped outside."""
    span = one - zero
    return np.asarray(np.clip((values - zero) / (span if abs(span) > 1e-9 else 1e-9), 0.0, 1.0))


def weights_on(shape: Shape, parts: Sequence[tuple[Indices, Weights | float]]) -> Weights:
    """Weights (N,) for the ring from (indices, values) parts, nought elsewhere; later parts overrule."""
    out = np.zeros(len(shape.ring))
    for indices, values in parts:
        out[indices] = values
    return out
