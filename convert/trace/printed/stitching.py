"""Stitching lines: printed lines that run along the outline, at a distance, from corner to corner."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points, as_points, length, resample
from convert.trace.edge.running_parabola import running_parabola
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import angle_between_deg, fit_straight, meeting
from convert.trace.ink.strokes import end_direction

_LEAST_MM, _MOST_MM = 3.0, 90.0  # from the outline: a narrow allowance, a deep hem
_SOLID_MOST_MM = 35.0
_SAMPLES = 40  # points of a line that are compared with the outline
_LEAST_SHARE = 0.12  # of the outline that a stitching line accompanies
_RUN_MM = 18.0  # a shorter line is no run of its own
_CORNER_REACH_MM = 9.0  # how far a run's end may be from the corner it is carried on to
_EDGE_REACH_MM = 10.0  # and from the paper's edge
_STEP_MM = 1.0
_WINDOW_MM = 5.0  # over which a line is taken for a parabola
_STRAIGHT_RMS_MM, _STRAIGHT_MOST_MM = 0.12, 0.45  # a line that keeps to this is drawn with a ruler


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """One run of a stitching line, ``points`` (N, 2) mat mm; ``distance_mm`` from the outline (median)."""

    points: Points
    dashed: bool
    distance_mm: float
    confidence: float
    chain: int


def find_runs(chains: tuple[Chain, ...], border: Border, *, ignore: frozenset[int] = frozenset()) -> tuple[Run, ...]:
    """Runs of the stitching line, carried on to the corners where they meet and to the paper's edge at a fold."""
    runs = []
    for k, chain in enumerate(chains):
        if k in ignore or chain.length < 0.6 * _RUN_MM or not chain.drawn:
            continue
        share, distance = _beside(chain, border)
        most = _MOST_MM if chain.dashed else _SOLID_MOST_MM
        if share < (0.6 if chain.length > 2 * _RUN_MM else 0.75) or not _LEAST_MM <= distance <= most:
            continue
        line = smooth_line(chain)
        confidence = float(np.clip(0.5 + 0.5 * share, 0, 0.98)) * (1.0 if chain.dashed else 0.7)
        runs.append(Run(points=line, dashed=chain.dashed, distance_mm=distance, confidence=confidence, chain=k))
    runs = _outermost(runs, border)
    if sum(length(run.points) for run in runs) < _LEAST_SHARE * border.length:
        return ()
    return _carried_on(runs, border)


def _beside(chain: Chain, border: Border) -> tuple[float, float]:
    """Share of a chain that runs alongside the outline at one distance, and that distance."""
    points = chain.points[np.unique(np.linspace(0, len(chain.points) - 1, _SAMPLES).astype(int))]
    heading = np.gradient(points, axis=0)
    heading /= np.maximum(np.hypot(*heading.T), 1e-9)[:, None]
    best = (0.0, np.inf)
    for gap in border.beside(points, heading, _MOST_MM).T:
        seen = gap[np.isfinite(gap)]
        if len(seen) < 3:
            continue
        middle = float(np.median(seen))
        share = float((np.abs(seen - middle) < 0.8 + 0.04 * middle).sum() / len(points))
        if share > best[0] + 0.1 or (share > best[0] - 0.1 and middle < best[1]):
            best = (share, middle)
    return best


def smooth_line(chain: Chain) -> Points:
    """A chain's centre line (N, 2): straight where a ruler drew it, else smooth within each stroke."""
    whole = fit_straight(chain.points)
    aside = np.abs(whole.aside(chain.points))
    if whole.rms < _STRAIGHT_RMS_MM and np.quantile(aside, 0.98) < _STRAIGHT_MOST_MM:
        at = whole.along(chain.points)
        return as_points([whole.at(float(at[0])), whole.at(float(at[-1]))])
    parts = [_smooth_stroke(stroke) for stroke in chain.strokes]
    return as_points(np.vstack(parts))


def _smooth_stroke(points: Points) -> Points:
    """A stroke as points about a millimetre apart on the parabolas through its stretches."""
    span = length(points[:: max(1, len(points) // 12)])
    if len(points) < 7:
        return np.array([points[0], points[-1]])
    per_mm = len(points) / max(span, 1e-3)
    window = min(len(points), max(7, round(_WINDOW_MM * per_mm)))
    window -= 1 - window % 2
    smooth = running_parabola(points, window)
    pick = np.unique(np.linspace(0, len(points) - 1, max(3, round(span / _STEP_MM) + 1)).astype(int))
    return np.asarray(smooth[pick])


def _outermost(runs: list[Run], border: Border) -> list[Run]:
    """Runs without those behind another run along most of their length: fold lines of hems and facings."""
    kept: list[Run] = []
    claimed = np.zeros(len(border.ring), bool)
    for run in sorted(runs, key=lambda r: r.distance_mm):
        _, index = border.nearest(resample(run.points, 1.0))
        if claimed[index].mean() > 0.5:
            continue
        spread = np.unique((index[:, None] + np.arange(-2, 3)).ravel() % len(border.ring))
        claimed[spread] = True
        kept.append(run)
    return kept


def _carried_on(runs: list[Run], border: Border) -> tuple[Run, ...]:
    """Runs with their ends set to the corners in which they meet, and to the outline where they stop just short."""
    lines = [np.array(run.points) for run in runs]
    ends = [(k, last) for k in range(len(lines)) for last in (False, True)]
    meetings = []
    for i, a in enumerate(ends):
        for b in ends[i + 1 :]:
            corner = _corner(_tail(lines, a), _tail(lines, b))
            if corner is not None and (a[0] != b[0] or len(lines[a[0]]) > 30):
                meetings.append((corner[0], a, b, corner[1]))
    done: set[tuple[int, bool]] = set()
    for _, a, b, corner_at in sorted(meetings, key=lambda m: m[0]):
        if a in done or b in done:
            continue
        done.update((a, b))
        for end in (a, b):
            lines[end[0]] = _ended_at(lines[end[0]], end[1], corner_at)
    for end in ends:
        if end not in done:
            tail = _tail(lines, end)
            away = border.hit(tail[-1], end_direction(tail, 12.0), _EDGE_REACH_MM)
            if away is not None:
                lines[end[0]] = _ended_at(lines[end[0]], end[1], tail[-1] + away * end_direction(tail, 12.0))
    return tuple(
        Run(
            points=as_points(line),
            dashed=run.dashed,
            distance_mm=run.distance_mm,
            confidence=run.confidence,
            chain=run.chain,
        )
        for run, line in zip(runs, lines, strict=True)
    )


def _tail(lines: list[Points], end: tuple[int, bool]) -> Points:
    """A line so directed that it ends at ``end``, with points near together."""
    line = lines[end[0]] if end[1] else lines[end[0]][::-1]
    return resample(line, 1.0) if len(line) == 2 else line


def _corner(a: Points, b: Points) -> tuple[float, Points] | None:
    """Where two lines carried on beyond their last points meet: how far off that is (both added), and the place."""
    if np.hypot(*(a[-1] - b[-1])) > 2 * _CORNER_REACH_MM:
        return None
    da, db = end_direction(a, 12.0), end_direction(b, 12.0)
    turn = angle_between_deg(da, -db)
    if not 14.0 < turn < 165.0:
        return None
    line_a = fit_straight(a[np.hypot(*(a - a[-1]).T) <= 12.0])
    line_b = fit_straight(b[np.hypot(*(b - b[-1]).T) <= 12.0])
    at = meeting(line_a, line_b)
    if at is None:
        return None
    away = np.array([(at - a[-1]) @ da, (at - b[-1]) @ db])
    if away.min() < -3.0 or away.max() > _CORNER_REACH_MM:
        return None
    return float(np.abs(away).sum()), at


def _ended_at(line: Points, last: bool, at: Points) -> Points:
    """The line with its first or last point at ``at``, without what lies beyond it."""
    run = line if last else line[::-1]
    direction = end_direction(_tail([run], (0, True)), 12.0)
    keep = (run - at) @ direction < -0.3
    keep |= np.hypot(*(run - at).T) > 6.0
    kept = run[keep] if keep.any() else run[:1]
    out = np.vstack([kept, at])
    return out if last else out[::-1]
