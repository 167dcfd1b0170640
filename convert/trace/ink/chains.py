"""Dashes strung into lines: strokes that carry each other on across a gap."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, as_points, cross, length, resample
from convert.trace.ink.strokes import Stroke

GAP_MM = 12.5  # longest gap bridged between dashes: two gaps and a dash that could not be read
_ASIDE_MM = 0.35  # how far a dash may lie beside the line of its neighbour, at no gap
_ASIDE_PER_MM = 0.15  # and how much more for each millimetre of gap
_ASIDE_MOST_AT_MM = 6.0
_TURN_DEG = 20.0  # between neighbouring dashes
_BARE = 0.13  # share of a dashed line that is gap, at least
_WANDER_DEG = 5.0  # turn every three millimetres of a line that nobody drew
_INK_RATIO = 1.9  # between neighbouring dashes of one line


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A printed line: strokes in order, each with its points in order.

    ``points`` (N, 2) are all of theirs, mat mm; ``starts`` the index in it at which each stroke starts.
    """

    points: Points
    starts: tuple[int, ...]
    ink: float

    @property
    def length(self) -> float:
        """From end to end along the line, gaps included."""
        return length(self.points[_every(len(self.points), 24)])

    @property
    def strokes(self) -> tuple[Points, ...]:
        """Points of each stroke."""
        return tuple(np.split(self.points, self.starts[1:]))

    @property
    def gaps(self) -> npt.NDArray[np.float64]:
        """Length of each gap between strokes."""
        at = np.array(self.starts[1:], int)
        return np.hypot(*(self.points[at] - self.points[at - 1]).T) if len(at) else np.zeros(0)

    @property
    def dashed(self) -> bool:
        """Whether it is broken at least every 25 mm, as no unbroken line is."""
        broken = self.gaps > 0.7
        bare = float(self.gaps.sum()) / max(self.length, 1e-9)
        return bool(broken.sum() >= 2 and bare > _BARE and self.length < 25.0 * (broken.sum() + 1))

    @property
    def straightness(self) -> float:
        """Share of its length that its ends lie apart."""
        return float(np.hypot(*(self.points[-1] - self.points[0])) / max(self.length, 1e-9))

    @property
    def drawn(self) -> bool:
        """Whether it runs as straight or as smoothly as a drawn line; tears and creases wander."""
        points = resample(self.points[_every(len(self.points), 400)], 3.0)
        step = np.diff(points, axis=0)
        turn = np.arctan2(step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0], (step[:-1] * step[1:]).sum(1))
        size = np.degrees(np.abs(turn))
        return len(turn) < 2 or bool(np.median(size) < _WANDER_DEG and np.quantile(size, 0.75) < 2.5 * _WANDER_DEG)


def chain_strokes(strokes: tuple[Stroke, ...], *, gap_mm: float = GAP_MM) -> tuple[Chain, ...]:
    """Strokes strung together, the surest links first; a stroke that nothing carries on is a chain of its own."""
    if not strokes:
        return ()
    partner = np.full(2 * len(strokes), -1)
    for a, b in _links(strokes, gap_mm):
        if partner[a] < 0 and partner[b] < 0:
            partner[a], partner[b] = b, a
    return tuple(_chain([strokes[k // 2] for k in run], run) for run in _runs(partner))


def _links(strokes: tuple[Stroke, ...], gap_mm: float) -> npt.NDArray[np.int64]:
    """Pairs (N, 2) of stroke ends (stroke ``k`` has ends ``2 k`` and ``2 k + 1``) that may be joined, surest first."""
    at = np.vstack([s.ends for s in strokes])
    out = np.vstack([s.outward for s in strokes])
    ink = np.repeat([s.ink for s in strokes], 2)
    pairs = cKDTree(at).query_pairs(gap_mm, output_type="ndarray")
    pairs = pairs[pairs[:, 0] // 2 != pairs[:, 1] // 2]
    a, b = pairs[:, 0], pairs[:, 1]
    step = at[b] - at[a]
    ahead = np.minimum((out[a] * step).sum(1), -(out[b] * step).sum(1))
    aside = np.maximum(np.abs(cross(out[a], step)), np.abs(cross(out[b], step)))
    turn = np.degrees(np.arccos(np.clip(-(out[a] * out[b]).sum(1), -1, 1)))
    allowed = _ASIDE_MM + _ASIDE_PER_MM * np.clip(ahead, 0, _ASIDE_MOST_AT_MM)
    ratio = np.maximum(ink[a], ink[b]) / np.minimum(ink[a], ink[b])
    keep = (ahead > -0.8) & (aside < allowed) & (turn < _TURN_DEG) & (ratio < _INK_RATIO)
    cost = np.abs(ahead) + 4.0 * aside / allowed + 4.0 * turn / _TURN_DEG
    sure = np.argsort(cost[keep], kind="stable")
    chosen: npt.NDArray[np.int64] = pairs[keep][sure]
    return chosen


def _runs(partner: npt.NDArray[np.int64]) -> list[list[int]]:
    """Stroke ends entered, in order, for each chain; ``k`` even means that the stroke is walked forwards."""
    runs, used = [], np.zeros(len(partner) // 2, bool)
    free_ends = [k for k in range(len(partner)) if partner[k] < 0]
    for start in free_ends + list(range(0, len(partner), 2)):  # the rest are rings
        run = []
        k = start
        while k >= 0 and not used[k // 2]:
            used[k // 2] = True
            run.append(k)
            k = int(partner[k ^ 1])
        if run:
            runs.append(run)
    return runs


def _chain(strokes: list[Stroke], run: list[int]) -> Chain:
    parts = [s.points if k % 2 == 0 else s.points[::-1] for s, k in zip(strokes, run, strict=True)]
    starts = np.concatenate([[0], np.cumsum([len(p) for p in parts])[:-1]])
    lengths = np.array([len(p) for p in parts], float)
    ink = float(np.average([s.ink for s in strokes], weights=lengths))
    return Chain(points=as_points(np.vstack(parts)), starts=tuple(int(s) for s in starts), ink=ink)


def _every(count: int, most: int) -> npt.NDArray[np.int64]:
    """At most about ``most`` indices below ``count``, both ends kept."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).astype(np.int64))
