"""The fold bracket: a line along an edge whose two ends point to it, "place on the fold of the cloth"."""

import numpy as np

from calibration.ground.points import Points, as_points
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import angle_between_deg, fit_straight, meeting
from convert.trace.tracing import TracedLine

_SHORT_OF_CORNERS_MM = 50.0  # a bracket stands in the middle of its edge, a stitching line runs to the edge's ends
_HALF_SURE, _SURE = 0.75, 0.9


def find_fold_bracket(chains: tuple[Chain, ...], border: Border) -> tuple[int, ...]:
    """Indices of the fold bracket's line and its two ticks; empty if there is none.

    One tick is enough where a weight or a tear hides the other: the line then ends well short of both corners.

    Source: marks of printed patterns, a line along the edge whose two ends point to it (common practice).
    """
    half: tuple[int, ...] = ()
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
        seen = tuple(tick for tick in ticks if tick is not None)
        if seen and not half and _short_of_corners(chain.points, border):
            half = (k, *seen)
    return half


def _short_of_corners(line: Points, border: Border) -> bool:
    """Whether a line, run on past both its ends, stays as far from the outline as it is."""
    inside = float(np.median(border.distance(line)))
    on = np.arange(0.0, _SHORT_OF_CORNERS_MM, 2.0)[:, None]
    along = (line[-1] - line[0]) / max(float(np.hypot(*(line[-1] - line[0]))), 1e-9)
    beyond = np.vstack([line[-1] + on * along, line[0] - on * along])
    return bool((border.distance(beyond) > inside - 1.5).all())


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


def bracket_line(chains: tuple[Chain, ...], fold: tuple[int, ...]) -> TracedLine:
    """Tick end, corner, corner, tick end (4, 2); a tick that is hidden is drawn like the other."""
    line = chains[fold[0]].points
    ends, middle = line[[0, -1]], fit_straight(line)
    corners, tips = ends.copy(), [None, None]
    for k in fold[1:]:
        tick = chains[k].points
        side = int(np.argmin([np.hypot(*(tick - end).T).min() for end in ends]))
        crossing = meeting(middle, fit_straight(tick))
        corners[side] = ends[side] if crossing is None else crossing
        tips[side] = tick[[0, -1]][np.argmax(np.hypot(*(tick[[0, -1]] - ends[side]).T))]
    first, last = (
        tip if tip is not None else corners[side] + tips[1 - side] - corners[1 - side] for side, tip in enumerate(tips)
    )
    points = as_points([first, *corners, last])
    return TracedLine(kind="fold", points=points, confidence=_SURE if len(fold) > 2 else _HALF_SURE)
