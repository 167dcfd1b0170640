"""Double-pointed darts: two lines, each bent once, that meet at both their ends inside the piece."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import Straight, angle_between_deg, fit_straight, meeting

_SHORTEST_MM = 50.0
_BENT_MM = 1.5  # how far the bend lies off the straight line between the ends, at least
_HALF_RMS_MM = 0.6
_REACH_MM = 14.0  # how far a line may stop short of a point, or run past it
_INSIDE_MM = 20.0  # from the outline, at least
_WIDEST_DEG = 45.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoubleDart:
    """A double-pointed dart: ``apexes`` (2, 2), ``widest`` (2, 2) where it is widest, ``chains`` its lines."""

    apexes: Points
    widest: Points
    chains: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bent:
    chains: tuple[int, ...]
    halves: tuple[Straight, Straight]
    bend: Points
    ends: Points


def find_double_darts(
    chains: tuple[Chain, ...], border: Border, *, ignore: frozenset[int] = frozenset()
) -> tuple[DoubleDart, ...]:
    """Double-pointed darts among the chains, each chain in one at most."""
    bent = [b for k, c in enumerate(chains) if k not in ignore and (b := _bent(k, c)) is not None]
    bent += _broken_at_bend(chains, ignore)
    bent = [b for b in bent if border.distance(b.bend[None])[0] > _INSIDE_MM]
    taken: set[int] = set()
    found = []
    for i, a in enumerate(bent):
        for b in bent[i + 1 :]:
            dart = _closed_by(a, b)
            if dart is not None and taken.isdisjoint(dart.chains):
                taken.update(dart.chains)
                found.append(dart)
    return tuple(found)


def _bent(index: int, chain: Chain) -> _Bent | None:
    """A chain as two straight halves; None if it is straight, curved or short."""
    points = chain.points
    if chain.length < _SHORTEST_MM or chain.straightness < 0.9:
        return None
    chord = Straight(middle=points[0], direction=_unit(points[-1] - points[0]), rms=0.0)
    off = np.abs(chord.aside(points))
    at = int(np.argmax(off))
    if off[at] < _BENT_MM or min(at, len(points) - at) < 0.15 * len(points):
        return None
    halves = fit_straight(points[:at]), fit_straight(points[at:])
    bend = meeting(*halves)
    if bend is None or max(h.rms for h in halves) > _HALF_RMS_MM or np.hypot(*(bend - points[at])) > 8.0:
        return None
    return _Bent(chains=(index,), halves=halves, bend=bend, ends=points[[0, -1]])


def _broken_at_bend(chains: tuple[Chain, ...], ignore: frozenset[int]) -> list[_Bent]:
    """Two straight chains each that run on from one another at an angle, as one bent line."""
    straight = [(k, c, fit_straight(c.points)) for k, c in enumerate(chains) if k not in ignore and c.length > 15.0]
    straight = [s for s in straight if s[2].rms < _HALF_RMS_MM]
    found = []
    for i, (k, first, line) in enumerate(straight):
        for j, second, other in straight[i + 1 :]:
            ends = [(a, b) for a in (0, -1) for b in (0, -1)]
            a, b = min(ends, key=lambda e: float(np.hypot(*(first.points[e[0]] - second.points[e[1]]))))
            bend = meeting(line, other)
            if bend is None or max(np.hypot(*(bend - p)) for p in (first.points[a], second.points[b])) > _REACH_MM:
                continue
            far = np.array([first.points[-1 - a], second.points[-1 - b]])
            if angle_between_deg(bend - far[0], far[1] - bend) < _WIDEST_DEG:
                found.append(_Bent(chains=(k, j), halves=(line, other), bend=bend, ends=far))
    return found


def _closed_by(a: _Bent, b: _Bent) -> DoubleDart | None:
    """The dart that two bent lines enclose; None if they do not meet at both ends."""
    forwards = np.hypot(*(a.ends - b.ends).T).max() <= np.hypot(*(a.ends - b.ends[::-1]).T).max()
    order = (0, 1) if forwards else (1, 0)
    apexes = []
    for i in (0, 1):
        apex = meeting(a.halves[i], b.halves[order[i]])
        if apex is None or max(np.hypot(*(apex - a.ends[i])), np.hypot(*(apex - b.ends[order[i]]))) > _REACH_MM:
            return None
        if angle_between_deg(a.bend - apex, b.bend - apex) > _WIDEST_DEG:
            return None
        apexes.append(apex)
    return DoubleDart(apexes=np.array(apexes), widest=np.array([a.bend, b.bend]), chains=a.chains + b.chains)


def _unit(vector: Points) -> Points:
    return np.asarray(vector / np.hypot(*vector))
