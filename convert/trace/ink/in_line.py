"""Straight lines that a crossing, a crease or a spur broke in two are made one again."""

import numpy as np

from calibration.ground.points import Points, as_points
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import Straight, angle_between_deg, fit_straight

_LEAST_MM = 14.0  # a shorter stretch has no sure direction
_STRAIGHT, _RMS_MM = 0.95, 0.4
_TURN_DEG = 2.0
_ASIDE_MM = 0.6
_GAP_MM, _OVER_MM = 6.5, 2.0  # a dash and two gaps at most lie between; so far they may overlap
_INK_RATIO = 1.9

_Line = tuple[Chain, Straight]


def joined_in_line(chains: tuple[Chain, ...]) -> tuple[Chain, ...]:
    """The chains, those that lie on one straight line with their ends near each other strung together."""
    lines: list[_Line] = []
    rest: list[Chain] = []
    for chain in chains:
        if chain.length >= _LEAST_MM and chain.straightness > _STRAIGHT:
            line = fit_straight(chain.points)
            if line.rms < _RMS_MM:
                lines.append((chain, line))
                continue
        rest.append(chain)
    k = 0
    while k < len(lines):
        found = next((j for j in range(k + 1, len(lines)) if _one(lines[k], lines[j])), None)
        if found is None:
            k += 1
            continue
        chain = _strung(lines[k], lines.pop(found)[0])
        lines[k] = (chain, fit_straight(chain.points))
    return (*(chain for chain, _ in lines), *rest)


def _one(a: _Line, b: _Line) -> bool:
    """Whether two stretches are one line."""
    (one, line), (other, twin) = a, b
    turn = angle_between_deg(line.direction, twin.direction)
    if min(turn, 180.0 - turn) > _TURN_DEG or one.dashed != other.dashed:
        return False
    if max(one.ink, other.ink) > _INK_RATIO * min(one.ink, other.ink):
        return False
    ends = twin.middle + np.outer(np.quantile(twin.along(other.points), [0.02, 0.98]), twin.direction)
    if np.abs(line.aside(ends)).max() > _ASIDE_MM:
        return False
    low, high = np.quantile(line.along(one.points), [0.0, 1.0])
    first, last = np.sort(line.along(other.points[[0, -1]]))
    gap = max(float(first - high), float(low - last))
    return -_OVER_MM < gap < _GAP_MM


def _strung(a: _Line, other: Chain) -> Chain:
    """Two stretches as one chain, in order along the first."""
    one, line = a
    turned = line.along(other.points[[0, -1]])
    back = turned[1] < turned[0]
    strokes: list[Points] = [s[::-1] for s in other.strokes[::-1]] if back else list(other.strokes)
    before = turned.mean() < line.along(one.points[[0, -1]]).mean()
    parts = [*strokes, *one.strokes] if before else [*one.strokes, *strokes]
    starts = np.concatenate([[0], np.cumsum([len(part) for part in parts])[:-1]])
    share = len(other.points) / (len(one.points) + len(other.points))
    return Chain(
        points=as_points(np.vstack(parts)),
        starts=tuple(int(start) for start in starts),
        ink=(1 - share) * one.ink + share * other.ink,
    )
