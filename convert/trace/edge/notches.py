"""Notches in the paper's edge: V cuts, slits and triangles standing out, found on the rough outline and bridged."""

from dataclasses import dataclass
from itertools import product

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from convert.trace.edge.ring import STEP_MM, arc, smooth_ring, turns

WIDEST_MM = 13.0
DEEPEST_MM = 11.0
SHALLOWEST_MM = 1.6
_TIP_TURN_DEG = 55.0  # a notch's point turns at least this sharply
_REACHES_MM = (2.0, 3.0, 4.0)  # what lines of the mat blunt of a triangle shows over more of the edge only
_BLUNT_MM = 2.5  # and is as deep as this: what a crossing line itself adds is shallower
_MOUTH_TURN_DEG = 18.0
_TWIN_MM = 18.0  # the next point of a double notch is so near, along the edge
_BEND_DEG = 40.0  # the edge runs on across a notch's mouth within this


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Notch:
    """A notch on a ring: indices of its mouth's two ends and of its tip, ``depth_mm``, and whether it stands out."""

    first: int
    last: int
    tip: int
    depth_mm: float
    outward: bool


def find_notches(ring: Points) -> tuple[Notch, ...]:
    """The notches of an even counter-clockwise ring.

    A notch is a sharp point with a bend the other way on each side, whose mouth the edge runs straight across.
    """
    smooth = smooth_ring(ring, 0.8)
    bend, *wider = (turns(smooth, round(reach / STEP_MM)) for reach in _REACHES_MM)
    n = len(ring)
    found: list[Notch] = []
    for sign in (-1, 1):  # a V cut's tip turns right on a counter-clockwise ring, a triangle's left
        sharp, mouths = sign * bend, [-sign * bend]
        if sign > 0:
            sharp = np.max([sharp, *wider], axis=0)
            mouths.append(np.max([-bend, *(-wide for wide in wider)], axis=0))
        tips = np.flatnonzero((sharp > _TIP_TURN_DEG) & (sharp >= np.roll(sharp, 1)) & (sharp > np.roll(sharp, -1)))
        for counter in mouths:
            for tip in tips:
                notch = _notch_at(ring, counter, int(tip), tips, outward=sign > 0)
                if notch and sign * bend[tip] < _TIP_TURN_DEG and notch.depth_mm < _BLUNT_MM:
                    continue
                if notch and not any(_overlap(notch, other, n) for other in found):
                    found.append(notch)
    return tuple(sorted(found, key=lambda notch: notch.first))


def _notch_at(ring: Points, counter: Points, tip: int, tips: npt.NDArray[np.int64], *, outward: bool) -> Notch | None:
    """The notch with its point at ``tip``, if there is one; ``tips`` are all such points."""
    n = len(ring)
    near, far = round(1.5 / STEP_MM), round(1.6 * DEEPEST_MM / STEP_MM)
    steps = np.arange(near, far)
    ends: list[list[int]] = []
    for direction in (-1, 1):
        there = counter[(tip + direction * steps) % n]
        apart = np.hypot(*(ring[(tip + direction * steps) % n] - ring[tip]).T)
        there = np.where(apart <= DEEPEST_MM + 2, there, -np.inf)
        ends.append([int(steps[k]) for k in _mouth_ends(there)])
    for before, after in sorted(product(*ends), key=lambda pair: ends[0].index(pair[0]) + ends[1].index(pair[1])):
        first, last = (tip - before) % n, (tip + after) % n
        depth = _depth_mm(ring, first, tip, last, outward=outward)
        twins = [((other - last) % n, (first - other) % n) for other in tips if other != tip]
        if depth is not None and _runs_on(ring, first, last, twins):
            return Notch(first=first, last=last, tip=tip, depth_mm=depth, outward=outward)
    return None


def _mouth_ends(there: Points) -> list[int]:
    """Places at which a mouth may end by the bends ``there`` one way from a tip, the likeliest first."""
    peaks = [k for k in range(1, len(there) - 1) if there[k] >= max(there[k - 1], there[k + 1])]
    peaks = [k for k in peaks if there[k] > _MOUTH_TURN_DEG]
    if not peaks:
        return []
    best = max(there[k] for k in peaks)
    likeliest = next(k for k in peaks if there[k] > 0.6 * best)
    return [likeliest, *(k for k in peaks if k != likeliest)]


def _depth_mm(ring: Points, first: int, tip: int, last: int, *, outward: bool) -> float | None:
    """How deep a point lies off the mouth's chord, None where the three make no notch."""
    chord = ring[last] - ring[first]
    width = float(np.hypot(*chord))
    if not 0.4 < width < WIDEST_MM:
        return None
    normal = np.array([chord[1], -chord[0]]) / width
    depth = float((ring[tip] - ring[first]) @ normal) * (1 if outward else -1)
    return depth if SHALLOWEST_MM < depth < DEEPEST_MM and depth >= 0.3 * width else None


def _runs_on(ring: Points, first: int, last: int, twins: list[tuple[int, int]]) -> bool:
    """Whether the edge runs on straight across a mouth, at least on one side where a second notch follows on the other.

    ``twins`` tell how many samples after and before the mouth other notches' points lie.
    """
    n, lead, skip, far = len(ring), round(5.0 / STEP_MM), round(1.0 / STEP_MM), round(_TWIN_MM / STEP_MM)
    chord = ring[last] - ring[first]
    before = ring[(first - skip) % n] - ring[(first - skip - lead) % n]
    after = ring[(last + skip + lead) % n] - ring[(last + skip) % n]
    bent = _angle(before, chord), _angle(after, chord)
    if max(bent) <= _BEND_DEG and _angle(before, after) <= 1.3 * _BEND_DEG:
        return True
    follows, precedes = any(twin[0] < far for twin in twins), any(twin[1] < far for twin in twins)
    return (follows and bent[0] <= _BEND_DEG / 2) or (precedes and bent[1] <= _BEND_DEG / 2)


def _angle(a: Points, b: Points) -> float:
    return float(abs(np.degrees(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))))


def _overlap(a: Notch, b: Notch, n: int) -> bool:
    return (b.tip - a.first) % n <= (a.last - a.first) % n or (a.tip - b.first) % n <= (b.last - b.first) % n


def bridged(ring: Points, notches: tuple[Notch, ...]) -> Points:
    """The ring with each notch replaced by its mouth's chord."""
    if not notches:
        return ring
    parts = []
    for notch, following in zip(notches, notches[1:] + notches[:1], strict=True):
        chord = np.linspace(0, 1, 1 + max(1, round(mouth_mm(ring, notch) / STEP_MM)))[:-1, None]
        parts.append(ring[notch.first] + chord * (ring[notch.last] - ring[notch.first]))
        parts.append(arc(ring, notch.last, following.first)[:-1])
    return np.vstack(parts)


def mouth_mm(ring: Points, notch: Notch) -> float:
    """Width of a notch's mouth."""
    return float(np.hypot(*(ring[notch.last] - ring[notch.first])))
