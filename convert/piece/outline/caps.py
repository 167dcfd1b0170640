"""The small peaks that a folded dart leaves in the cut line."""

import itertools
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along, resample

STEP_MM = 0.5
HALF_WIDTHS_MM = (4.0, 5.0, 6.0, 7.0, 8.0, 9.5, 11.0, 13.0, 15.0, 17.0, 19.0, 21.0, 24.0, 27.0, 31.0, 36.0, 42.0)
LEAST_HEIGHT_MM = 0.5
LEAST_KINK_DEG = 2.5
LEAST_SCORE = 4.0
"""How many times its own misfit a peak must be high."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """A folded dart's peak on an open line: arc lengths of its first kink, peak and last kink, and its height."""

    start: float
    peak: float
    end: float
    height: float
    score: float


def find_caps(line: Points) -> tuple[Cap, ...]:
    """Peaks of folded darts on an edge (N, 2) of a counter-clockwise cut line, in order along it.

    A cap turns outward, peaks and turns back: three straight-sided kinks, the middle one as great as the other two
    together, because the paper under the fold is cut as the mirror image of the edge beside it.
    """
    even = resample(line, STEP_MM)
    step = lengths_along(even)[-1] / (len(even) - 1)
    found: list[Cap] = []
    for half in HALF_WIDTHS_MM:
        found += _caps_of(even, step, half)
    found.sort(key=lambda cap: -cap.score)
    kept: list[Cap] = []
    for cap in found:
        if all(cap.start > other.end or cap.end < other.start for other in kept):
            kept.append(cap)
    return tuple(sorted((_refined(even, step, cap) for cap in kept), key=lambda cap: cap.peak))


def _caps_of(even: Points, step: float, half: float) -> list[Cap]:
    """Places where a cap of this half width fits, with how well."""
    h, m = round(half / step), round(min(max(half, 8.0), 20.0) / step)
    n = len(even)
    at = np.arange(h + m, n - h - m)
    if len(at) == 0:
        return []
    a, b, c, d, e = (even[at + shift] for shift in (-h - m, -h, 0, h, h + m))
    kinks = np.array([_turn(b - a, c - b), _turn(c - b, d - c), _turn(d - c, e - d)])
    first, peak, last = -kinks[0], kinks[1], -kinks[2]
    both = first + last
    good = (first > LEAST_KINK_DEG) & (last > LEAST_KINK_DEG) & (both < 90)
    good &= np.abs(peak - both) < np.maximum(4.0, 0.35 * both)
    good &= np.minimum(first, last) > 0.45 * np.maximum(first, last)
    height = half * np.sin(np.radians(np.minimum(first, last)))
    good &= height > LEAST_HEIGHT_MM
    caps = []
    for k in np.flatnonzero(good):
        misfit = _misfit(even, int(at[k]), h, m)
        score = float(height[k]) / (misfit + 0.08)
        if score > LEAST_SCORE:
            s = float(at[k]) * step
            caps.append(Cap(start=s - half, peak=s, end=s + half, height=float(height[k]), score=score))
    return caps


def _turn(before: Points, after: Points) -> npt.NDArray[np.float64]:
    cross = before[..., 0] * after[..., 1] - before[..., 1] * after[..., 0]
    turned: npt.NDArray[np.float64] = np.degrees(np.arctan2(cross, (before * after).sum(-1)))
    return turned


def _misfit(even: Points, at: int, h: int, m: int) -> float:
    """RMS distance of the stretch from the chords between its kinks."""
    knots = [at - h - m, at - h, at, at + h, at + h + m]
    off = []
    for i, j in itertools.pairwise(knots):
        way = even[j] - even[i]
        way = way / max(float(np.hypot(*way)), 1e-9)
        gap = even[i : j + 1] - even[i]
        off.append(gap[:, 0] * way[1] - gap[:, 1] * way[0])
    return float(np.sqrt(np.mean(np.concatenate(off) ** 2)))


def _refined(even: Points, step: float, cap: Cap) -> Cap:
    """Kinks where straight lines fitted beside and on the cap meet."""
    reach = min(max((cap.end - cap.start) / 2, 8.0), 20.0)
    knots = [cap.start - reach, cap.start, cap.peak, cap.end, cap.end + reach]
    sides = []
    for a, b in itertools.pairwise(knots):
        trim = 0.12 * (b - a)
        i, j = int(np.ceil((a + trim) / step)), int((b - trim) / step) + 1
        part = even[max(i, 0) : j]
        middle = part.mean(0)
        sides.append((middle, np.linalg.svd(part - middle, full_matrices=False)[2][0]))
    meets = [_meet(*one, *other) for one, other in itertools.pairwise(sides)]
    along = []
    for point, guess in zip(meets, knots[1:4], strict=True):
        i = int(np.clip(round(guess / step), 1, len(even) - 2))
        way = even[min(i + 4, len(even) - 1)] - even[max(i - 4, 0)]
        shift = float((point - even[i]) @ way / max(float(np.hypot(*way)), 1e-9))
        along.append(i * step + float(np.clip(shift, -4.0, 4.0)))
    return Cap(start=along[0], peak=along[1], end=along[2], height=cap.height, score=cap.score)


def _meet(p: Points, u: Points, q: Points, v: Points) -> Points:
    cross = u[0] * v[1] - u[1] * v[0]
    if abs(cross) < 1e-6:
        return np.asarray((p + q) / 2)
    share = ((q - p)[0] * v[1] - (q - p)[1] * v[0]) / cross
    return np.asarray(p + share * u)
