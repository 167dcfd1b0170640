"""Where an outline turns: candidates for true corners."""

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, closed, lengths_along

REACH_MM = 12.0
"""Directions on either side of a point are taken over this length."""
LEAST_TURN_DEG = 27.0
"""An outline that turns less is no corner of its own accord."""
MOST_CANDIDATES = 14


def turns_deg(ring: Points, *, reach_mm: float = REACH_MM) -> npt.NDArray[np.float64]:
    """How far (N,) a counter-clockwise ring turns at each point, left positive, over ``reach_mm`` on either side."""
    round_ = np.vstack([ring, ring, ring])
    along = lengths_along(round_)
    n = len(ring)
    here = along[n : 2 * n]
    ahead = _at(round_, along, here + reach_mm) - ring
    behind = ring - _at(round_, along, here - reach_mm)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    turned: npt.NDArray[np.float64] = np.degrees(np.arctan2(cross, (behind * ahead).sum(1)))
    return turned


def _at(line: Points, along: npt.NDArray[np.float64], where: npt.NDArray[np.float64]) -> Points:
    return np.column_stack([np.interp(where, along, line[:, 0]), np.interp(where, along, line[:, 1])])


def corner_candidates(
    ring: Points, given: npt.NDArray[np.int64], forced: tuple[int, ...] = ()
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
    """Indices of points that may be true corners, in order round the ring, and how far each turns (degrees).

    ``given`` are corners that tracing found; they give the exact place where one lies near. ``forced`` were told and
    stay whatever the shape says.
    """
    turn = turns_deg(ring)
    along = lengths_along(closed(ring))
    peaks = _peaks(turn, along, LEAST_TURN_DEG)
    sharp = turns_deg(ring, reach_mm=4.0)
    exact = [_sharpest(k, sharp, along) for k in peaks]
    chosen = [_snap(k, given, along) for k in exact] + [int(k) for k in given if turn[k] >= 15.0]
    strongest = sorted(set(chosen), key=lambda k: -_best_near(k, turn, along))
    kept: list[int] = list(forced)
    for k in strongest:
        if len(kept) < MOST_CANDIDATES and all(_apart(k, other, along) > 6.0 for other in kept):
            kept.append(k)
    kept = sorted(set(kept))
    return np.array(kept, np.int64), np.array([_best_near(k, turn, along) for k in kept])


def _apart(a: int, b: int, along: npt.NDArray[np.float64]) -> float:
    gap = abs(float(along[a] - along[b]))
    return min(gap, float(along[-1]) - gap)


def _near(k: int, along: npt.NDArray[np.float64], within: float) -> npt.NDArray[np.int64]:
    gap = np.abs(along[:-1] - along[k])
    return np.flatnonzero(np.minimum(gap, along[-1] - gap) <= within)


def _best_near(k: int, turn: npt.NDArray[np.float64], along: npt.NDArray[np.float64]) -> float:
    return float(turn[_near(k, along, 3.0)].max())


def _sharpest(k: int, sharp: npt.NDArray[np.float64], along: npt.NDArray[np.float64]) -> int:
    near = _near(k, along, 5.0)
    return int(near[np.argmax(sharp[near])])


def _snap(k: int, given: npt.NDArray[np.int64], along: npt.NDArray[np.float64]) -> int:
    if len(given) == 0:
        return k
    nearest = min((int(g) for g in given), key=lambda g: _apart(k, g, along))
    return nearest if _apart(k, nearest, along) <= 5.0 else k


def _peaks(turn: npt.NDArray[np.float64], along: npt.NDArray[np.float64], least: float) -> list[int]:
    """Local maxima of the turn, strongest first, at least the reach apart."""
    open_ = turn >= least
    peaks: list[int] = []
    for k in np.argsort(-turn):
        if not open_[k]:
            if turn[k] < least:
                break
            continue
        peaks.append(int(k))
        open_[_near(int(k), along, REACH_MM)] = False
    return peaks
