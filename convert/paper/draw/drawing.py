"""A recorded drawing: what stands on the paper, in millimetres, y up, before any file format.

A drawing is recorded once; SVG, PDF, DXF and PNG replay it. Kinds of line are told apart by pattern and width; colour
only helps.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Literal

import numpy as np

from calibration.ground.points import Points, as_point, as_points

LineKind = Literal[
    "seam",
    "stitching",
    "cut",
    "fold",
    "fold sign",
    "dart",
    "grainline",
    "level",
    "notch",
    "hole",
    "frame",
    "trim",
    "join",
    "fine",
]
Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStyle:
    """How a kind of line looks: the layer it lies on in plain words, width and dashes in mm, colour as #rrggbb."""

    layer: str
    width: float
    dashes: tuple[float, ...] = ()
    colour: str = "#000000"


LINES: Mapping[LineKind, LineStyle] = MappingProxyType(
    {
        "seam": LineStyle(layer="seam line", width=0.5),
        "stitching": LineStyle(layer="seam line", width=0.35, dashes=(5.0, 2.5), colour="#1f3a6e"),
        "cut": LineStyle(layer="cut line", width=0.7),
        "fold": LineStyle(layer="fold", width=1.1, dashes=(14.0, 3.0, 2.0, 3.0)),
        "fold sign": LineStyle(layer="fold sign", width=0.4),
        "dart": LineStyle(layer="darts", width=0.4, dashes=(3.0, 1.5), colour="#7a1f1f"),
        "grainline": LineStyle(layer="grainline", width=0.6),
        "level": LineStyle(
            layer="bust, waist and hip lines", width=0.25, dashes=(8.0, 2.0, 1.0, 2.0, 1.0, 2.0), colour="#333333"
        ),
        "notch": LineStyle(layer="notches", width=0.6),
        "hole": LineStyle(layer="holes", width=0.35),
        "frame": LineStyle(layer="sheet", width=0.3, colour="#333333"),
        "trim": LineStyle(layer="sheet", width=0.3, dashes=(2.0, 2.0), colour="#333333"),
        "join": LineStyle(layer="sheet", width=0.3, dashes=(0.6, 1.4), colour="#333333"),
        "fine": LineStyle(layer="sheet", width=0.15),
    }
)
WORDS_LAYER = "words"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Path:
    """A line of straight steps through ``points`` (N, 2); a ring if ``closed``, a solid shape if ``filled``.

    ``curve`` is the same line as true curves, where it has any: straight pieces (2, 2) and cubics (4, 2), end to end.
    """

    kind: LineKind
    points: Points
    closed: bool = False
    filled: bool = False
    name: str = ""
    curve: tuple[Points, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))
        object.__setattr__(self, "curve", tuple(as_points(part) for part in self.curve))

    def moved(self, move: Callable[[Points], Points]) -> "Path":
        """The line with every point moved; ``move`` must keep straight lines straight."""
        return replace(self, points=move(self.points), curve=tuple(move(part) for part in self.curve))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Text:
    """One line of words whose baseline starts (or is centred, or ends) at ``at``; ``size`` is the type size in mm.

    ``movable`` words (a piece's label) may be set elsewhere inside the piece, so that no join of sheets cuts them.
    """

    words: str
    at: Points
    size: float
    angle_deg: float = 0.0
    bold: bool = False
    anchor: Anchor = "start"
    movable: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", as_point(self.at))


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a label and its type size in mm."""

    words: str
    size: float
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """Paths and texts in paper millimetres.

    ``outline`` (N, 2) is the ring of paper that the drawing needs: nothing of it stands outside. ``label`` are the
    lines of its movable words before they were broken to fit, ``left_out`` those for which there was no room.
    """

    name: str
    items: tuple[Path | Text, ...]
    outline: Points
    label: tuple[Line, ...] = ()
    left_out: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", as_points(self.outline))

    @property
    def paths(self) -> tuple[Path, ...]:
        """Its lines."""
        return tuple(item for item in self.items if isinstance(item, Path))

    @property
    def texts(self) -> tuple[Text, ...]:
        """Its words."""
        return tuple(item for item in self.items if isinstance(item, Text))

    def of_kind(self, kind: LineKind) -> tuple[Path, ...]:
        """Its lines of one kind."""
        return tuple(path for path in self.paths if path.kind == kind)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top of the outline and every line."""
        everything = np.vstack([self.outline, *[path.points for path in self.paths]])
        left, bottom = everything.min(0)
        right, top = everything.max(0)
        return float(left), float(bottom), float(right), float(top)


def turn(points: Points, angle_deg: float, shift: Points | tuple[float, float] = (0.0, 0.0)) -> Points:
    """Points turned counter-clockwise about the origin, then shifted."""
    angle = np.deg2rad(angle_deg)
    cos, sin = np.cos(angle), np.sin(angle)
    if angle_deg % 90 == 0:  # exact, so that a quarter turn keeps straight lines straight to the last digit
        cos, sin = np.round(cos), np.round(sin)
    return points @ np.array([[cos, sin], [-sin, cos]]) + np.asarray(shift, float)


def placed(drawing: Drawing, angle_deg: float, shift: Points | tuple[float, float]) -> Drawing:
    """The drawing turned counter-clockwise about the origin, then shifted."""

    def move(item: Path | Text) -> Path | Text:
        if isinstance(item, Path):
            return item.moved(lambda points: turn(points, angle_deg, shift))
        return replace(item, at=turn(item.at, angle_deg, shift), angle_deg=item.angle_deg + angle_deg)

    outline = turn(drawing.outline, angle_deg, shift)
    return replace(drawing, items=tuple(move(item) for item in drawing.items), outline=outline)


def together(name: str, drawings: Iterable[Drawing]) -> Drawing:
    """Several drawings as one; its outline is their common box."""
    parts = tuple(drawings)
    boxes = np.array([part.bounds for part in parts])
    left, bottom = boxes[:, :2].min(0)
    right, top = boxes[:, 2:].max(0)
    box = as_points([[left, bottom], [right, bottom], [right, top], [left, top]])
    return Drawing(name=name, items=tuple(item for part in parts for item in part.items), outline=box)
