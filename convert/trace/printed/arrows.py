"""The grain arrow: an unbroken straight line with a head at one end or both."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.ground.points import Points
from convert.trace.ink.chains import Chain
from convert.trace.ink.ink import Ink
from convert.trace.ink.straight import Straight, fit_straight

_SHORTEST_MM = 25.0
_NEAR_MM = 25.0  # length of shaft that tells its direction at an end
_HEAD_MM = 9.0  # an arrowhead is no longer than this
_HEAD_WIDE_MM = 0.75  # half width that no line has
_BARB_MM = 4.5  # an arrowhead is no wider than this on either side
_INKED = 0.35


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Arrow:
    """A grain arrow from ``tail`` (2,) to ``head`` (2,), mat mm; ``heads`` 1 or 2; ``chain`` its index."""

    tail: Points
    head: Points
    heads: int
    chain: int


def find_arrows(ink: Ink, chains: tuple[Chain, ...]) -> tuple[Arrow, ...]:
    """Arrows among the chains, longest first."""
    found = []
    for k, chain in enumerate(chains):
        if chain.length < _SHORTEST_MM or chain.straightness < 0.985 or chain.dashed:
            continue
        line = fit_straight(chain.points)
        if line.rms > 0.9:
            continue
        ends = line.along(chain.points)
        low, high = (
            _tip(ink, chain, line, float(end), sense) for end, sense in ((ends.min(), -1.0), (ends.max(), 1.0))
        )
        if low is None and high is None:
            continue
        found.append(_arrow(ink, chain, line, low, high, k))
    return tuple(sorted(found, key=lambda a: -float(np.hypot(*(a.head - a.tail)))))


def _arrow(ink: Ink, chain: Chain, line: Straight, low: float | None, high: float | None, index: int) -> Arrow:
    """The arrow of a shaft whose heads' tips lie at ``low`` and ``high`` along ``line`` (None: no head there)."""
    at = line.along(chain.points)
    first = low if low is not None else float(at.min())
    last = high if high is not None else float(at.max())
    shaft = chain.points[
        (at > first + (_HEAD_MM if low is not None else 0)) & (at < last - (_HEAD_MM if high is not None else 0))
    ]
    line_of_shaft = fit_straight(shaft) if len(shaft) > 20 else line
    ends = [line_of_shaft.at(float(line_of_shaft.along(line.at(s)[None])[0])) for s in (first, last)]
    if high is None:
        ends.reverse()
    return Arrow(tail=ends[0], head=ends[1], heads=(low is not None) + (high is not None), chain=index)


def _tip(ink: Ink, chain: Chain, line: Straight, end: float, sense: float) -> float | None:
    """Place along ``line`` of the tip of a head at ``end``, looked for on the shaft as it runs there (paper waves)."""
    near = chain.points[np.abs(line.along(chain.points) - end) < _NEAR_MM]
    own = fit_straight(near) if len(near) > 20 else line
    if own.direction @ line.direction < 0:
        own = Straight(middle=own.middle, direction=-own.direction, rms=own.rms)
    shift = float(line.along(own.middle[None])[0])
    tip = _head(ink, own, end - shift, sense)
    return None if tip is None else tip + shift


def _head(ink: Ink, line: Straight, end: float, sense: float) -> float | None:
    """Place along ``line`` of an arrowhead's tip near ``end``; None where there is no head.

    A head is widest behind its tip and narrows towards it, alike on both sides; a dot is round and a tick is not.
    """
    back = np.arange(-_HEAD_MM - 1.0, _HEAD_MM + 1.0, 0.2)  # along the line, beyond its end positive
    side = np.arange(0.0, _BARB_MM + 0.1, 0.2)
    left, right = (_reach(ink, line, end, sense, back, s * side) for s in (1.0, -1.0))
    both = np.minimum(left, right)
    if both.max() < _HEAD_WIDE_MM or both.max() > _BARB_MM - 0.3:
        return None
    widest = int(np.argmax(both))
    on_axis = ink.sample(np.array([line.at(end + sense * b) for b in back])) > _INKED
    beyond = np.flatnonzero(on_axis[widest:])
    if not len(beyond):
        return None
    bare = np.flatnonzero(~on_axis[widest:])
    tip = widest + (int(bare[0]) - 1 if len(bare) else int(beyond[-1]))
    length = back[tip] - back[widest]
    narrowing = np.polyfit(back[widest : tip + 1], both[widest : tip + 1], 1)[0] if tip - widest >= 4 else 0.0
    if not 1.6 <= length <= _HEAD_MM or narrowing > -0.1 or abs(left[widest] - right[widest]) > 1.0:
        return None
    if both[widest] > 0.85 * length or (both[:4] > _HEAD_WIDE_MM).all():
        return None
    return end + sense * float(back[tip])


def _reach(
    ink: Ink, line: Straight, end: float, sense: float, back: npt.NDArray[np.float64], side: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """How far ink reaches to one side of the line (``side`` offsets), at each place ``back`` from its end."""
    across = np.array([-line.direction[1], line.direction[0]])
    at = (line.middle + (end + sense * back)[:, None] * line.direction)[:, None, :] + side[None, :, None] * across
    inked = ink.sample(at.reshape(-1, 2)).reshape(len(back), len(side)) > _INKED
    return np.asarray(np.where(inked, np.abs(side), 0.0).max(1))
