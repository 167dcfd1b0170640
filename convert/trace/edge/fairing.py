"""Fairing: a measured edge drawn as smooth curves between true corners."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, lengths_along, resample, signed_area
from convert.trace.edge.local_fit import end_fit, local_fit, support, tricube
from convert.trace.edge.ring import STEP_MM
from convert.trace.edge.smoothing import smoothest

Values = npt.NDArray[np.float64]

_SIDE_MM = 10.0  # of edge on each side that decides whether there is a corner
_CURVE_MM = 6.0  # half-width of the fit along a curve
_APART_MM = 4.0  # between two corners
_FEWEST = 7.0  # trusted samples on each side of a corner
_VAGUE = ((0.3, 25.0), (0.5, 13.0))  # where less than this share of the edge is seen well, corners must be sharper
_NEAR_MM = 5.0
_GOOD = 0.15  # weight of a sample that is seen well
_TRUSTED = 0.02  # weight below which a sample is passed over
_STIFFNESS = 600.0  # samples half a millimetre apart: lets a bend of 20 mm wavelength through by half
_FAR_MM = 4.0  # a corner lies no further than this from the sample at which it is found


@dataclass(frozen=True, slots=True, kw_only=True)
class Fairness:
    """What counts as a corner: two sides that meet at more than ``kink_deg``, ``gap_mm`` next to it left out."""

    kink_deg: float
    gap_mm: float


ROUGH = Fairness(kink_deg=22.0, gap_mm=2.5)  # for an outline drawn from a mask, which rounds its corners
MEASURED = Fairness(kink_deg=8.0, gap_mm=1.0)  # for an edge measured across itself


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FairRing:
    """A ring (N, 2) mm of smooth runs.

    ``corners`` (K,) are indices into it, ``source`` (N,) the sample nearest to each point, ``drawn`` (N,) tells where
    it is carried on past samples that can't be trusted.
    """

    points: Points
    corners: npt.NDArray[np.int64]
    source: npt.NDArray[np.int64]
    drawn: npt.NDArray[np.bool_]


def fair(points: Points, weight: Values, how: Fairness, *, hints: Points | None = None) -> FairRing:
    """The edge through samples ``STEP_MM`` apart, smooth between its corners; the corners where their sides meet.

    ``hints`` (H, 2) are places where corners are expected; they are kept if they turn out to be corners.
    """
    corners, at = find_corners(points, weight, how, hints=hints)
    if len(corners) == 0:
        pad = round(3 * _CURVE_MM / STEP_MM)
        kernel, offset = tricube(round(_CURVE_MM / STEP_MM))
        smooth, _ = local_fit(_wrap(points, pad), _wrap(weight, pad), kernel, offset)
        return FairRing(
            points=smooth[pad:-pad], corners=corners, source=np.arange(len(points)), drawn=weight < _TRUSTED
        )
    runs: list[Points] = []
    drawn: list[npt.NDArray[np.bool_]] = []
    sources: list[npt.NDArray[np.int64]] = []
    starts: list[int] = []
    for k, first in enumerate(corners):
        following = (k + 1) % len(corners)
        index = _between(int(first), int(corners[following]), len(points))
        line, source, bare = _run(points[index], weight[index], at[k], at[following], how)
        starts.append(sum(len(r) for r in runs))
        runs.append(line)
        drawn.append(bare)
        sources.append(index[source])
    ring = np.vstack(runs)
    if signed_area(ring) <= 0:
        raise ValueError("a fair ring must run counter-clockwise")
    return FairRing(
        points=ring,
        corners=np.array(starts, np.int64),
        source=np.concatenate(sources),
        drawn=np.concatenate(drawn),
    )


def _run(
    points: Points, weight: Values, start: Points, stop: Points, how: Fairness
) -> tuple[Points, npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """The smooth run from a corner to the next, without the latter; each point's sample; what is carried on."""
    count = len(points)
    gap = max(1, min(round(how.gap_mm / STEP_MM), (count - 4) // 3))
    if count < 6:
        line = np.vstack([start, stop])
    else:
        trust = _without_ends(np.where(weight > _TRUSTED, weight, 0.0), gap)
        trust[[0, -1]] = 1.0
        line = smoothest(np.vstack([start, points[1:-1], stop]), trust, _STIFFNESS)
        told = np.flatnonzero(trust[1:-1] > 0) + 1
        kept = np.arange(told[0], told[-1] + 1) if len(told) else told
        line = np.vstack([start, _short_of(_short_of(line[kept], stop)[::-1], start)[::-1], stop])
    length = lengths_along(line)
    out = resample(line, STEP_MM)[:-1]
    source = np.interp(np.linspace(0, length[-1], len(out) + 1)[:-1], length, np.linspace(0, count - 1, len(line)))
    nearest = np.clip(np.rint(source), 0, count - 1).astype(np.int64)
    return out, nearest, weight[nearest] <= _TRUSTED


def _short_of(line: Points, corner: Points) -> Points:
    """A line without what runs past the corner at its end."""
    if len(line) < 8:
        return line
    heading = line[-3] - line[-8]
    heading = heading / max(float(np.hypot(*heading)), 1e-9)
    past = (line[-12:] - corner) @ heading > -0.3 * STEP_MM
    return line[: len(line) - int(past.sum())]


def find_corners(
    points: Points, weight: Values, how: Fairness, *, hints: Points | None = None
) -> tuple[npt.NDArray[np.int64], Points]:
    """Samples (K,) at which an edge has corners, in order, and the corners' true places (K, 2).

    The sharpest is taken first; it ends the runs to both sides of it, which are searched again, so that no corner is
    mistaken for a bend of the edge beside it. Those that are none once all are known are dropped again.
    """
    n = len(points)
    reach = round(_SIDE_MM / STEP_MM)
    if hints is not None and len(hints):
        found = sorted({int(np.argmin(((points - hint) ** 2).sum(1))) for hint in hints})
    else:
        found = sorted({(k - reach) % n for k in _sharpest(_wrap(points, reach), _wrap(weight, reach), reach, how)})
        if not found:
            return np.zeros(0, np.int64), np.zeros((0, 2))
    runs = [(a, a + ((b - a) % n or n)) for a, b in zip(found, found[1:] + found[:1], strict=True)]
    while runs:
        start, stop = runs.pop()
        index = np.arange(start, stop + 1) % n
        trust = _without_ends(weight[index], round(how.gap_mm / STEP_MM))
        inside = _sharpest(points[index], trust, round(_APART_MM / STEP_MM), how)
        if inside:
            found += [(start + k) % n for k in inside]
            cuts = [start, *(start + k for k in inside), stop]
            runs += list(pairwise(cuts))
    return _settled(points, weight, np.array(sorted(found), np.int64), how)


def _settled(
    points: Points, weight: Values, corners: npt.NDArray[np.int64], how: Fairness
) -> tuple[npt.NDArray[np.int64], Points]:
    """The corners that stay corners when each is judged by the runs to its neighbours alone, and their places."""
    known: dict[tuple[int, int], tuple[float, Points]] = {}

    def judged(before: int, corner: int, after: int) -> tuple[float, Points]:
        if (before, after) not in known:
            arriving = _end(points, weight, _between(before, corner, len(points))[::-1], how)
            leaving = _end(points, weight, _between(corner, after, len(points)), how)
            angle, place = _meet(arriving[0], -arriving[1], *leaving)
            far = float(np.hypot(*(place - points[corner]))) > _FAR_MM
            seen = _well_seen(weight, corner)
            vague = any(abs(float(angle)) < least_deg and seen < share for share, least_deg in _VAGUE)
            known[before, after] = (0.0, points[corner]) if far or vague else (abs(float(angle)), place)
        return known[before, after]

    while len(corners):
        round_it = zip(np.roll(corners, 1), corners, np.roll(corners, -1), strict=True)
        verdicts = [judged(int(a), int(b), int(c)) for a, b, c in round_it]
        weakest = int(np.argmin([angle for angle, _ in verdicts]))
        if verdicts[weakest][0] >= how.kink_deg:
            return corners, np.array([place for _, place in verdicts])
        corners = np.delete(corners, weakest)
    return corners, np.zeros((0, 2))


def _well_seen(weight: Values, index: int) -> float:
    """Share of good samples beside one, on the side that has fewer."""
    reach = round(_NEAR_MM / STEP_MM)
    n = len(weight)
    before, after = weight[np.arange(index - reach, index) % n], weight[np.arange(index + 1, index + reach + 1) % n]
    return float(min((before > _GOOD).mean(), (after > _GOOD).mean()))


def _end(points: Points, weight: Values, index: npt.NDArray[np.int64], how: Fairness) -> tuple[Points, Points]:
    """Place and direction at the first of a run of samples, carried on from the trusted ones clear of its ends."""
    gap = min(max(1, min(round(how.gap_mm / STEP_MM), (len(index) - 4) // 3)), max(len(index) - 2, 0))
    steps = np.arange(gap, max(len(index) - gap, gap + 2))
    trusted = steps[weight[index[steps]] > _TRUSTED]
    if len(trusted) >= 3:
        steps = trusted[trusted <= trusted[2] + round(_SIDE_MM / STEP_MM)]
    return end_fit(points[index[steps]], weight[index[steps]], steps.astype(float))


def _sharpest(points: Points, weight: Values, margin: int, how: Fairness) -> list[int]:
    """The samples with the largest kinks in an open run, far enough apart not to be mistaken for one another."""
    if len(points) <= 2 * margin + 2:
        return []
    reach, gap = round(_SIDE_MM / STEP_MM), round(how.gap_mm / STEP_MM)
    sides, known = [], np.full(len(points), np.inf)
    for side in (-1, 1):
        kernel, offset = tricube(reach, side=side, gap=gap)
        sides.append(local_fit(points, weight, kernel, offset, degree=2, rounds=1))
        known = np.minimum(known, support((weight > _TRUSTED).astype(float), kernel, offset))
    angle, meet = _meet(*sides[0], *sides[1])
    size = np.where(known >= _FEWEST, np.abs(angle), 0.0)
    size[np.hypot(*(meet - points).T) > _FAR_MM] = 0.0
    size[:margin] = size[-margin:] = 0.0
    chosen: list[int] = []
    for _ in range(len(size)):
        index = int(size.argmax())
        if size[index] < how.kink_deg:
            break
        chosen.append(index)
        size[max(0, index - 2 * reach) : index + 2 * reach + 1] = 0.0
    return sorted(chosen)


def _meet(p: Points, u: Points, q: Points, v: Points) -> tuple[Values, Points]:
    """Angle in degrees from direction ``u`` to ``v``, and where the line through ``p`` meets that through ``q``."""
    cross = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    angle = np.degrees(np.arctan2(cross, (u * v).sum(-1)))
    safe = np.where(np.abs(cross) < 1e-9, 1e-9, cross)
    part = ((q - p)[..., 0] * v[..., 1] - (q - p)[..., 1] * v[..., 0]) / safe
    return angle, p + np.clip(part, -20, 20)[..., None] * u


def _between(first: int, last: int, n: int) -> npt.NDArray[np.int64]:
    """Indices from ``first`` to ``last`` round a ring of ``n``, both kept; the whole ring where they are the same."""
    return np.arange(first, first + ((last - first) % n or n) + 1) % n


def _without_ends(weight: Values, gap: int) -> Values:
    """Weights of a run without what lies next to its ends."""
    out = weight.copy()
    out[:gap] = out[-gap:] = 0.0
    return out


def _wrap(values: Values, pad: int) -> Values:
    return np.concatenate([values[-pad:], values, values[:pad]])
