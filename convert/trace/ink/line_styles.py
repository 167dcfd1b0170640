"""How a printed line is broken: unbroken, dashed by so much, dotted."""

from dataclasses import dataclass

import numpy as np

from calibration.ground.points import Points
from convert.trace.ink.chains import Chain

_UNBROKEN_MM = 24.0
_DOT_STEP_MM = 4.0
_DASH_RATIO, _STEP_RATIO = 1.22, 1.09  # within which two lines are broken alike
_WHOLE = 0.08  # how nearly a whole dash is as long as the others


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """Length of the longer dashes, and from one to the next; both 1000 for an unbroken line, no dashes for dots."""

    dash_mm: float
    step_mm: float

    @property
    def unbroken(self) -> bool:
        """Whether the line is not broken at all."""
        return self.dash_mm > 500.0


def style_of(strokes: tuple[Points, ...]) -> Style | None:
    """Style of a stretch of line made of ``strokes``; None if there are too few of them to tell."""
    spans = np.array([np.hypot(*(s[-1] - s[0])) for s in strokes])
    if _dotted(strokes):
        return Style(dash_mm=0.0, step_mm=1.0)
    if spans.max() > _UNBROKEN_MM or (len(strokes) == 1 and spans[0] > 16.0):
        return Style(dash_mm=1e3, step_mm=1e3)
    if len(strokes) < 3:
        return None
    long = np.flatnonzero(spans > 0.5 * np.quantile(spans, 0.9))
    if len(long) < 3:
        return None
    # the stretch may begin and end within a dash: what is whole tells how long one is, and from where to where
    whole = long[(long > 0) & (long < len(strokes) - 1)]
    starts = np.array([strokes[k][0] for k in long if k > 0])
    ends = np.array([strokes[k][-1] for k in long if k < len(strokes) - 1])
    steps = np.hypot(*np.vstack([np.diff(starts, axis=0), np.diff(ends, axis=0)]).T)
    return Style(dash_mm=float(np.median(spans[whole])), step_mm=float(np.median(steps)))


def same_style(a: Style, b: Style) -> bool:
    """Whether two lines are broken alike."""
    if min(a.dash_mm, b.dash_mm) == 0.0 or max(a.dash_mm, b.dash_mm) > 500.0:
        return a.dash_mm == b.dash_mm
    dash = max(a.dash_mm, b.dash_mm) / min(a.dash_mm, b.dash_mm)
    step = max(a.step_mm, b.step_mm) / min(a.step_mm, b.step_mm)
    return dash < _DASH_RATIO and step < _STEP_RATIO


def may_be(style: Style, strokes: tuple[Points, ...]) -> bool:
    """Whether a stretch too short to tell by itself goes with a dashed style: one whole dash of it, and none longer."""
    spans = [float(np.hypot(*(s[-1] - s[0]))) for s in strokes]
    if len(spans) < 2 or not 0.0 < style.dash_mm < 500.0:
        return False
    return abs(max(spans) / style.dash_mm - 1.0) < _WHOLE


def broken_alike(chains: tuple[Chain, ...], style: Style) -> tuple[Chain, ...]:
    """Chains broken in the steps of a style, however thin: a thin line's dashes read shorter, its steps do not."""
    found = []
    for chain in chains:
        own = style_of(chain.strokes)
        if own is not None and max(own.step_mm, style.step_mm) < _STEP_RATIO * min(own.step_mm, style.step_mm):
            found.append(chain)
    return tuple(found)


def _dotted(strokes: tuple[Points, ...]) -> bool:
    """Whether the points are dots, a step of a millimetre or more apart within one stroke."""
    longest = max(strokes, key=len)
    step = np.hypot(*np.diff(longest, axis=0).T)
    return len(longest) >= 4 and 0.8 < float(np.median(step)) < _DOT_STEP_MM
