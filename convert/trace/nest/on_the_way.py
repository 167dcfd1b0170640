"""Which stretches of a size's line lie on its way round, and which are strokes that only look like it."""

from collections.abc import Sequence

import numpy as np

from calibration.ground.points import Points, length

_FEWEST = 4  # of so few stretches each is needed to close a ring
_DETOUR, _DETOUR_MM = 2.0, 10.0
"""A stretch that makes the way longer by more than so many times its own length and so much is none of the line: our
choice, because round a square corner the way over a stretch is longer by less than its length."""


def on_the_way(stretches: Sequence[Points]) -> list[int]:
    """Which of the stretches (N, 2), in order round a ring, belong to it; the shortest are doubted first.

    A line printed inside a piece in the same style, as a buttonhole is, has its place between two stretches but lies
    far from both.
    """
    kept = list(range(len(stretches)))
    for k in sorted(kept, key=lambda i: length(stretches[i])):
        if len(kept) < _FEWEST:
            break
        place = kept.index(k)
        before, after = stretches[kept[place - 1]], stretches[kept[(place + 1) % len(kept)]]
        over = _gap(before, stretches[k]) + _gap(stretches[k], after) - _gap(before, after)
        if over > _DETOUR * length(stretches[k]) + _DETOUR_MM:
            kept.remove(k)
    return kept


def _gap(one: Points, other: Points) -> float:
    return float(np.hypot(*(other[0] - one[-1])))
