"""Fairing: a measured edge drawn as smooth curves between true corners."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.points import Points, resample, signed_area
from convert.trace.local_fit import local_fit, support, tricube
from convert.trace.ring import STEP_MM

Values = npt.NDArray[np.float64]

_SIDE_MM = 10.0  # of edge on each side that decides whether there is a corner
_GAP_MM = 1.5  # of edge next to a corner that a rough ring has rounded
_CURVE_MM = 6.0  # half-width of the fit along a curve
KINK_DEG = 9.0  # two sides that meet at more than this make a corner
_FEWEST = 6.0  # trusted samples on each side of a corner
_APART_MM = 4.0  # between two corners


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FairRing:
    """A ring (N, 2) mm of smooth runs, the indices (K,) of its corners, and of which sample each point came (N,)."""

    points: Points
    corners: npt.NDArray[np.int64]
    source: npt.NDArray[np.int64]


def kinks(points: Points, weight: Values) -> tuple[Values, Points]:
    """Angle (N,) in degrees between an open run before and after each sample, and where the two sides meet (N, 2)."""
    reach, gap = round(_SIDE_MM / STEP_MM), round(_GAP_MM / STEP_MM)
    sides, known = [], np.full(len(points), np.inf)
    for side in (-1, 1):
        kernel, offset = tricube(reach, side=side, gap=gap)
        sides.append(local_fit(points, weight, kernel, offset, degree=2, rounds=2))
        known = np.minimum(known, support(weight, kernel, offset))
    (p, u), (q, v) = sides
    cross = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    angle = np.where(known >= _FEWEST, np.degrees(np.arctan2(cross, (u * v).sum(1))), 0.0)
    safe = np.where(np.abs(cross) < 1e-9, 1e-9, cross)
    part = ((q - p)[:, 0] * v[:, 1] - (q - p)[:, 1] * v[:, 0]) / safe
    return angle, p + np.clip(part, -8, 8)[:, None] * u


def find_corners(points: Points, weight: Values) -> tuple[npt.NDArray[np.int64], Points]:
    """Samples (K,) at which an edge has corners, in order, and the corners' true places (K, 2).

    The sharpest is taken first; it ends the runs to both sides of it, which are searched again, so that no corner is
    mistaken for a bend of the edge beside it.
    """
    n = len(points)
    found: dict[int, Points] = {}
    reach = round(_SIDE_MM / STEP_MM)
    sharpest = _sharpest(_wrap(points, reach), _wrap(weight, reach), reach)
    if sharpest is None:
        return np.zeros(0, np.int64), np.zeros((0, 2))
    first = (sharpest[0] - reach) % n
    found[first] = sharpest[1]
    runs = [(first, first + n)]
    while runs:
        start, stop = runs.pop()
        index = np.arange(start, stop + 1) % n
        inside = _sharpest(points[index], _apart(weight[index]), round(_APART_MM / STEP_MM))
        if inside is not None:
            found[(start + inside[0]) % n] = inside[1]
            runs += [(start, start + inside[0]), (start + inside[0], stop)]
    corners = np.array(sorted(found), np.int64)
    return corners, np.array([found[int(c)] for c in corners])


def _apart(weight: Values) -> Values:
    """Weights of a run without its ends, where the rough ring was rounded."""
    out = weight.copy()
    gap = round(_GAP_MM / STEP_MM)
    out[:gap] = out[-gap:] = 0.0
    return out


def _sharpest(points: Points, weight: Values, margin: int) -> tuple[int, Points] | None:
    """The sample with the largest kink in an open run and the corner's place, or None if there is no corner."""
    if len(points) <= 2 * margin + 2:
        return None
    angle, meet = kinks(points, weight)
    size = np.abs(angle)
    size[np.hypot(*(meet - points).T) > 4.0] = 0.0
    size[:margin] = size[-margin:] = 0.0
    index = int(size.argmax())
    return (index, meet[index]) if size[index] >= KINK_DEG else None


def fair(points: Points, weight: Values) -> FairRing:
    """The edge through measured samples, smooth between its corners; the corners where their two sides meet."""
    corners, at = find_corners(points, weight)
    n = len(points)
    if len(corners) < 2:
        pad = round(3 * _CURVE_MM / STEP_MM)
        kernel, offset = tricube(round(_CURVE_MM / STEP_MM))
        smooth, _ = local_fit(_wrap(points, pad), _wrap(weight, pad), kernel, offset)
        return FairRing(points=smooth[pad:-pad], corners=corners, source=np.arange(n))
    runs, sources, starts = [], [], []
    for k, first in enumerate(corners):
        last = corners[(k + 1) % len(corners)]
        run, source = _run(points, weight, int(first), int(last), at[k], at[(k + 1) % len(corners)])
        starts.append(sum(map(len, runs)))
        runs.append(run)
        sources.append(source)
    ring = np.vstack(runs)
    if signed_area(ring) <= 0:
        raise ValueError("a fair ring must run counter-clockwise")
    return FairRing(points=ring, corners=np.array(starts, np.int64), source=np.concatenate(sources))


def _run(
    points: Points, weight: Values, first: int, last: int, start: Points, stop: Points
) -> tuple[Points, npt.NDArray[np.int64]]:
    """The smooth run from one corner to the next, without the latter."""
    count = (last - first) % len(points) + 1
    index = np.arange(first, first + count) % len(points)
    inner = weight[index].copy()
    gap = min(round(_GAP_MM / STEP_MM), max(0, (count - 4) // 3))
    inner[:gap] = inner[count - gap :] = 0.0
    if count < 6:
        line = resample(np.vstack([start, stop]), STEP_MM)[:-1]
        return line, np.full(len(line), first, np.int64)
    kernel, offset = tricube(max(4, min(round(_CURVE_MM / STEP_MM), count // 2)))
    smooth, _ = local_fit(points[index], inner, kernel, offset)
    kept = slice(max(gap, 1), count - max(gap, 1))
    line = np.vstack([start, smooth[kept], stop])
    out = resample(line, STEP_MM)[:-1]
    share = np.linspace(0, count - 1, len(out) + 1)[:-1]
    return out, index[np.rint(share).astype(int)]


def _wrap(values: Values, pad: int) -> Values:
    return np.concatenate([values[-pad:], values, values[:pad]])
