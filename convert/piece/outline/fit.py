"""Fitting lines and cubic curves to a traced outline."""

import itertools

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points, as_points, lengths_along
from convert.piece.outline.path import Cubic, Line, Path, bernstein

TANGENT_REACH_MM = 6.0
"""How far along the outline the direction at a smooth join is taken from."""
ROUNDS = 6
HOPELESS = (60.0, 15.0, 5.0, 3.0, 2.0, 1.6)
"""A fit still so many tolerances off after each round of moving the parameters is given up."""
FIT_SAMPLES = 80
"""Points that a single curve is fitted to; all points are checked against the tolerance."""


def fit_path(
    points: Points, corners: npt.NDArray[np.int64] | tuple[int, ...], *, tolerance_mm: float, closed: bool = True
) -> Path:
    """Lines and cubics through an outline, meeting at its true corners, no point farther off than the tolerance.

    Between corners, a line serves if it can, then one cubic, then as few cubics as a greedy search needs, joined
    smoothly; only where the points have a kink that no smooth curve follows does the path turn between corners.

    Parameters
    ----------
    points : (N, 2)
        A ring (first point not repeated) or, with ``closed=False``, an open line. Millimetres.
    corners
        Indices into ``points``. A ring without corners becomes one smooth loop.
    tolerance_mm
        Greatest distance from any of the points to the path. A promise.

    Source: least squares fit of Bézier curves with re-parametrisation after P. J. Schneider, in Graphics Gems, 1990.
    """
    points = as_points(points)
    if tolerance_mm <= 0 or len(points) < 2:
        raise ValueError("fitting needs a tolerance above 0 and at least two points")
    spans, loop = _spans(points, np.asarray(corners, np.int64), closed)
    segments: list[Line | Cubic] = []
    for span in spans:
        segments += _fit_span(span, tolerance_mm, loop_tangent=_loop_tangent(points) if loop else None)
    return Path(segments=tuple(segments), closed=closed)


def _spans(points: Points, corners: npt.NDArray[np.int64], closed: bool) -> tuple[list[Points], bool]:
    """The outline cut at its corners, and whether it is one smooth loop."""
    cuts = np.unique(corners)
    if not closed:
        cuts = np.unique(np.concatenate([[0], cuts, [len(points) - 1]]))
        return [points[a : b + 1] for a, b in itertools.pairwise(cuts)], False
    loop = len(cuts) == 0
    cuts = np.array([0]) if loop else cuts
    turned = np.vstack([np.roll(points, -cuts[0], axis=0), points[cuts[0]][None]])
    ends = np.append(cuts - cuts[0], len(points))
    return [turned[a : b + 1] for a, b in itertools.pairwise(ends)], loop


def _loop_tangent(ring: Points) -> Points:
    return _tangent(np.vstack([ring[-40:], ring[:41]]), 40)


def _tangent(line: Points, at: int) -> Points:
    """Direction of a line at one of its points, from a quadratic fitted to its neighbours by length."""
    start = max(0, at - 60)
    line, at = line[start : at + 61], at - start
    along = lengths_along(line)
    near = np.abs(along - along[at]) <= max(TANGENT_REACH_MM, 1.5 * float(np.diff(along).max()))
    s = along[near] - along[at]
    base = np.column_stack([np.ones_like(s), s, s**2])[:, : min(3, int(near.sum()))]
    slope = np.linalg.lstsq(base, line[near], rcond=None)[0][1]
    unit: Points = slope / max(float(np.hypot(*slope)), 1e-12)
    return unit


def _fit_span(span: Points, tolerance: float, *, loop_tangent: Points | None) -> list[Line | Cubic]:
    """As few segments as a greedy search needs from corner to corner."""
    if loop_tangent is None and _off_line(span) <= tolerance:
        return [Line(start=span[0], end=span[-1])]
    segments: list[Line | Cubic] = []
    first, start_tangent = 0, loop_tangent
    while first < len(span) - 1:
        last = len(span) - 1
        whole = _fit_cubic(span[first:], start_tangent, loop_tangent, tolerance)
        last, curve = (last, whole) if whole else _longest(span, first, start_tangent, tolerance)
        segments.append(curve)
        first = last
        start_tangent = _end_direction(curve)
    return segments


def _longest(span: Points, first: int, start_tangent: Points | None, tolerance: float) -> tuple[int, Line | Cubic]:
    """The longest stretch from ``first`` that one cubic follows, and that cubic.

    Where nothing smooth follows the points (a kink), the path turns.
    """
    for tangent in (start_tangent, None):
        low, high, best = first + 1, len(span) - 1, None
        while low <= high:
            middle = (low + high) // 2
            curve = _fit_cubic(span[first : middle + 1], tangent, _tangent(span, middle), tolerance)
            if curve is None:
                high = middle - 1
            else:
                best, low = (middle, curve), middle + 1
        if best is not None:
            return best
    return first + 1, Line(start=span[first], end=span[first + 1])


def _end_direction(curve: Line | Cubic) -> Points:
    step = curve.nodes[-1] - curve.nodes[-2]
    unit: Points = step / max(float(np.hypot(*step)), 1e-12)
    return unit


def _off_line(span: Points) -> float:
    chord = span[-1] - span[0]
    size = float(np.hypot(*chord))
    if size < 1e-9:
        return float(np.hypot(*(span - span[0]).T).max())
    share = np.clip(((span - span[0]) @ chord) / size**2, 0, 1)
    return float(np.hypot(*(span - span[0] - share[:, None] * chord).T).max())


def _fit_cubic(span: Points, start: Points | None, end: Points | None, tolerance: float) -> Cubic | None:
    """One cubic with both ends on the span, tangents fixed where given, or None where it strays too far."""
    if len(span) == 2 and start is None and end is None:
        return Cubic(nodes=np.array([span[0], span[0] * 2 / 3 + span[1] / 3, span[0] / 3 + span[1] * 2 / 3, span[1]]))
    few = span[np.unique(np.linspace(0, len(span) - 1, min(len(span), FIT_SAMPLES)).round().astype(int))]
    along = lengths_along(few)
    if along[-1] < 1e-9:
        return None
    share = along / along[-1]
    nodes = _solve(few, share, start, end)
    for step in range(ROUNDS):
        off = float(np.hypot(*(bernstein(share) @ nodes - few).T).max())
        if off > tolerance * HOPELESS[step] or off < 0.8 * tolerance:
            break
        share = _nearer(nodes, few, share)
        nodes = _solve(few, share, start, end)
    if off > tolerance * HOPELESS[-1] or not _turns_forward(nodes, few):
        return None
    return Cubic(nodes=nodes) if _off_curve(nodes, span) <= tolerance else None


def _solve(points: Points, share: Points, start: Points | None, end: Points | None) -> Points:
    """Control points (4, 2) by least squares; a given tangent leaves only its handle's length free."""
    w = bernstein(share)
    first, last = points[0], points[-1]
    rest = points - w[:, :1] * first - w[:, 3:] * last
    if start is None and end is None:
        inner = w[:, 1:3]
        return np.vstack([first, np.linalg.solve(inner.T @ inner + 1e-12 * np.eye(2), inner.T @ rest), last])
    columns, fixed = [], np.zeros_like(points)
    for weight, anchor, tangent in ((w[:, 1], first, start), (w[:, 2], last, end)):
        if tangent is None:
            columns += [(weight[:, None] * [1.0, 0.0]).ravel(), (weight[:, None] * [0.0, 1.0]).ravel()]
        else:
            fixed = fixed + weight[:, None] * anchor
            columns.append((weight[:, None] * tangent).ravel())
    base = np.array(columns)
    answer = np.linalg.solve(base @ base.T + 1e-12 * np.eye(len(base)), base @ (rest - fixed).ravel())
    nodes, k = [first], 0
    for anchor, tangent in ((first, start), (last, end)):
        if tangent is None:
            nodes.append(answer[k : k + 2])
            k += 2
        else:
            nodes.append(anchor + answer[k] * tangent)
            k += 1
    return np.array([*nodes, last])


def _nearer(nodes: Points, points: Points, share: Points) -> Points:
    """One Newton step of each point's parameter towards its foot on the curve."""
    curve = Cubic(nodes=nodes)
    first = np.diff(nodes, axis=0) * 3
    second = np.diff(first, axis=0) * 2
    t, u = share[:, None], 1 - share[:, None]
    off = curve.at(share) - points
    d1 = u**2 * first[0] + 2 * u * t * first[1] + t**2 * first[2]
    d2 = u * second[0] + t * second[1]
    below = (d1**2).sum(1) + (off * d2).sum(1)
    step = (off * d1).sum(1) / np.where(np.abs(below) < 1e-9, 1e-9, below)
    moved = np.clip(share - np.clip(step, -0.1, 0.1), 0, 1)
    moved[0], moved[-1] = 0.0, 1.0
    return np.maximum.accumulate(moved)


def _turns_forward(nodes: Points, points: Points) -> bool:
    """Whether neither handle points backwards or swings far outside the stretch."""
    reach = 2.0 * lengths_along(points)[-1]
    handles = (nodes[1] - nodes[0], nodes[3] - nodes[2])
    ways = (points[min(2, len(points) - 1)] - points[0], points[-1] - points[max(-3, -len(points))])
    return all(float(h @ w) > 0 and float(np.hypot(*h)) < reach for h, w in zip(handles, ways, strict=True))


def _off_curve(nodes: Points, span: Points) -> float:
    """Greatest distance from any point of the span to the curve."""
    steps = int(np.clip(lengths_along(span)[-1] / 1.0, 32, 1500))
    fine = Cubic(nodes=nodes).at(np.linspace(0, 1, steps + 1))
    leg = np.diff(fine, axis=0)
    size = np.maximum((leg**2).sum(1), 1e-18)
    along = lengths_along(fine)
    guess = np.searchsorted(along, lengths_along(span) / max(lengths_along(span)[-1], 1e-9) * along[-1])
    worst = np.full(len(span), np.inf)
    for shift in (0, -1, 1, -2, 2, -3, 3, -4, 4):  # the foot lies near the same share of the length
        i = np.clip(guess + shift, 0, steps - 1)
        gap, way = span - fine[i], leg[i]
        share = np.clip((gap[:, 0] * way[:, 0] + gap[:, 1] * way[:, 1]) / size[i], 0, 1)
        worst = np.minimum(worst, np.hypot(gap[:, 0] - share * way[:, 0], gap[:, 1] - share * way[:, 1]))
    return float(worst.max())
