"""The fold bracket: a line along an edge whose two ends point to it, "place on the fold of the cloth"."""

import numpy as np

from calibration.ground.points import Points, as_points
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import angle_between_deg, fit_straight, meeting


def find_fold_bracket(chains: tuple[Chain, ...], border: Border) -> tuple[int, ...]:
    """Indices of the fold bracket's line and its two ticks; empty if there is none.

    Source: marks of printed patterns, a line along the edge whose two ends point to it (common practice).
    """
    for k, chain in enumerate(chains):
        if chain.dashed or chain.length < 30.0 or chain.straightness < 0.995:
            continue
        gap, index = border.nearest(chain.points)
        if not 2.5 < np.median(gap) < 40.0 or np.ptp(gap) > 2.0:
            continue
        along = fit_straight(chain.points).direction
        if abs(float(np.median(border.along[index] @ along))) < np.cos(np.radians(3.0)):
            continue
        ticks = [_tick(chains, k, end, along, border) for end in (chain.points[0], chain.points[-1])]
        if ticks[0] is not None and ticks[1] is not None:
            return k, ticks[0], ticks[1]
    return ()


def _tick(chains: tuple[Chain, ...], own: int, end: Points, along: Points, border: Border) -> int | None:
    """The chain that runs from ``end`` square to the outline."""
    inside = float(border.distance(end[None])[0])
    for k, chain in enumerate(chains):
        if k == own or chain.dashed or not 1.2 <= chain.length <= 1.3 * inside + 3.0:
            continue
        ends = np.array([chain.points[0], chain.points[-1]])
        away = np.hypot(*(ends - end).T)
        if away.min() > 2.5 or abs(angle_between_deg(ends[1] - ends[0], along) - 90.0) > 15.0:
            continue
        far = ends[np.argmax(away)]
        if border.distance(far[None])[0] < inside - 1.0:
            return k
    return None


def bracket_points(chains: tuple[Chain, ...], fold: tuple[int, ...]) -> Points:
    """Tick end, corner, corner, tick end (4, 2)."""
    line = chains[fold[0]].points
    middle = fit_straight(line)
    corners, tips = [], []
    for k, end in ((fold[1], line[0]), (fold[2], line[-1])):
        tick = chains[k].points
        crossing = meeting(middle, fit_straight(tick))
        corners.append(end if crossing is None else crossing)
        tips.append(tick[[0, -1]][np.argmax(np.hypot(*(tick[[0, -1]] - end).T))])
    return as_points([tips[0], *corners, tips[1]])
