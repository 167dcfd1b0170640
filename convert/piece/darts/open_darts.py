"""Darts cut out of the paper as open wedges: taken out of the outline, which runs straight across their mouths."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, resample
from convert.piece.darts.darts import Wedge
from convert.piece.names.naming import straightened
from convert.piece.outline.meeting import meet, unit
from convert.piece.outline.placement import Placement
from convert.trace.tracing import Tracing

_STEP_MM = 0.5
_ARM_MM = 8.0  # over which the turn at a dart's point is taken
_POINT_DEG = 100.0  # the outline turns back by more there; a corner cut into the paper turns back by about 90
_LEG_MM = (25.0, 300.0)
_MOUTH_MM = (4.0, 90.0)
_WIDEST = 0.9  # mouth over the shorter leg
_OFF_MM = 0.8  # how far a leg cut with scissors wanders off its line
_TIP_MM = 7.0  # the cut's end is left out: scissors round it, and tracing ends where it is too narrow to see into
_BEYOND_MM = 30.0  # so far on the legs may meet


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenDarts:
    """A tracing whose outline runs across its open darts' mouths, and those darts, in the same frame."""

    tracing: Tracing
    wedges: tuple[Wedge, ...] = ()

    def in_frame(self, placement: Placement) -> tuple[Wedge, ...]:
        """The darts in a piece's frame."""
        return tuple(
            replace(one, apex=placement.to_piece(one.apex[None])[0], ends=placement.to_piece(one.ends))
            for one in self.wedges
        )


def without_open_darts(tracing: Tracing) -> OpenDarts:
    """Deep wedges with two straight sides, cut into the paper, read as darts cut out along their legs.

    The dart's point is where its legs meet, its legs end where the edge begins to run on.
    """
    wedges: list[Wedge] = []
    while True:
        found = next((cut for k in _points(tracing.outline) if (cut := _wedge(tracing.outline, k)) is not None), None)
        if found is None:
            return OpenDarts(tracing=tracing, wedges=tuple(wedges))
        start, end, wedge = found
        tracing = _closed(tracing, start, end)
        wedges.append(wedge)


def _points(ring: Points) -> list[int]:
    """Where a ring turns back sharply, the sharpest place of each."""
    reach = round(_ARM_MM / _STEP_MM)
    u, v = ring - np.roll(ring, reach, axis=0), np.roll(ring, -reach, axis=0) - ring
    turn = -np.degrees(np.arctan2(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0], (u * v).sum(1)))
    places: list[int] = []
    for k in np.argsort(-turn):
        if turn[k] < _POINT_DEG:
            break
        if all(min((k - p) % len(ring), (p - k) % len(ring)) > 2 * reach for p in places):
            places.append(int(k))
    return places


def _wedge(ring: Points, apex: int) -> tuple[int, int, Wedge] | None:
    """Where (indices) an open dart begins and ends on a ring, and the dart; None if there is none about a place."""
    before, after = _leg(ring, apex, -1), _leg(ring, apex, 1)
    if before is None or after is None:
        return None
    (first, one), (last, other) = before, after
    point = meet(one[0], unit(one[1] - one[0]), other[0], unit(other[1] - other[0]))
    if point is None or np.hypot(*(point - ring[apex])) > _BEYOND_MM:
        return None
    ends = np.array([one[1], other[1]])
    long, mouth = np.hypot(*(ends - point).T), float(np.hypot(*(ends[1] - ends[0])))
    if not _MOUTH_MM[0] < mouth < min(_MOUTH_MM[1], _WIDEST * float(long.min())):
        return None
    if min(long) < _LEG_MM[0] or max(long) > _LEG_MM[1] or min(long) < 0.6 * max(long):
        return None
    return first, last, Wedge(apex=point, ends=ends, evidence="measured", stops=False)


def _leg(ring: Points, apex: int, way: int) -> tuple[int, Points] | None:
    """The index where a leg ends that leaves a place one way round, and its line (2, 2) outwards; None if it bends."""
    count = round(_LEG_MM[1] / _STEP_MM) + 20
    index = (apex + way * np.arange(count)) % len(ring)
    line, skip = ring[index], round(_TIP_MM / _STEP_MM)
    stop = round(_LEG_MM[0] / _STEP_MM)
    for _ in range(3):
        ends = straightened(line[skip:stop])
        along = unit(ends[1] - ends[0])
        gap = line - ends[0]
        off = np.abs(along[0] * gap[:, 1] - along[1] * gap[:, 0])
        bent = np.flatnonzero(off[skip:] > _OFF_MM)
        if len(bent) == 0 or skip + bent[0] < round(0.8 * _LEG_MM[0] / _STEP_MM):
            return None
        stop = skip + int(bent[0])
    last = stop - 1
    return int(index[last]), np.array([ends[0], ends[0] + along * float((line[last] - ends[0]) @ along)])


def _closed(tracing: Tracing, start: int, end: int) -> Tracing:
    """The tracing with a straight line from one point of its ring to another further on."""
    ring, n = tracing.outline, len(tracing.outline)
    keep = np.arange(end, end + (start - end) % n + 1) % n
    bridge = resample(ring[[start, end]], _STEP_MM)[1:-1]
    fresh = np.zeros(len(bridge), bool)
    corner = np.zeros(n, bool)
    corner[tracing.corners] = True
    near = np.minimum(np.hypot(*(ring - ring[start]).T), np.hypot(*(ring - ring[end]).T)) < 3.0
    return replace(
        tracing,
        outline=np.vstack([ring[keep], bridge]),
        corners=np.flatnonzero(np.concatenate([(corner & ~near)[keep], fresh])),
        inferred=np.concatenate([tracing.inferred[keep], fresh]),
        told=None if tracing.told is None else np.concatenate([tracing.told[keep], fresh]),
        marks=tuple(mark for mark in tracing.marks if mark.kind != "notch" or not _in_mouth(mark.at, ring, start, end)),
    )


def _in_mouth(at: Points, ring: Points, start: int, end: int) -> bool:
    """Whether a notch was read on the sides of the wedge that is taken out, well away from its ends."""
    n = len(ring)
    gone = ring[(start + np.arange((end - start) % n + 1)) % n]
    gap: npt.NDArray[np.float64] = np.hypot(*(gone - at).T)
    return bool(gap.min() < 2.0 and 6 < int(gap.argmin()) < len(gone) - 7)
