"""Darts among the printed lines: two straight legs of like length that meet in a point away from the edge."""

from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.points import Points
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.ink import Ink
from convert.trace.ink.straight import Straight, angle_between_deg, fit_straight, meeting

_SHORTEST_MM = 14.0
_NARROWEST_DEG, _WIDEST_DEG = 1.5, 45.0
_PAST_MM = 5.0  # how far legs may run past the point in which they meet
_SHORT_MM = 14.0  # how far they may stop short of it: dashes, and lines of a narrow dart, run together there
_TO_DOT = 0.7  # and as a share of the longer leg, where a dot marks the point
_UNLIKE = 0.22  # difference of the legs' lengths, as a share, before their ends are set right
_DOT_ASIDE_MM = 1.6
_DOT_ALONG_MM = 11.0
_SEAM_ALONG_MM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedDart:
    """A dart's ``apex`` (2,) and ``legs`` (2, 2), its leg ends on the seam line; ``chains`` are its two lines."""

    apex: Points
    legs: Points
    chains: tuple[int, int]
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Leg:
    """A straight chain seen from one of its ends: ``line`` runs from its far end to the near one at ``reach``."""

    chain: int
    line: Straight
    reach: float
    length: float


def find_darts(
    chains: tuple[Chain, ...],
    border: Border,
    dots: Points,
    *,
    ignore: frozenset[int] = frozenset(),
    short_mm: float = _SHORT_MM,
) -> tuple[PrintedDart, ...]:
    """Darts among the chains, the surest first, each chain in one dart at most; leg ends as far as the print runs.

    ``dots`` (N, 2) printed at a dart's ends, where there are any, are taken for its ends.
    """
    legs = [leg for k, c in enumerate(chains) if k not in ignore for leg in _legs(k, c)]
    pairs = [
        (cost, dart)
        for i, a in enumerate(legs)
        for b in legs[i + 1 :]
        if a.chain != b.chain and (found := _pair(a, b, border, dots, short_mm)) is not None
        for cost, dart in [found]
    ]
    taken: set[int] = set()
    darts = []
    for _, dart in sorted(pairs, key=lambda p: p[0]):
        if taken.isdisjoint(dart.chains):
            taken.update(dart.chains)
            darts.append(dart)
    return tuple(darts)


def _legs(index: int, chain: Chain) -> list[_Leg]:
    """A chain as a leg towards either end; none if it is short or bent."""
    if chain.length < _SHORTEST_MM or chain.straightness < 0.97:
        return []
    line = fit_straight(chain.points)
    if line.rms > max(0.6, 0.006 * chain.length):
        return []
    at = line.along(chain.points)
    back = replace(line, direction=-line.direction)
    span = float(np.ptp(at))
    return [
        _Leg(chain=index, line=line, reach=float(at.max()), length=span),
        _Leg(chain=index, line=back, reach=float(-at.min()), length=span),
    ]


def _pair(a: _Leg, b: _Leg, border: Border, dots: Points, short_mm: float) -> tuple[float, PrintedDart] | None:
    """The dart of two legs and how doubtful it is; None if they make none."""
    angle = angle_between_deg(a.line.direction, b.line.direction)
    if not _NARROWEST_DEG <= angle <= _WIDEST_DEG:
        return None
    crossing = meeting(a.line, b.line)
    if crossing is None:
        return None
    beyond = [float(leg.line.along(crossing[None])[0]) - leg.reach for leg in (a, b)]
    slack = min(25.0, 0.6 / np.radians(angle))  # a narrow dart's lines cross at an uncertain height
    dot = _dot_at_apex(a, b, crossing, dots, 0.8 + 0.25 / np.radians(angle))
    short = short_mm + slack if dot is None else max(short_mm, _TO_DOT * max(a.length, b.length))
    if min(beyond) < -_PAST_MM - slack / 2 or max(beyond) > short:
        return None
    if abs(a.length + beyond[0] - b.length - beyond[1]) > _UNLIKE * max(a.length, b.length):
        return None
    apex = dot if dot is not None else crossing
    ends = np.array([_leg_end(leg, apex, dots) for leg in (a, b)])
    near_edge, deep = border.distance(ends), float(border.distance(apex[None])[0])
    lengths = np.hypot(*(ends - apex).T)
    if near_edge.max() > 0.75 * deep or near_edge.max() > 95.0 or lengths.min() < _SHORTEST_MM:
        return None
    unlike = float(abs(lengths[0] - lengths[1]) / lengths.max())
    cost = 8.0 * unlike + 0.05 * float(np.abs(beyond).sum()) + 0.004 * float(near_edge.sum()) - (dot is not None)
    confidence = float(np.clip(0.97 - 1.5 * unlike - (dot is None) * 0.08, 0.3, 0.97))
    turn = (ends[0] - apex)[0] * (ends[1] - apex)[1] - (ends[0] - apex)[1] * (ends[1] - apex)[0]
    order = [0, 1] if turn > 0 else [1, 0]
    chains = (a.chain, b.chain) if turn > 0 else (b.chain, a.chain)
    return cost, PrintedDart(apex=apex, legs=ends[order], chains=chains, confidence=confidence)


def _dot_at_apex(a: _Leg, b: _Leg, crossing: Points, dots: Points, reach: float) -> Points | None:
    """A printed dot on both legs' lines near where they cross."""
    if not len(dots):
        return None
    aside = np.maximum(np.abs(a.line.aside(dots)), np.abs(b.line.aside(dots)))
    away = np.hypot(*(dots - crossing).T)
    fit = np.where((aside < _DOT_ASIDE_MM) & (away < reach), away, np.inf)
    best = int(np.argmin(fit))
    return np.asarray(dots[best]) if np.isfinite(fit[best]) else None


def _leg_end(leg: _Leg, apex: Points, dots: Points) -> Points:
    """A leg's outer end: a printed dot there, else where the print stops; on the straight line from the apex."""
    end = leg.line.at(leg.reach - leg.length)
    if len(dots):
        away = leg.line.along(dots) - (leg.reach - leg.length)
        fit = np.abs(leg.line.aside(dots)) < _DOT_ASIDE_MM
        fit &= (np.abs(away) < _DOT_ALONG_MM) & (np.hypot(*(dots - apex).T) > 8.0)
        if fit.any():
            return np.asarray(dots[fit][np.argmin(np.abs(away[fit]))])
    return end


def set_leg_ends(dart: PrintedDart, seams: tuple[Points, ...], dots: Points, ink: Ink) -> PrintedDart:
    """The dart with its leg ends on the seam lines where those are read; an end that lies hidden from its fellow leg.

    An end at a printed dot stays there.
    """
    ends, sure = np.array(dart.legs), [False, False]
    for i in (0, 1):
        direction = (ends[i] - dart.apex) / np.hypot(*(ends[i] - dart.apex))
        if len(dots) and np.hypot(*(dots - ends[i]).T).min() < 1e-6:
            sure[i] = True
            continue
        hit = _first_seam(ends[i], direction, seams)
        if hit is not None:
            ends[i], sure[i] = hit, True
    lengths = np.hypot(*(ends - dart.apex).T)
    if not any(sure) and np.ptp(lengths) < _SEAM_ALONG_MM:  # nothing but the print ends them: a last dash is missing
        ends = dart.apex + (ends - dart.apex) * (lengths.max() / lengths)[:, None]
    for i in (0, 1):
        if not sure[i] and sure[1 - i] and lengths[i] < lengths[1 - i] and _hidden(ends[i], dart.apex, ink):
            ends[i] = dart.apex + (ends[i] - dart.apex) * lengths[1 - i] / lengths[i]
    return replace(dart, legs=ends)


def _hidden(end: Points, apex: Points, ink: Ink) -> bool:
    """Whether the paper just beyond a leg's end cannot be read."""
    beyond = end + np.outer(np.arange(1.0, 7.0), (end - apex) / np.hypot(*(end - apex)))
    px = np.round(ink.to_px(beyond)).astype(int)
    high, wide = ink.readable.shape
    inside = (px >= 0).all(1) & (px[:, 0] < wide) & (px[:, 1] < high)
    return not bool(ink.readable[px[inside, 1], px[inside, 0]].all()) if inside.any() else True


def _first_seam(end: Points, direction: Points, seams: tuple[Points, ...]) -> Points | None:
    """Where a leg's line meets a seam line within reach of its end, the nearest such place."""
    start, stop = end - _SEAM_ALONG_MM * direction, end + _SEAM_ALONG_MM * direction
    best: tuple[float, Points] | None = None
    for seam in seams:
        step = np.diff(seam, axis=0)
        turn = direction[0] * step[:, 1] - direction[1] * step[:, 0]
        to = seam[:-1] - start
        safe = np.where(np.abs(turn) < 1e-12, 1.0, turn)
        on_leg = (to[:, 0] * step[:, 1] - to[:, 1] * step[:, 0]) / safe
        on_seam = (to[:, 0] * direction[1] - to[:, 1] * direction[0]) / safe
        hit = (np.abs(turn) > 1e-12) & (on_seam >= 0) & (on_seam <= 1) & (on_leg >= 0)
        hit &= on_leg <= np.hypot(*(stop - start))
        for s in on_leg[hit]:
            away = abs(float(s) - _SEAM_ALONG_MM)
            if best is None or away < best[0]:
                best = (away, start + s * direction)
    return None if best is None else np.asarray(best[1])
