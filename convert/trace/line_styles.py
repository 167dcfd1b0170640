"""How a printed line is broken: unbroken, dashed by so much, dotted."""

from dataclasses import dataclass

import numpy as np

from calibration.points import Points

_UNBROKEN_MM = 24.0
_DOT_STEP_MM = 4.0
_DASH_RATIO, _GAP_RATIO = 1.2, 1.45  # within which two lines are broken alike


@dataclass(frozen=True, slots=True, kw_only=True)
class Style:
    """Length of the dashes and of the gaps between them; ``gap_mm`` 0 for an unbroken line, ``dash_mm`` 0 for dots."""

    dash_mm: float
    gap_mm: float


def style_of(strokes: tuple[Points, ...]) -> Style | None:
    """Style of a stretch of line made of ``strokes``; None if there are too few of them to tell."""
    spans = np.array([np.hypot(*(s[-1] - s[0])) for s in strokes])
    if _dotted(strokes):
        return Style(dash_mm=0.0, gap_mm=1.0)
    if spans.max() > _UNBROKEN_MM or (len(strokes) == 1 and spans[0] > 16.0):
        return Style(dash_mm=1e3, gap_mm=0.0)
    if len(strokes) < 3:
        return None
    gaps = np.array([np.hypot(*(b[0] - a[-1])) for a, b in zip(strokes[:-1], strokes[1:], strict=True)])
    inner = spans[1:-1] if len(spans) > 4 else spans
    return Style(dash_mm=float(np.median(inner)), gap_mm=float(np.median(gaps)))


def same_style(a: Style, b: Style) -> bool:
    """Whether two lines are broken alike."""
    if min(a.dash_mm, b.dash_mm) == 0.0 or max(a.dash_mm, b.dash_mm) > 500.0:
        return a.dash_mm == b.dash_mm
    dash = max(a.dash_mm, b.dash_mm) / min(a.dash_mm, b.dash_mm)
    gap = max(a.gap_mm, b.gap_mm) / max(min(a.gap_mm, b.gap_mm), 0.3)
    return dash < _DASH_RATIO and gap < _GAP_RATIO


def _dotted(strokes: tuple[Points, ...]) -> bool:
    """Whether the points are dots, a step of a millimetre or more apart within one stroke."""
    longest = max(strokes, key=len)
    step = np.hypot(*np.diff(longest, axis=0).T)
    return len(longest) >= 4 and 0.8 < float(np.median(step)) < _DOT_STEP_MM
