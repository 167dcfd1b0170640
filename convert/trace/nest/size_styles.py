"""Nested sizes told apart: stretches of line that run by themselves, grouped by how the line is broken."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.points import Points, length, lengths_along
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.ink import Ink
from convert.trace.ink.line_styles import Style, may_be, same_style, style_of
from convert.trace.nest.assembly import Part, part_of

_APART_MM = 0.75  # lines nearer together than this can't be told apart
_BESIDE_COS = float(np.cos(np.radians(35.0)))  # a line that crosses more steeply than this hides next to nothing
_UNBROKEN_INK = 0.6  # share of a line's ink that lies all along it where it is not broken
_PURE_MM = 7.0  # of a line by itself, the least that tells its style
_SEED_MM = 60.0  # a shorter stretch starts no style of its own
_RING_SHARE = 0.35  # of the way round, read from a size's own line


def stretches_by_style(chains: list[Chain], ink: Ink, envelope: Border) -> list[tuple[Style, list[Part]]]:
    """Stretches of line that run by themselves, grouped by how the line is broken; sparse groups left out."""
    lines = _Lines(chains)
    stretches = [
        (part_of(points, envelope), strokes)
        for k in range(len(chains))
        for points, strokes in _by_itself(chains[k], k, lines, ink)
    ]
    stretches.sort(key=lambda s: -length(s[0].points))
    groups: list[tuple[Style, list[Part]]] = []
    unsure = []
    for part, strokes in stretches:
        style = style_of(strokes)
        fitting = [members for known, members in groups if style is not None and same_style(known, style)]
        if fitting:
            fitting[0].append(part)
        elif style is not None and length(part.points) > _SEED_MM:
            groups.append((style, [part]))
        else:
            unsure.append((part, strokes))
    whole = envelope.length
    groups = [g for g in groups if sum(length(p.points) for p in g[1]) > _RING_SHARE * whole]
    for part, strokes in unsure:
        fitting = [members for known, members in groups if may_be(known, strokes)]
        if len(fitting) == 1:
            fitting[0].append(part)
    return groups


class _Lines:
    """Points of all lines together, with the line each belongs to and the way it runs there."""

    def __init__(self, chains: list[Chain]) -> None:
        self.tree = cKDTree(np.vstack([c.points for c in chains]))
        self.owner = np.concatenate([np.full(len(c.points), k) for k, c in enumerate(chains)])
        self.heading = np.vstack([_headings(c) for c in chains])

    def apart(self, chain: Chain, index: int) -> npt.NDArray[np.bool_]:
        """Whether each point of a line has no other line beside it; one that crosses it steeply does not count."""
        own = _headings(chain)
        near = self.tree.query_ball_point(chain.points, _APART_MM)
        count = np.array([len(n) for n in near])
        other = np.concatenate([np.asarray(n, np.int64) for n in near])
        here = np.repeat(np.arange(len(near)), count)
        beside = np.abs((own[here] * self.heading[other]).sum(1)) > _BESIDE_COS
        disturbed = np.zeros(len(near), bool)
        disturbed[here[beside & (self.owner[other] != index)]] = True
        return ~disturbed


def _headings(chain: Chain) -> Points:
    """Unit direction (N, 2) of a line at each of its points, taken over about three millimetres within its stroke."""
    out = []
    for stroke in chain.strokes:
        span = float(np.hypot(*np.diff(stroke, axis=0).T).sum())
        reach = max(1, round(1.5 * len(stroke) / max(span, 1e-6)))
        index = np.arange(len(stroke))
        step = stroke[np.minimum(index + reach, len(stroke) - 1)] - stroke[np.maximum(index - reach, 0)]
        out.append(step / np.maximum(np.hypot(*step.T), 1e-9)[:, None])
    return np.vstack(out)


def _broken_at(chain: Chain, ink: Ink) -> npt.NDArray[np.int64]:
    """Where a line is broken, as indices of its points: not where only another line's crossing parts its strokes."""
    at = np.array(chain.starts[1:], np.int64)
    if not len(at):
        return at
    share = np.linspace(0.0, 1.0, 9)[:, None, None]
    between = chain.points[at - 1] * (1 - share) + chain.points[at] * share
    inked = ink.sample(between.reshape(-1, 2)).reshape(len(share), -1).min(0)
    return at[inked < _UNBROKEN_INK * chain.ink]


def _by_itself(chain: Chain, index: int, lines: _Lines, ink: Ink) -> list[tuple[Points, tuple[Points, ...]]]:
    """Stretches of a chain that no other line runs beside: their points, and the strokes they are made of."""
    alone = lines.apart(chain, index)
    stroke = np.zeros(len(chain.points), int)
    stroke[_broken_at(chain, ink)] = 1
    stroke = np.cumsum(stroke)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], alone.astype(int), [0]])))
    out = []
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        points = chain.points[start:stop]
        if len(points) < 6 or lengths_along(points[:: max(1, len(points) // 50)])[-1] < _PURE_MM:
            continue
        cuts = np.flatnonzero(np.diff(stroke[start:stop])) + 1
        out.append((points, tuple(np.split(points, cuts))))
    return out
