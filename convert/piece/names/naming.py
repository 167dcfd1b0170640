"""Naming the edges of a traced piece: which corner is which, whichever way the paper lies."""

import itertools
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError, Note
from calibration.ground.plane import cross
from calibration.ground.points import Points, as_points, closed, length, lengths_along, nearest_on_line
from convert.piece.names.edge_shapes import EdgeShape, KindShape
from convert.piece.names.kinds import KINDS, Kind
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.outline.caps import find_caps
from convert.piece.outline.corners import corner_candidates
from convert.piece.outline.placement import Placement
from convert.piece.piece import CENTRES, EdgeName, Evidence, PieceKind
from convert.trace.tracing import TracedLine, TracedMark, Tracing

TURN_DEG, TURN_SD_DEG = 86.0, 28.0  # of a true corner
STRONG_TURN_DEG = 55.0  # a corner that turns so far is hardly ever inside an edge
STRONG_COST = 4.0
DART_COST, CLEAR_CAP_SCORE = 2.5, 6.0
NOTCH_NEAR_MM = 15.0  # a notch so near an edge may be its own
SEAM_NOTCH_COST = 6.0
FORBIDDEN = 1e4
DOUBT_MARGIN = 1.2  # less than this between the best reading and the next is said to be doubtful
SAME_WAY_DEG = 1.5  # grain and centre edge that agree so well are one direction


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NamedEdge:
    """A named stretch (N, 2) of the cut line, both corners included, counter-clockwise."""

    name: EdgeName
    points: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NamedPiece:
    """A tracing turned upright with its edges named; everything in the piece's frame.

    ``placement`` leads there from the mat. ``turned_over`` says that the centre lies to the right (or a sleeve's front
    to the left), which is how the paper shows it: nothing is mirrored unless ``told`` says that it lay face
    down, or its lettering shows it.
    """

    kind: PieceKind
    edges: tuple[NamedEdge, ...]
    tracing: Tracing
    placement: Placement
    turned_over: bool
    grainline: Points | None = None
    grain_evidence: Evidence = "assumed"
    notes: tuple[Note, ...] = field(default=())

    @property
    def centre(self) -> EdgeName | None:
        """The edge on the body's middle line, if it has one."""
        return next((edge.name for edge in self.edges if edge.name in CENTRES), None)

    def edge(self, name: str) -> NamedEdge:
        """The edge of that name; KeyError if there is none."""
        for edge in self.edges:
            if edge.name == name:
                return edge
        raise KeyError(name)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Arcs:
    """Everything about the stretch from each candidate corner to each other one: (K, K) tables."""

    ring: Points
    corners: npt.NDArray[np.int64]
    turn: npt.NDArray[np.float64]
    share: npt.NDArray[np.float64]
    heading: npt.NDArray[np.float64]
    bow: npt.NDArray[np.float64]
    strong_inside: npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """One way to name the edges: each candidate in ``corners`` begins the edge of its place in ``names``."""

    cost: float
    shape: KindShape
    names: tuple[EdgeName, ...]
    corners: tuple[int, ...]
    turned_over: bool


def name_piece(tracing: Tracing, kind: PieceKind, told: Told = NOTHING_TOLD) -> NamedPiece:
    """The outline split at its true corners into the edges of its kind, and turned upright.

    Upright means grain vertical, neck or waist up, and edges counter-clockwise from the lower one (waist, hem, wrist).
    A half piece whose centre lies to the left then reads waist, side seam, armhole, shoulder, neckline, centre.

    Evidence weighed: told names, how far each corner turns, each edge's length, direction and bow, the printed grain
    and fold, notches on a sleeve's cap. Peaks of folded darts turn too little to count as corners.

    Raises
    ------
    InputError
        If the outline has too few corners for a piece of this kind.
    """
    down = tracing.mirrored > 0 if told.face_down is None else told.face_down
    placement = Placement(mirrored=down)
    tracing, told = _moved(tracing, placement), _told_moved(told, placement)
    arcs = _arcs(tracing, told)
    fewest = min(len(shape.edges) for shape in KINDS[kind].shapes)
    if len(arcs.corners) < fewest:
        raise InputError(
            f"A {kind} has {fewest} corners; this outline shows {len(arcs.corners)} at most.",
            "Check that the right kind of piece was said, or tell the ends of its edges.",
        )
    grain = _printed_grain(tracing, told)
    readings = sorted(_readings(arcs, KINDS[kind], tracing, told, grain), key=lambda reading: reading.cost)
    if not readings or readings[0].cost >= FORBIDDEN:
        raise InputError(
            f"The edges of this outline can't be named as those of a {kind}{' as told' if told.edges else ''}.",
            "Check the kind of piece, or tell the names and ends of its edges.",
        )
    best = readings[0]
    edges = _split(arcs, best)
    turn = _upright(edges, best, grain)
    placement = replace(placement, turn_deg=turn)
    return _finish(edges, tracing, kind, placement, grain, told, best, readings)


def how_unlike(tracing: Tracing, kind: PieceKind, told: Told = NOTHING_TOLD) -> float:
    """How far an outline is from looking like a kind of piece: the cost of its best reading; infinite without one."""
    down = tracing.mirrored > 0 if told.face_down is None else told.face_down
    placement = Placement(mirrored=down)
    tracing, told = _moved(tracing, placement), _told_moved(told, placement)
    arcs = _arcs(tracing, told)
    readings = _readings(arcs, KINDS[kind], tracing, told, _printed_grain(tracing, told))
    return min((reading.cost for reading in readings), default=float("inf"))


def _finish(
    edges: tuple[NamedEdge, ...],
    tracing: Tracing,
    kind: PieceKind,
    placement: Placement,
    grain: Points | None,
    told: Told,
    best: _Reading,
    readings: list[_Reading],
) -> NamedPiece:
    turn = Placement(turn_deg=placement.turn_deg)
    edges = tuple(replace(edge, points=turn.to_piece(edge.points)) for edge in edges)
    if grain is not None:
        grain = turn.to_piece(grain)
        grain = grain if grain[0, 1] <= grain[1, 1] else grain[::-1]
    notes = list(tracing.notes)
    rivals = [r for r in readings[1:] if (r.names, r.corners) != (best.names, best.corners)]
    if rivals and rivals[0].cost - best.cost < DOUBT_MARGIN and not told.edges:
        notes.append(Note("naming-doubtful", _doubt(kind, best, rivals[0])))
    notes += _side_notes(kind, best, tracing.mirrored, told.face_down)
    return NamedPiece(
        kind=kind,
        edges=edges,
        tracing=_moved(tracing, turn),
        placement=placement,
        turned_over=best.turned_over,
        grainline=grain,
        grain_evidence="assumed" if grain is None else "told" if told.grain is not None else "measured",
        notes=tuple(notes),
    )


def _side_notes(kind: PieceKind, best: _Reading, mirrored: float, said: bool | None) -> list[Note]:
    """Which side of the paper was seen, and what it matters.

    Lettering tells it. The shape does not: the mirror image of a half piece is the other half, that of a sleeve the
    other arm's.
    """
    if said is None and mirrored > 0:
        text = (
            f"The lettering on the {kind} is seen mirrored, so the paper lay printed side down: it is turned over. "
            "If not so, say that it lay face up."
        )
        return [Note("face-down-seen", text)]
    if said is not None and mirrored * (1 if said else -1) < 0:
        seen = "mirrored" if mirrored > 0 else "the right way round"
        text = (
            f"You said that the {kind} lay printed side {'down' if said else 'up'}, and its lettering is seen {seen}. "
            "What you said was taken."
        )
        return [Note("face-down-differs", text)]
    if not best.turned_over or said is not None or mirrored < 0:
        return []
    side, twin = "centre lies to the right", "the other half"
    if KINDS[kind].garment == "sleeve":
        side, twin = f"front lies to the {'right' if kind == 'under sleeve' else 'left'}", f"the other arm's {kind}"
    text = (
        f"Seen this way round, the {side}, and no lettering tells which side of the paper is up. Its mirror image is "
        f"{twin}, so either is good; if the paper lay printed side down, say so, and it is turned over."
    )
    return [Note("turned-over", text)]


def _doubt(kind: PieceKind, best: _Reading, rival: _Reading) -> str:
    if kind == "sleeve" and best.turned_over != rival.turned_over:
        return (
            "Nothing on the sleeve says for sure which half of the cap is the front. The front is the half that is "
            "hollowed more above the underarm, with one notch where the back has two: check its edges' names."
        )
    return f"The edges of the {kind} could be named in another way nearly as well: check their names."


# ---------------------------------------------------------------- evidence


def _moved(tracing: Tracing, placement: Placement) -> Tracing:
    """The tracing in another frame; a mirrored ring is reversed so that it stays counter-clockwise."""
    ring, corners, inferred = placement.to_piece(tracing.outline), tracing.corners, tracing.inferred
    told = tracing.told
    if placement.mirrored:
        ring, inferred, told = ring[::-1], inferred[::-1], None if told is None else told[::-1]
        corners = np.sort(len(ring) - 1 - corners)
    lines = tuple(replace(line, points=placement.to_piece(line.points)) for line in tracing.lines)
    marks = tuple(_mark_moved(mark, placement) for mark in tracing.marks)
    return replace(tracing, outline=ring, corners=corners, inferred=inferred, told=told, lines=lines, marks=marks)


def _mark_moved(mark: TracedMark, placement: Placement) -> TracedMark:
    tip = None if mark.tip is None else placement.to_piece(mark.tip[None])[0]
    return replace(mark, at=placement.to_piece(mark.at[None])[0], tip=tip)


def _told_moved(told: Told, placement: Placement) -> Told:
    """What was told, with its points in another frame."""

    def there(points: Points | None) -> Points | None:
        return None if points is None else placement.to_piece(np.atleast_2d(points)).reshape(np.shape(points))

    edges = tuple(replace(edge, points=placement.to_piece(edge.points)) for edge in told.edges)
    darts = tuple(replace(d, legs=placement.to_piece(d.legs), apexes=placement.to_piece(d.apexes)) for d in told.darts)
    holes = tuple(replace(one, at=placement.to_piece(one.at)) for one in told.hole_meanings)
    return replace(
        told,
        hole_meanings=holes,
        edges=edges,
        darts=darts,
        centre_line=there(told.centre_line),
        neck_line=there(told.neck_line),
        tucks=tuple(placement.to_piece(tuck) for tuck in told.tucks),
        grain=there(told.grain),
        removed=there(told.removed),
        allowances=dict(told.allowances),
    )


def told_in_frame(told: Told, placement: Placement) -> Told:
    """What was told of a piece in mat mm, with its points in the piece's frame."""
    return _told_moved(told, placement)


def _printed_grain(tracing: Tracing, told: Told) -> Points | None:
    """The grainline's two ends (2, 2), told or read; None if there is none."""
    if told.grain is not None:
        return told.grain
    read = [line for line in tracing.lines if line.kind == "grainline" and len(line.points) >= 2]
    return straightened(max(read, key=_weight).points) if read else None


def _weight(line: TracedLine) -> float:
    return line.confidence * length(line.points)


def straightened(points: Points) -> Points:
    """The two ends (2, 2) of the straight line fitted to points (N, 2), in their order."""
    middle = points.mean(0)
    way = np.linalg.svd(points - middle, full_matrices=False)[2][0]
    along = (points - middle) @ way
    if along[-1] < along[0]:
        way, along = -way, -along
    return as_points([middle + along.min() * way, middle + along.max() * way])


def _arcs(tracing: Tracing, told: Told) -> _Arcs:
    ring = tracing.outline
    forced = {
        int(np.argmin(np.hypot(*(ring - end).T))) for edge in told.edges if edge.ends is not None for end in edge.ends
    }
    corners, turn = corner_candidates(ring, tracing.corners, tuple(sorted(forced)))
    k = len(corners)
    along = lengths_along(closed(ring))
    total = along[-1]
    at = ring[corners]
    summed = np.concatenate([[0.0], np.cumsum(cross(ring, np.roll(ring, -1, axis=0)))])
    reach = (along[corners][None, :] - along[corners][:, None]) % total
    swept = summed[corners][None, :] - summed[corners][:, None]
    swept = np.where(np.arange(k)[:, None] < np.arange(k)[None, :], swept, swept + summed[-1])
    area = 0.5 * (swept + cross(at[None, :, :], at[:, None, :]))
    chord = at[None, :, :] - at[:, None, :]
    size = np.maximum((chord**2).sum(-1), 1.0)
    strong = np.concatenate([[0.0], np.cumsum(turn >= STRONG_TURN_DEG)])
    between = strong[np.arange(k)][None, :] - strong[np.arange(k) + 1][:, None]
    between = np.where(np.arange(k)[:, None] < np.arange(k)[None, :], between, between + strong[-1])
    return _Arcs(
        ring=ring,
        corners=corners,
        turn=turn,
        share=np.where(reach > 0, reach, total) / total,
        heading=np.degrees(np.arctan2(chord[..., 1], chord[..., 0])),
        bow=area / size,
        strong_inside=between,
    )


def _apart_deg(a: npt.NDArray[np.float64] | float, b: npt.NDArray[np.float64] | float) -> npt.NDArray[np.float64]:
    return np.asarray((np.asarray(a) - b + 180.0) % 360.0 - 180.0)


# ---------------------------------------------------------------- readings


def _readings(arcs: _Arcs, kind: Kind, tracing: Tracing, told: Told, grain: Points | None) -> list[_Reading]:
    """The best reading for each stretch that could be the anchor edge, however it is cut, both ways round."""
    out: list[_Reading] = []
    darts = _dart_table(arcs, tracing)
    ways = [shape for shape in kind.shapes if len(shape.edges) <= len(arcs.corners)]
    ways = [shape for shape in ways if told.seam_from in (None, shape.seam_from)]
    for shape, turned_over in itertools.product(ways, (False, True)):
        edges = shape.edges[::-1] if turned_over else shape.edges
        first = next(k for k, edge in enumerate(edges) if edge.name == shape.anchor)
        edges = edges[first:] + edges[:first]
        dartless = {edge.name for edge in edges} - set(kind.dart_edges)
        tables = [_table(arcs, edge, told) + darts * (edge.name in dartless) for edge in edges]
        anchor = tables[0] + _anchor_table(arcs, shape, tracing, grain, turned_over=turned_over)
        for i, j in np.argwhere(anchor < np.sort(anchor, axis=None)[: min(24, anchor.size)].max() + 1e-9):
            if i != j:
                start = _Reading(
                    cost=float(anchor[i, j]), shape=shape, names=(), corners=(int(i), int(j)), turned_over=turned_over
                )
                out.append(_best_from(arcs, edges, tables, start, tracing))
    return out


def _table(arcs: _Arcs, edge: EdgeShape, told: Told) -> npt.NDArray[np.float64]:
    """Cost (K, K) of calling each stretch by this name, leaving its direction out."""
    cost = (np.log(arcs.share / edge.share) / edge.share_sd) ** 2
    cost = cost + np.minimum(((arcs.bow - edge.bow) / edge.bow_sd) ** 2, 40.0)
    cost = cost + STRONG_COST * arcs.strong_inside + (((arcs.turn - TURN_DEG) / TURN_SD_DEG) ** 2)[:, None]
    for said in told.edges:
        cost = cost + FORBIDDEN * (_is_told(arcs, said.at, said.ends) != (said.name == edge.name))
    return cost


def _dart_table(arcs: _Arcs, tracing: Tracing) -> npt.NDArray[np.float64]:
    """Cost (K, K) of a stretch being an edge that has no darts: peaks of folded darts and printed legs say it has."""
    start = int(arcs.corners[int(np.argmax(arcs.turn))])
    opened = np.vstack([arcs.ring[start:], arcs.ring[: start + 1]])
    along = lengths_along(opened)
    places = [
        (start + int(np.searchsorted(along, cap.peak))) % len(arcs.ring)
        for cap in find_caps(opened)
        if cap.score > CLEAR_CAP_SCORE
    ]
    for line in tracing.lines:
        if line.kind == "dart" and len(line.points) >= 2:
            gaps = [np.hypot(*(arcs.ring - end).T) for end in line.points[[0, -1]]]
            nearest = min(gaps, key=np.min)
            if nearest.min() < 40.0:
                places.append(int(np.argmin(nearest)))
    holds = sum((_holds(arcs, place).astype(float) for place in places), np.zeros_like(arcs.share))
    return np.asarray(np.minimum(DART_COST * holds, 4 * DART_COST))


def _holds(arcs: _Arcs, place: int) -> npt.NDArray[np.bool_]:
    """Which stretches (K, K) hold a point of the ring."""
    start, end = arcs.corners[:, None], arcs.corners[None, :]
    inside: npt.NDArray[np.bool_] = np.where(
        start < end, (start <= place) & (place < end), (place >= start) | (place < end)
    )
    return inside


def _is_told(arcs: _Arcs, at: Points | None, ends: Points | None) -> npt.NDArray[np.bool_]:
    """Which stretches (K, K) hold the told point, or run between the told ends."""
    k = np.arange(len(arcs.corners))
    if ends is not None:
        a, b = (int(np.argmin(np.hypot(*(arcs.ring[arcs.corners] - end).T))) for end in ends)
        hit = np.zeros((len(k), len(k)), bool)
        hit[a, b] = hit[b, a] = True
        way = arcs.share[a, b] <= arcs.share[b, a]
        hit[b, a], hit[a, b] = not way, way
        return hit
    return _holds(arcs, int(np.argmin(np.hypot(*(arcs.ring - np.asarray(at)).T))))


def _anchor_table(
    arcs: _Arcs, shape: KindShape, tracing: Tracing, grain: Points | None, *, turned_over: bool
) -> npt.NDArray[np.float64]:
    """What grain and fold say about which stretch is the anchor edge: the centre, a panel seam, the cap."""
    cost = np.zeros_like(arcs.share)
    if grain is not None:
        way = float(np.degrees(np.arctan2(*(grain[1] - grain[0])[::-1])))
        leans = (-1.0 if turned_over else 1.0) * shape.upright.heading_deg - 90.0
        off = np.abs((arcs.heading - way - leans + 90.0) % 180.0 - 90.0)
        cost = cost + np.minimum((off / shape.anchor_sd_deg) ** 2, 25.0)
    folds = [line for line in tracing.lines if line.kind == "fold" and len(line.points) >= 2]
    if folds and shape.centre is not None:
        middle = max(folds, key=_weight).points.mean(0)
        nearest = int(np.argmin(np.hypot(*(arcs.ring - middle).T)))
        cost = cost + np.where(_holds(arcs, nearest), 0.0, 12.0)
    return cost


def _best_from(
    arcs: _Arcs,
    edges: tuple[EdgeShape, ...],
    tables: list[npt.NDArray[np.float64]],
    start: _Reading,
    tracing: Tracing,
) -> _Reading:
    """The cheapest way to name the rest once the anchor edge runs between the two corners of ``start``.

    Found by dynamic programming; ``start`` holds the anchor's cost and no names yet.
    """
    i, j = start.corners
    k = len(arcs.corners)
    sign = -1.0 if start.turned_over else 1.0
    turn = sign * edges[0].heading_deg - arcs.heading[i, j]
    order = (j + np.arange((i - j) % k + 1)) % k
    cost_to = np.full(len(order), np.inf)
    cost_to[0] = 0.0
    came: list[npt.NDArray[np.int64]] = []
    for edge, table in zip(edges[1:], tables[1:], strict=True):
        off = _apart_deg(arcs.heading + turn, sign * edge.heading_deg) / edge.heading_sd_deg
        step = (table + np.minimum(off**2, 60.0))[np.ix_(order, order)]
        step = np.where(np.arange(len(order))[:, None] < np.arange(len(order))[None, :], step, np.inf)
        both = cost_to[:, None] + step
        came.append(both.argmin(0))
        cost_to = both.min(0)
    picked = [len(order) - 1]
    for back in reversed(came):
        picked.append(int(back[picked[-1]]))
    corners = (i, *(int(order[p]) for p in reversed(picked[1:])))
    names = tuple(edge.name for edge in edges)
    reading = replace(start, cost=start.cost + float(cost_to[-1]), names=names, corners=corners)
    if "front seam" in names:
        return replace(reading, cost=reading.cost + _seams_cost(arcs, reading, tracing))
    return replace(reading, cost=reading.cost + _cap_cost(arcs, reading, tracing)) if "cap" in names else reading


def _seams_cost(arcs: _Arcs, reading: _Reading, tracing: Tracing) -> float:
    """Which seam of a two-part sleeve is the front one: it has fewer notches than the back seam (common practice)."""
    if not np.isfinite(reading.cost):
        return 0.0
    counts = {"front seam": 0, "back seam": 0}
    for edge in _split(arcs, reading):
        if edge.name in counts:
            near = (nearest_on_line(edge.points, mark.at)[2] for mark in tracing.marks if mark.kind == "notch")
            counts[edge.name] = sum(off < NOTCH_NEAR_MM for off in near)
    return SEAM_NOTCH_COST * float(np.sign(counts["front seam"] - counts["back seam"]))


def _cap_cost(arcs: _Arcs, reading: _Reading, tracing: Tracing) -> float:
    """Which half of a sleeve's cap is the front: one notch against two, else the flatter half is the back."""
    if not np.isfinite(reading.cost):
        return 0.0
    cap = next(edge for edge in _split(arcs, reading) if edge.name == "cap").points
    half = length(cap) / 2
    along = [
        s
        for s, off in (nearest_on_line(cap, mark.at)[1:] for mark in tracing.marks if mark.kind == "notch")
        if off < NOTCH_NEAR_MM and abs(s - half) > 0.12 * half
    ]
    first, second = sum(s < half for s in along), sum(s > half for s in along)
    front, back = (second, first) if reading.turned_over else (first, second)
    if front != back and min(front, back) >= 1:
        return float(8.0 * np.sign(front - back))
    if front != back:
        return 2.0 * np.sign(front - back) if max(front, back) == 2 else 0.0
    return 1.0 if reading.turned_over else 0.0


def _split(arcs: _Arcs, reading: _Reading) -> tuple[NamedEdge, ...]:
    """The ring cut at the reading's corners; the lower edge first."""
    starts = [int(arcs.corners[c]) for c in reading.corners]
    edges = []
    for name, a, b in zip(reading.names, starts, starts[1:] + starts[:1], strict=True):
        points = arcs.ring[a : b + 1] if a < b else np.vstack([arcs.ring[a:], arcs.ring[: b + 1]])
        edges.append(NamedEdge(name=name, points=points))
    lower = reading.names.index(reading.shape.names[0])
    return tuple(edges[lower:] + edges[:lower])


def _upright(edges: tuple[NamedEdge, ...], best: _Reading, grain: Points | None) -> float:
    """Degrees to turn so that the grain is vertical and the neck, waist or cap is up.

    A straight centre edge gives the direction, being longer than a printed arrow; where the two differ, the grain does.
    Without a centre edge the grain does, and without a grain the anchor edge, turned to its usual direction.
    """
    shape = best.shape
    anchor = next(edge for edge in edges if edge.name == shape.anchor).points
    if shape.centre is None:
        usual = (-1.0 if best.turned_over else 1.0) * shape.upright.heading_deg
        lean = np.radians(_heading(anchor[-1] - anchor[0]) + 90.0 - usual)
        up = np.array([np.cos(lean), np.sin(lean)])
    else:
        line = straightened(anchor[len(anchor) // 20 : -(len(anchor) // 20) or None])
        up = line[1] - line[0]
        up = up if up @ (anchor.mean(0) - edges[0].points.mean(0)) > 0 else -up
    if grain is not None:
        way = grain[1] - grain[0]
        way = way if way @ up > 0 else -way
        off = abs(float(_apart_deg(_heading(way), _heading(up))))
        if shape.centre is None or off > SAME_WAY_DEG:
            up = way
    return float(_apart_deg(90.0, _heading(up)))


def _heading(way: Points) -> float:
    return float(np.degrees(np.arctan2(way[1], way[0])))
