"""A piece as it is looked at: darts folded shut, directions of edges at their ends, bends along them."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.signal import savgol_filter

from calibration.ground.plane import turned
from calibration.ground.points import Points, lengths_along
from convert.block.shape.shape import Indices, Shape

SHORT_MM, LONG_MM = 15.0, 50.0  # stretches over which directions are fitted: a corner, and a bend nudged at its tip
_HALF_MM = 10  # a heading is fitted to so much on either side
_STEP_MM = 5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretches:
    """An edge from one of its corners: its stretches between mouths, and the darts there with the leg met first."""

    lines: tuple[Points, ...]
    darts: tuple[tuple[int, Points, Points], ...]


def stretches(shape: Shape, name: str, neighbour: str) -> Stretches:
    """An edge taken apart at the mouths of its darts."""
    run: Indices = shape.run(name, neighbour)
    mouths = shape.mouths(run, name)
    starts, stops = [0, *(far for _, _, far in mouths)], [*(near for _, near, _ in mouths), len(run) - 1]
    return Stretches(
        lines=tuple(shape.ring[run[a : b + 1]] for a, b in zip(starts, stops, strict=True)),
        darts=tuple((dart, shape.ring[run[near]], shape.ring[run[far]]) for dart, near, far in mouths),
    )


def folded(shape: Shape, name: str, neighbour: str) -> Points:
    """An edge (N, 2) from a corner, every dart on it folded shut."""
    parts = stretches(shape, name, neighbour)
    out = parts.lines[-1]
    for line, (dart, near, far) in zip(parts.lines[-2::-1], parts.darts[::-1], strict=True):
        apex = shape.apexes[dart]
        arms = near - apex, far - apex
        angle = float(np.arctan2(arms[0][1], arms[0][0]) - np.arctan2(arms[1][1], arms[1][0]))
        out = np.vstack([line, turned(out, apex, angle)[1:]])
    return out


def evenly(line: Points, step: float = 1.0) -> tuple[Points, Points]:
    """Points of a line at an even step near ``step`` mm, and their distances along it."""
    along = lengths_along(line)
    at = np.linspace(0.0, along[-1], max(2, round(along[-1] / step) + 1))
    return np.column_stack([np.interp(at, along, line[:, k]) for k in (0, 1)]), at


def way(line: Points, reach: float) -> Points:
    """Unit direction (2,) at the start: of a parabola through the first ``reach`` mm, 2/5 of a shorter line."""
    points, at = evenly(line)
    count = max(2, int(np.searchsorted(at, min(reach, max(0.4 * at[-1], SHORT_MM)) + 1e-9)))
    if count <= 3:
        found = points[count - 1] - points[0]
    else:
        basis = np.vander(at[:count], 3)
        found = np.linalg.lstsq(basis, points[:count], rcond=None)[0][1]
    return np.asarray(found / max(float(np.hypot(*found)), 1e-12))


def corner_deg(shape: Shape, one: str, other: str, reach: float) -> float:
    """Angle inside a piece where two edges meet, darts folded, degrees."""
    ways = way(folded(shape, one, other), reach), way(folded(shape, other, one), reach)
    return float(np.degrees(np.arccos(np.clip(ways[0] @ ways[1], -1.0, 1.0))))


def headings(line: Points) -> Points:
    """Headings (N,), degrees, every 5 mm, each of a parabola through 10 mm on either side."""
    points, at = evenly(line)
    if len(points) < 2 * _HALF_MM + 2:
        points, at = evenly(line, at[-1] / (2 * _HALF_MM + 2))
    slope = savgol_filter(points, 2 * _HALF_MM + 1, 2, deriv=1, axis=0, mode="interp")
    heading = np.degrees(np.unwrap(np.arctan2(slope[:, 1], slope[:, 0])))
    where = np.linspace(0.0, at[-1], max(2, round(float(at[-1]) / _STEP_MM) + 1))
    return np.asarray(np.interp(where, at, heading))


def turns(heading: Points) -> Points:
    """Turn over each 15 mm, degrees, without sign."""
    if len(heading) < 4:
        return np.abs(heading[-1:] - heading[:1])
    return np.abs(heading[3:] - heading[:-3])


def surplus(values: Points, allowed: int) -> float:
    """The largest swing that must be ironed out of a sequence so that it goes up or down ``allowed`` times in all."""
    turn = [0, *(i for i in range(1, len(values) - 1) if (values[i] - values[i - 1]) * (values[i + 1] - values[i]) < 0)]
    ends = [*turn, len(values) - 1]
    swings = [float(abs(values[b] - values[a])) for a, b in pairwise(ends)]
    worst = 0.0
    while len(swings) > allowed:
        k = int(np.argmin(swings))
        worst = max(worst, swings[k])
        if 0 < k < len(swings) - 1:
            swings[k - 1 : k + 2] = [swings[k - 1] - swings[k] + swings[k + 1]]
        else:
            del swings[k]
    return worst


def off_chord(line: Points) -> float:
    """Largest distance of a line from the straight one between its ends, mm."""
    chord = line[-1] - line[0]
    unit = chord / max(float(np.hypot(*chord)), 1e-12)
    return float(np.abs((line - line[0]) @ np.array([-unit[1], unit[0]])).max())
