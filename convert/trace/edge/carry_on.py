"""Carrying an outline on where it can't be seen: under a weight, over a tear, round a missing corner."""

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from convert.trace.edge.local_fit import end_fit
from convert.trace.edge.ring import STEP_MM

_LEARN_MM = (18.0, 12.0, 8.0, 5.0)  # of visible edge on each side that tells where the hidden one runs
_CLEAR_MM = 1.0  # next to what is hidden, left out of that
_CORNER_DEG = 60.0  # two sides that run towards each other at more than this meet in a corner
_KINK_DEG = 7.0  # two straight sides at more than this
_POINTED, _POINT_MM = 1.4, 32.0  # times what two sides alike make of it, and at most: how far off a pointed corner lies
_STRAIGHT_MM = 0.08  # root mean square distance from a straight line


def carried_on(ring: Points, hidden: npt.NDArray[np.bool_]) -> tuple[Points, npt.NDArray[np.bool_]]:
    """An even ring with its hidden stretches drawn from what shows on both sides, and which points are so drawn.

    Two sides that bend towards each other meet in a corner if it lies within reach; else a cubic joins them.
    """
    if not hidden.any() or hidden.all():
        return ring, hidden
    n = len(ring)
    turn = int(np.flatnonzero(~hidden)[0])
    ring, hidden = np.roll(ring, -turn, axis=0), np.roll(hidden, -turn)
    parts, flags, done = [], [], 0
    for first, last in _stretches(hidden):
        parts.append(ring[done:first])
        flags.append(np.zeros(first - done, bool))
        drawn = _drawn(ring, first, last, n)
        parts.append(drawn)
        flags.append(np.ones(len(drawn), bool))
        done = last
    parts.append(ring[done:])
    flags.append(np.zeros(n - done, bool))
    return np.vstack(parts), np.concatenate(flags)


def _stretches(hidden: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], hidden, [False]]).astype(int)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _drawn(ring: Points, first: int, last: int, n: int) -> Points:
    """Points in place of those from ``first`` up to ``last``."""
    clear, learn = round(_CLEAR_MM / STEP_MM), round(max(_LEARN_MM) / STEP_MM)
    steps = np.arange(clear, clear + learn)
    p, u, straight_before = _side(ring[(first - 1 - steps) % n])
    q, v, straight_after = _side(ring[(last + steps) % n])
    u = -u
    cross = float(u[0] * v[1] - u[1] * v[0])
    bend = abs(float(np.degrees(np.arctan2(cross, u @ v))))
    chord = float(np.hypot(*(q - p)))
    if bend > (_KINK_DEG if straight_before and straight_after else _CORNER_DEG):
        ahead = ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross
        behind = ((q - p)[0] * u[1] - (q - p)[1] * u[0]) / cross
        reach = max(1.5 * chord, min(_POINTED * chord / (2 * np.cos(np.radians(bend / 2))), _POINT_MM))
        if 0 < ahead < reach and -reach < behind < 0:
            corner = p + ahead * u
            return np.vstack([_line(p, corner), _line(corner, q)])
    t = np.linspace(0, 1, max(2, round(chord / STEP_MM)))[:-1, None]
    u, v = chord * u, chord * v
    return np.asarray(
        (2 * t**3 - 3 * t**2 + 1) * p + (t**3 - 2 * t**2 + t) * u + (3 * t**2 - 2 * t**3) * q + (t**3 - t**2) * v
    )


def _side(points: Points) -> tuple[Points, Points, bool]:
    """Where visible points, given from what is hidden outwards, end; their direction there; whether they are straight.

    The longest straight stretch next to what is hidden tells; without one a parabola does.
    """
    clear = round(_CLEAR_MM / STEP_MM)
    if _curved(points):
        return _parabola(points, clear)
    for learn in _LEARN_MM:
        part = points[: round(learn / STEP_MM)]
        middle = part.mean(0)
        _, size, direction = np.linalg.svd(part - middle)
        if size[1] / np.sqrt(len(part)) < _STRAIGHT_MM:
            along = direction[0] * np.sign(direction[0] @ (part[-1] - part[0]))
            return middle + ((points[0] - middle) @ along - _CLEAR_MM) * along, along, True
    return _parabola(points[: round(10.0 / STEP_MM)], clear)


def _curved(points: Points) -> bool:
    """Whether points lie on one smooth bend: a parabola fits them and a straight line does not."""
    t = np.linspace(-1, 1, len(points))
    line, bend = (
        np.sqrt(
            ((points - np.polynomial.polynomial.polyval(t, np.polyfit(t, points, degree)[::-1]).T) ** 2).sum(1).mean()
        )
        for degree in (1, 2)
    )
    return bool(line > _STRAIGHT_MM and bend < min(0.3 * line, _STRAIGHT_MM))


def _parabola(points: Points, clear: int) -> tuple[Points, Points, bool]:
    place, slope = end_fit(points, np.ones(len(points)), clear + np.arange(len(points), dtype=float))
    return place, slope / np.hypot(*slope), False


def _line(a: Points, b: Points) -> Points:
    return a + np.linspace(0, 1, max(2, round(float(np.hypot(*(b - a))) / STEP_MM) + 1))[:-1, None] * (b - a)
