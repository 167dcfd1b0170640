"""A drawing for each body measurement: the way the tape goes, on a calm outline.

The tape is a band with marks across it; where it runs behind the body it is dashed; a stretch between two places has an
arrowhead at each end, a way all round has one that turns the corner. So nothing is told by colour alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from calibration.ground.plane import left
from calibration.ground.points import Points, as_points
from convert.body.definitions import definitions
from convert.paper.card import body_figure as figure
from convert.paper.card import lower_figure as lower
from convert.paper.card.body_figure import View, body_lines, curve, mirrored
from convert.paper.draw.sketch import ON_PAGE, Colours, inline
from convert.paper.draw.svg import number, path_data

StrokeKind = Literal["body", "tape", "behind", "arrow", "level"]
Ink = Literal["ink", "faint", "paper"]
# Each kind of stroke, drawn as these lines over one another: ink, width and dashes in figure units.
INKS: Mapping[StrokeKind, tuple[tuple[Ink, float, tuple[float, ...]], ...]] = {
    "body": (("faint", 0.5, ()),),
    "level": (("ink", 0.4, (0.3, 1.3)),),
    "behind": (("ink", 0.75, (1.8, 1.6)),),
    "tape": (("ink", 2.0, ()), ("paper", 1.25, ()), ("ink", 1.25, (0.3, 1.2))),
    "arrow": (),
}
_HEAD_LONG, _HEAD_HALF = 3.4, 1.5
_USUAL_TALL = 58.0  # of a window, in figure units


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """One line (N, 2) of a drawing in figure units, y down: an outline, the tape, the tape behind, an arrowhead."""

    kind: StrokeKind
    points: Points
    closed: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasurementDrawing:
    """A drawing of one measurement: its strokes, and the window (left, top, right, bottom) to show."""

    name: str
    strokes: tuple[Stroke, ...]
    window: tuple[float, float, float, float]

    @property
    def weight(self) -> float:
        """How much heavier lines are drawn, so that a large window does not make them thin."""
        return _weight(self.window)


def _weight(window: tuple[float, float, float, float]) -> float:
    return max(1.0, (window[3] - window[1]) / _USUAL_TALL)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """Where a tape goes: on which view, along which lines, all round or from place to place."""

    view: View
    window: tuple[float, float, float, float]
    front: tuple[Points, ...]
    behind: tuple[Points, ...] = ()
    round: bool = False
    level: tuple[Points, ...] = ()


_BUST = (-27.0, 14.0, 27.0, 72.0)
_HIPS = (-32.0, 46.0, 32.0, 104.0)
_LEGS = (-34.0, 50.0, 34.0, 162.0)
_WHOLE = (-42.0, -5.0, 46.0, 165.0)
_SITTING = (-20.0, 2.0, 48.0, 70.0)
_SEAT = (-26.0, 54.0, 26.0, 110.0)
_ARM = (-12.0, -4.0, 44.0, 56.0)


def _girth(y: float, half: float, *, sag: float = 2.2, rise: float = 0.0) -> _Way:
    """A tape round the body at ``y``, ``half`` wide on each side; ``rise`` lifts its ends."""
    x = np.linspace(-1.0, 1.0, 41)
    bow = np.sqrt(np.clip(1.0 - x**2, 0.0, None))
    front = np.column_stack([half * x, y - rise + sag * bow])
    back = np.column_stack([half * x, y - rise - 0.8 * sag * bow])
    window = _HIPS if y > 60 else _BUST
    return _Way(view="front", window=window, front=(as_points(front),), behind=(as_points(back),), round=True)


def _cross(
    at: tuple[float, float], way: tuple[float, float], half: float, *, sag: float = 1.6
) -> tuple[Points, Points]:
    """A small girth square to a limb that runs along ``way``: its near and its far half."""
    along = np.array(way) / np.hypot(*way)
    side = left(along)
    x = np.linspace(-1.0, 1.0, 31)[:, None]
    bow = np.sqrt(np.clip(1.0 - x**2, 0.0, None))
    near = np.array(at) + half * x * side + sag * bow * along
    return as_points(near), as_points(np.array(at) + half * x * side - 0.8 * sag * bow * along)


def _limb(at: tuple[float, float], way: tuple[float, float], half: float) -> _Way:
    near, far = _cross(at, way, half)
    return _Way(view="arm", window=_ARM, front=(near,), behind=(far,), round=True)


def _leg(at: tuple[float, float], half: float) -> _Way:
    """A tape round one leg."""
    near, far = _cross(at, (-0.06, 1.0), half, sag=min(1.6, 0.3 * half))
    low = min(at[1] + 29.0, 164.0)
    window = (at[0] - 30.0, low - 58.0, at[0] + 30.0, low)
    return _Way(view="front", window=window, front=(near,), behind=(far,), round=True)


def _stretch(
    *knots: tuple[float, float],
    view: View = "front",
    window: tuple[float, float, float, float] = _BUST,
    level: Sequence[Points] = (),
) -> _Way:
    line_ = curve(knots) if len(knots) > 2 else as_points(knots)
    return _Way(view=view, window=window, front=(line_,), level=tuple(level))


def _flat(y: float, x: float, *, start: float | None = None) -> Points:
    return as_points([[-x if start is None else start, y], [x, y]])


def _neck() -> _Way:
    (sx, sy), (_, fy), (_, ny) = figure.SIDE_NECK, figure.FRONT_NECK, figure.NAPE
    front = curve(((-sx, sy), (-3.6, fy - 0.6), (0.0, fy), (3.6, fy - 0.6), (sx, sy)))
    back = curve(((-sx, sy), (-3.4, ny - 0.4), (0.0, ny - 0.8), (3.4, ny - 0.4), (sx, sy)))
    return _Way(view="front", window=_BUST, front=(front,), behind=(back,), round=True)


def _ways() -> Mapping[str, _Way]:
    f = figure
    bx, by = f.BUST_POINT
    sx, sy = f.SIDE_NECK
    waist_back = _flat(f.WAIST_Y, f.WAIST_X)
    hip_level = _flat(f.HIP_Y, f.HIP_X)
    side = [(f.WAIST_X + 1.4, f.WAIST_Y), (14.6, 71.0), (18.2, 77.5), (f.HIP_X + 1.6, f.HIP_Y)]
    return {
        "bust": _girth(f.BUST_Y, f.BUST_X),
        "high bust": _girth(f.HIGH_BUST_Y + 2.0, 14.8, rise=0.6),
        "under bust": _girth(f.UNDER_BUST_Y, f.UNDER_BUST_X),
        "waist": _girth(f.WAIST_Y, f.WAIST_X),
        "hip": _girth(f.HIP_Y, f.HIP_X),
        "neck": _neck(),
        "waist to hip": _stretch(*side, window=_HIPS, level=(waist_back, hip_level)),
        "back waist length": _stretch(f.NAPE, (0.0, f.WAIST_Y), view="back", level=(waist_back,)),
        "front waist length": _stretch(
            (sx, sy), (7.0, 36.0), (bx, by), (bx, 57.0), (bx, f.WAIST_Y), level=(waist_back,)
        ),
        "shoulder length": _stretch((sx, sy), (9.5, 27.0), (14.6, 28.2), f.SHOULDER),
        "across back": _stretch((-15.2, 37.5), (15.2, 37.5), view="back", level=_armholes()),
        "across chest": _stretch((-14.2, 37.5), (14.2, 37.5), level=_armholes()),
        "armhole depth": _stretch(f.NAPE, (0.0, f.ARMPIT[1]), view="back", level=(_flat(f.ARMPIT[1], 19.0),)),
        "bust point distance": _stretch((-bx, by), (bx, by)),
        "bust height": _stretch((sx, sy), (7.0, 36.5), (bx, by)),
        "arm length": _stretch(
            f.ARM_SHOULDER, (-0.4, 12.0), (-0.4, 22.0), (1.0, 31.0), (6.0, 36.6), (15.0, 41.8), f.ARM_WRIST,
            view="arm", window=_ARM,
        ),
        "upper arm": _limb((0.5, 15.0), (0.12, 1.0), 5.8),
        "elbow": _limb((4.4, 33.4), (0.75, 0.75), 6.4),
        "wrist": _limb((26.8, 46.0), (1.0, 0.52), 4.2),
        "skirt length": _stretch(
            *side[:3], (20.0, 90.0), (20.4, 112.0), window=_LEGS, level=(waist_back, _flat(112.0, 22.0))
        ),
        "body rise": _stretch(
            (0.6, lower.SITTING_WAIST_Y), (0.6, lower.CHAIR_Y), view="sitting", window=_SITTING,
            level=(_flat(lower.SITTING_WAIST_Y, 7.4, start=-5.4),),
        ),
        "outside leg": _stretch(
            *side, (20.0, 94.0), (20.0, f.FLOOR_Y), window=_LEGS, level=(waist_back, _flat(f.FLOOR_Y, 24.0))
        ),
        "inside leg": _stretch((1.0, 90.0), (2.4, f.FLOOR_Y), window=_LEGS, level=(_flat(f.FLOOR_Y, 16.0),)),
        "crotch length": _stretch(*lower.THROUGH, view="side", window=_SEAT, level=(_flat(64.5, 7.2, start=-5.6),)),
        "thigh": _leg((9.0, 95.0), 7.9),
        "knee": _leg((8.5, 117.5), 5.1),
        "ankle": _leg((7.4, 150.0), 2.5),
        "height": _stretch(
            (38.0, 0.2), (38.0, f.FLOOR_Y), view="whole", window=_WHOLE,
            level=(_flat(0.2, 41.0, start=0.0), _flat(f.FLOOR_Y, 41.0)),
        ),
    }  # fmt: skip


def _armholes() -> tuple[Points, Points]:
    """Where a sleeve would be sewn in, on both sides."""
    hole = curve((figure.SHOULDER, (15.8, 33.5), (15.0, 38.5), figure.ARMPIT))
    return hole, mirrored(hole)


def drawing_of(name: str) -> MeasurementDrawing:
    """The drawing of a measurement as strokes, to be replayed on a page or a sheet.

    Raises
    ------
    KeyError
        If there is no such measurement.
    """
    way = _ways()[name]
    strokes = [Stroke(kind="body", points=part) for part in _outline(way.view)]
    strokes += [Stroke(kind="level", points=part) for part in way.level]
    strokes += [Stroke(kind="behind", points=part) for part in way.behind]
    strokes += [Stroke(kind="tape", points=part) for part in way.front]
    weight = _weight(way.window)
    for part in way.front:
        near = max(1, round(len(part) * 0.06)) if not way.round else len(part) // 6
        strokes.append(_head(part[-1], part[-1] - part[-1 - near], weight))
        if not way.round:
            strokes.append(_head(part[0], part[0] - part[near], weight))
    return MeasurementDrawing(name=name, strokes=tuple(strokes), window=way.window)


def _outline(view: View) -> tuple[Points, ...]:
    of = {"sitting": lower.SITTING, "side": lower.STANDING}.get(view)
    if of is None:
        return body_lines(view)
    return tuple(curve(knots) if len(knots) > 2 else as_points(knots) for knots in of)


def _head(tip: Points, way: Points, weight: float) -> Stroke:
    along = np.asarray(way, float) / max(float(np.hypot(*way)), 1e-9)
    side = left(along)
    root = tip - weight * _HEAD_LONG * along
    return Stroke(
        kind="arrow",
        points=np.array([tip, root + weight * _HEAD_HALF * side, root - weight * _HEAD_HALF * side]),
        closed=True,
    )


def measurement_drawing(name: str, *, colours: Colours = ON_PAGE) -> str:
    """The drawing of a measurement as inline SVG.

    Raises
    ------
    KeyError
        If there is no such measurement.

    Examples
    --------
    >>> measurement_drawing("bust").startswith("<svg")
    True
    """
    drawing = drawing_of(name)
    left, top, right, bottom = drawing.window
    shift = np.array([left, top])
    body = "".join(_drawn(stroke, shift, colours, drawing.weight) for stroke in drawing.strokes)
    wide, tall = right - left, bottom - top
    clip = f"clip-{name.replace(' ', '-')}"
    frame = f'<defs><clipPath id="{clip}"><rect width="{number(wide)}" height="{number(tall)}"/></clipPath></defs>'
    title = f"{name.capitalize()}: {definitions()[name].where}"
    return inline(wide, tall, title, f'{frame}<g clip-path="url(#{clip})">{body}</g>')


def _drawn(stroke: Stroke, shift: Points, colours: Colours, weight: float) -> str:
    points = stroke.points - shift
    if stroke.kind == "arrow":
        return f'<path d="{path_data(points, closed=True)}" fill="{colours.ink}"/>'
    paper = "var(--page,#ffffff)" if colours is ON_PAGE else colours.paper
    parts = []
    for role, wide, dashes in INKS[stroke.kind]:
        colour = {"ink": colours.ink, "faint": colours.faint, "paper": paper}[role]
        dash = f' stroke-dasharray="{" ".join(number(weight * one) for one in dashes)}"' if dashes else ""
        parts.append(
            f'<path d="{path_data(points, False)}" fill="none" stroke="{colour}" '
            f'stroke-width="{number(weight * wide)}" stroke-linejoin="round"{dash}/>'
        )
    return "".join(parts)
