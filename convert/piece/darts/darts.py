"""Darts on a named piece: told, printed, punched, or only shown by the peak of the folded cut line."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_points, lengths_along
from convert.piece.names.kinds import DART_EDGES
from convert.piece.names.naming import NamedEdge, NamedPiece, straightened
from convert.piece.names.told import NOTHING_TOLD, Told
from convert.piece.outline.caps import Cap, find_caps
from convert.piece.outline.meeting import meet, point_at, ray_crossings, stretch, unit
from convert.piece.piece import EdgeName, Evidence

APEX_GAP_MM = 8.0  # two legs whose ends lie so near point at one apex
REACH_MM = 70.0  # a leg stops at most so far inside the cut line
NARROWEST_DEG, WIDEST_DEG = 2.0, 45.0  # angle between a dart's legs
CAP_NEAR_MM = 6.0  # a leg drawn so near a cap's kink ends at it
REMOVED_MM = 6.0  # as near as a hand points at a dart's point on a screen
SURE_CAP_SCORE = 6.5  # a peak alone, without print or holes, must be so clear


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutDart:
    """A dart on the cut line, before any seam line is known.

    Attributes
    ----------
    on
        The edge it opens on; None if it is double-pointed and lies inside.
    apexes : (1 or 2, 2)
    crossings : (2, 2)
        Where its legs, made longer, cross the cut line, in the edge's order; a double-pointed dart's widest points.
    span : (start, end)
        Arc lengths of those crossings on the edge.
    stops : (2, 2) or None
        Where the legs as printed or punched end, which is on the seam line.
    evidence
        Where its legs are known from.
    apex_uncertainty_mm : float
        How far along the dart the apex may be off (95 %).
    """

    on: EdgeName | None
    apexes: Points
    crossings: Points
    span: tuple[float, float] = (0.0, 0.0)
    stops: Points | None = None
    evidence: Evidence = "measured"
    apex_uncertainty_mm: float = 0.5

    def __post_init__(self) -> None:
        for name in ("apexes", "crossings", "stops"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, as_points(getattr(self, name)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wedge:
    """Two straight legs that meet: the apex, each leg's far end (2, 2), and how they were found."""

    apex: Points
    ends: Points
    evidence: Evidence
    stops: bool = True


def find_darts(
    piece: NamedPiece,
    told: Told = NOTHING_TOLD,
    wedges: tuple[Wedge, ...] = (),
    punched_doubles: tuple[CutDart, ...] = (),
    *,
    legs_may_hide: bool = False,
) -> tuple[CutDart, ...]:
    """All darts of a piece, in order round it.

    ``told`` is in the piece's frame. Told darts come first, then printed legs, then ``wedges`` and double-pointed darts
    read from holes, then peaks of the cut line, where no dart's legs are printed or punched (or, with
    ``legs_may_hide``, not this one's). Of the last kind the apex is deduced: the paper under the fold is the mirror
    image of the edge beside it, so each leg halves the angle at its kink.
    """
    sure = [Wedge(apex=d.apexes[0], ends=d.legs, evidence="told") for d in told.darts if len(d.apexes) == 1]
    inner = [
        CutDart(on=None, apexes=d.apexes, crossings=d.legs, evidence="told") for d in told.darts if len(d.apexes) == 2
    ]
    printed, doubles = ([], []) if told.no_darts else printed_wedges(piece)
    caps = {edge.name: find_caps(edge.points) for edge in piece.edges}
    darts = inner + [dart for dart in doubles if not _clashes(dart, inner)]
    for punched in punched_doubles:
        if not _clashes(punched, darts) and not (told.no_darts and punched.evidence != "told"):
            darts.append(punched)
    sure += [wedge for wedge in wedges if wedge.evidence == "told"]
    wedges = tuple(wedge for wedge in wedges if wedge.evidence != "told")
    for wedge in [*sure, *([] if told.no_darts else [*printed, *wedges])]:
        dart = _placed(piece, wedge, caps)
        if dart is None and wedge.evidence == "told":
            raise InputError(
                f"The dart told with its point at {_place(wedge.apex)} does not open on one edge of the {piece.kind}.",
                "Tell a point on each leg, and the dart's point inside the piece.",
            )
        if dart is not None and not _clashes(dart, darts):
            darts.append(dart)
    # who prints or punches one dart's legs does it for all
    shown = not legs_may_hide and any(dart.evidence == "measured" for dart in darts)
    for edge in piece.edges if not (told.no_darts or shown) else ():
        if edge.name in DART_EDGES[piece.kind]:
            for cap in caps[edge.name]:
                dart = _from_cap(edge, cap)
                if dart is not None and not _clashes(dart, darts):
                    darts.append(dart)
    order = {edge.name: k for k, edge in enumerate(piece.edges)}
    darts = [dart for dart in darts if dart.evidence == "told" or not _removed(dart, told)]
    return tuple(sorted(darts, key=lambda d: (order[d.on] if d.on else len(order), d.span[0])))


def _place(at: Points) -> str:
    return f"{at[0] / 10:.0f} cm across, {at[1] / 10:.0f} cm up"


def _removed(dart: CutDart, told: Told) -> bool:
    """Whether it was said that no dart has its point there."""
    if told.removed is None:
        return False
    gaps = np.hypot(*(dart.apexes[:, None] - told.removed[None]).transpose(2, 0, 1))
    return bool((gaps < max(REMOVED_MM, dart.apex_uncertainty_mm)).any())


def _clashes(dart: CutDart, others: list[CutDart]) -> bool:
    """Whether it lies where another one already is."""
    if dart.on is None:
        return any(o.on is None and np.hypot(*(o.apexes[0] - dart.apexes[0])) < 20 for o in others)
    return any(o.on == dart.on and o.span[0] < dart.span[1] and dart.span[0] < o.span[1] for o in others)


def _placed(piece: NamedPiece, wedge: Wedge, caps: dict[EdgeName, tuple[Cap, ...]]) -> CutDart | None:
    """The wedge on the edge that both of its legs run out to; None if they run to no edge together."""
    hits = []
    for end in wedge.ends:
        ways = [(*_first(edge, wedge.apex, end - wedge.apex), edge) for edge in piece.edges]
        far, along, edge = min(ways, key=lambda hit: hit[0])
        hits.append((far - float(np.hypot(*(end - wedge.apex))), along, edge))
    (gap_a, a, edge), (gap_b, b, other) = hits
    if edge is not other or max(gap_a, gap_b) > REACH_MM or min(gap_a, gap_b) < -15.0:
        return None
    ends = wedge.ends if a <= b else wedge.ends[::-1]
    span = (min(a, b), max(a, b))
    cap = next((c for c in caps[edge.name] if _same_place(c, span)), None)
    crossings = np.array([point_at(edge.points, s) for s in span])
    if cap is not None and wedge.evidence != "told":
        span = (min(cap.start, span[0]), max(cap.end, span[1]))
    stops = ends if wedge.stops and min(gap_a, gap_b) > 1.5 else None
    return CutDart(
        on=edge.name, apexes=wedge.apex, crossings=crossings, span=span, stops=stops, evidence=wedge.evidence
    )


def _same_place(cap: Cap, span: tuple[float, float]) -> bool:
    return abs(cap.start - span[0]) < CAP_NEAR_MM and abs(cap.end - span[1]) < CAP_NEAR_MM


def _first(edge: NamedEdge, origin: Points, way: Points) -> tuple[float, float]:
    """Distance and arc length of a ray's first crossing of an edge; infinite if it misses."""
    far, along = ray_crossings(edge.points, origin, way)
    return (float(far[0]), float(along[0])) if len(far) else (np.inf, 0.0)


# ---------------------------------------------------------------- printed


def printed_wedges(piece: NamedPiece) -> tuple[list[Wedge], list[CutDart]]:
    """Darts from printed leg lines: wedges that open on an edge, and double-pointed darts."""
    legs = [
        part for line in piece.tracing.lines if line.kind == "dart" for part in straight_parts(line.points, least=12.0)
    ]
    pairs = sorted(_pairs(legs), key=lambda pair: pair[0])
    used: set[int] = set()
    wedges: list[Wedge] = []
    for _, i, j, wedge in pairs:
        if i not in used and j not in used:
            used |= {i, j}
            wedges.append(wedge)
    doubles: list[CutDart] = []
    singles = list(wedges)
    for one in wedges:
        for other in wedges:
            if one in singles and other in singles and one is not other and _facing(one, other):
                singles = [w for w in singles if w not in (one, other)]
                flip = np.hypot(*(one.ends[0] - other.ends[0])) > np.hypot(*(one.ends[0] - other.ends[1]))
                widest = (one.ends + (other.ends[::-1] if flip else other.ends)) / 2
                doubles.append(CutDart(on=None, apexes=np.array([one.apex, other.apex]), crossings=widest))
    return singles, doubles


def _facing(one: Wedge, other: Wedge) -> bool:
    """Whether two wedges open towards each other and share their widest points."""
    gaps = np.hypot(*(one.ends[:, None, :] - other.ends[None, :, :]).transpose(2, 0, 1))
    return bool(min(gaps[0, 0] + gaps[1, 1], gaps[0, 1] + gaps[1, 0]) < 24.0)


def straight_parts(line: Points, *, least: float, bend: float = 1.5) -> list[Points]:
    """The straight stretches of a polyline, each as its two ends (2, 2), none shorter than ``least``."""
    if len(line) < 2:
        return []
    chord = line[-1] - line[0]
    way = unit(chord)
    gap = line - line[0]
    off = np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0])
    if np.hypot(*chord) < 1e-6:
        off = np.hypot(*gap.T)
    k = int(np.argmax(off))
    if off[k] > bend and 0 < k < len(line) - 1:
        return straight_parts(line[: k + 1], least=least, bend=bend) + straight_parts(line[k:], least=least, bend=bend)
    return [straightened(line)] if lengths_along(line)[-1] >= least else []


def _pairs(legs: list[Points]) -> list[tuple[float, int, int, Wedge]]:
    """Pairs of straight legs that point at one apex, with the gap left between their ends."""
    out = []
    for i in range(len(legs)):
        for j in range(i + 1, len(legs)):
            for one in (legs[i], legs[i][::-1]):
                for other in (legs[j], legs[j][::-1]):
                    wedge = _wedge(one, other)
                    if wedge is not None:
                        out.append((float(np.hypot(*(one[0] - other[0]))), i, j, wedge))
    return out


def _wedge(one: Points, other: Points) -> Wedge | None:
    """A wedge from two legs, each from apex to far end; None if they don't meet there."""
    if np.hypot(*(one[0] - other[0])) > APEX_GAP_MM:
        return None
    u, v = unit(one[1] - one[0]), unit(other[1] - other[0])
    angle = np.degrees(np.arccos(np.clip(u @ v, -1, 1)))
    if not NARROWEST_DEG < angle < WIDEST_DEG:
        return None
    apex = meet(one[0], u, other[0], v)
    near = (one[0] + other[0]) / 2
    if apex is None or np.hypot(*(apex - near)) > 2 * APEX_GAP_MM:
        apex = near
    return Wedge(apex=apex, ends=np.array([one[1], other[1]]), evidence="measured")


# ---------------------------------------------------------------- from the cut line alone


def _from_cap(edge: NamedEdge, cap: Cap) -> CutDart | None:
    """A dart known by its peak only: each leg halves the angle at its kink, and both are equally long."""
    if cap.score < SURE_CAP_SCORE or min(cap.start, lengths_along(edge.points)[-1] - cap.end) < 8.0:
        return None
    half = (cap.end - cap.start) / 2
    reach = min(60.0, cap.start - 3.0, lengths_along(edge.points)[-1] - cap.end - 3.0)
    ways = [
        _way(edge.points, cap.start - max(reach, 8.0), cap.start - 1.0),
        _way(edge.points, cap.start + 1.0, cap.peak - 1.0),
        _way(edge.points, cap.peak + 1.0, cap.end - 1.0),
        _way(edge.points, cap.end + 1.0, cap.end + max(reach, 8.0)),
    ]
    legs = [_left(unit(ways[0] + ways[1])), _left(unit(ways[2] + ways[3]))]
    angle = float(np.arctan2(legs[0][0] * legs[1][1] - legs[0][1] * legs[1][0], legs[0] @ legs[1]))
    crossings = np.array([point_at(edge.points, cap.start), point_at(edge.points, cap.end)])
    width = float(np.hypot(*(crossings[1] - crossings[0])))
    if not np.radians(NARROWEST_DEG) < angle < np.radians(WIDEST_DEG):
        return None
    deep = width / 2 / np.tan(angle / 2)
    apex = crossings.mean(0) + deep * _left(unit(crossings[1] - crossings[0]))
    doubt = 2.0 * deep * (0.12 / max(half, 4.0)) / angle
    return CutDart(
        on=edge.name,
        apexes=apex,
        crossings=crossings,
        span=(cap.start, cap.end),
        evidence="deduced",
        apex_uncertainty_mm=float(doubt),
    )


def _left(way: Points) -> Points:
    return np.array([-way[1], way[0]])


def _way(line: Points, start: float, end: float) -> Points:
    """Direction of the straight line fitted to a stretch, along the line."""
    part = stretch(line, max(start, 0.0), min(end, lengths_along(line)[-1]))
    ends = straightened(part)
    return unit(ends[1] - ends[0])
