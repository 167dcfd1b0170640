"""The piece: an outline split at its true corners into named edges, with darts, marks and grain.

Everything is in millimetres, y up, printed side towards the reader; rings and edges run counter-clockwise.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from calibration.ground.errors import Note
from calibration.ground.points import Points, as_point, as_points
from convert.piece.outline.placement import Placement

Evidence = Literal["measured", "told", "deduced", "assumed"]
PieceKind = Literal[
    "bodice front",
    "bodice back",
    "sleeve",
    "skirt front",
    "skirt back",
    "dress front",
    "dress back",
    "trousers front",
    "trousers back",
    "bodice front, centre",
    "bodice front, side",
    "bodice front yoke",
    "bodice front, lower",
    "bodice back, centre",
    "bodice back, side",
    "bodice back yoke",
    "bodice back, lower",
    "upper sleeve",
    "under sleeve",
    "skirt front, centre",
    "skirt front, side",
    "skirt back, centre",
    "skirt back, side",
]
"""Whole pieces, then parts that are laid together into one."""
EdgeName = Literal[
    "centre front",
    "centre back",
    "neckline",
    "shoulder",
    "armhole",
    "side seam",
    "waist",
    "hem",
    "cap",
    "underarm seam front",
    "underarm seam back",
    "wrist",
    "crotch seam",
    "inseam",
    "panel seam",
    "yoke seam",
    "front seam",
    "back seam",
]
"""The last four join parts: panels and gores, yoke and lower part, upper and under sleeve."""


CENTRES: tuple[EdgeName, EdgeName] = ("centre front", "centre back")


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """Seam allowance of one edge: how wide, how sure (95 % half-width), from what evidence, and why in words."""

    mm: float
    evidence: Evidence
    uncertainty_mm: float = 0.0
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edge:
    """One edge of a piece.

    ``points`` (N, 2) lie on the seam line, at most 0.5 mm apart, last point of one edge the first of the next; at a
    dart they include both leg ends and cross the mouth straight. ``cut_points`` (M, 2) is the edge's part of the cut
    line; equal to ``points`` where there is no allowance.
    """

    name: EdgeName
    points: Points
    cut_points: Points
    allowance: Allowance
    on_fold: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))
        object.__setattr__(self, "cut_points", as_points(self.cut_points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Dart:
    """A dart: ``legs`` (2, 2) its leg ends on the seam line in the edge's order, ``apexes`` (1 or 2, 2).

    A double-pointed dart has two apexes and lies on no edge (``on`` is None); its ``legs`` are the two widest points.
    ``cap`` (M, 2) is the outline of its mouth between the legs where that is not straight, so that the paper reaches
    the edge when the dart is folded.
    """

    on: EdgeName | None
    apexes: Points
    legs: Points
    evidence: Evidence = "measured"
    cap: Points | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "apexes", as_points(self.apexes))
        object.__setattr__(self, "legs", as_points(self.legs))
        if self.cap is not None:
            object.__setattr__(self, "cap", as_points(self.cap))

    @property
    def intake(self) -> float:
        """Width between the legs at the seam line."""
        return float(np.hypot(*(self.legs[1] - self.legs[0])))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mark:
    """A mark at ``at`` (2,); a notch says which edge it belongs to and ``meaning`` how many stand together."""

    kind: Literal["notch", "hole", "grain-end"]
    at: Points
    on: EdgeName | None = None
    meaning: str = ""
    confidence: float = 1.0
    seam_at: Points | None = None
    """Where the mark is carried to on the seam line, if it belongs to an edge."""
    evidence: Evidence = "measured"

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", as_point(self.at))
        if self.seam_at is not None:
            object.__setattr__(self, "seam_at", as_point(self.seam_at))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InsideLine:
    """A line inside a piece that no other value holds: a printed fold or stitching line, one side of a tuck told.

    ``tuck`` numbers the tucks that were told, ``on`` is the edge they lie on; -1 and None on printed lines.
    """

    points: Points
    dashed: bool = False
    tuck: int = -1
    on: EdgeName | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A pattern piece on its seam line.

    Attributes
    ----------
    edges
        In order round the piece, counter-clockwise.
    grainline : (2, 2) or None
        From its lower to its upper end.
    uncertainty_mm : float
        Half-width of the 95 % interval of any point of the outline, calibration and tracing together.
    scale_uncertainty : float
        Half-width of the 95 % interval of the scale (0.001 is 0.1 %): the mat's print and the paper's lift.
    placement : Placement or None
        How the piece was turned from where it lay on the mat, for drawing on the photograph.
    inside
        Lines printed inside it, of which tucks may be folded out.
    """

    kind: PieceKind
    edges: tuple[Edge, ...]
    darts: tuple[Dart, ...] = ()
    marks: tuple[Mark, ...] = ()
    grainline: Points | None = None
    uncertainty_mm: float = 0.0
    scale_uncertainty: float = 0.0
    complete: bool = True
    notes: tuple[Note, ...] = field(default=())
    placement: Placement | None = None
    inside: tuple[InsideLine, ...] = ()

    def __post_init__(self) -> None:
        if self.grainline is not None:
            object.__setattr__(self, "grainline", as_points(self.grainline))

    def edge(self, name: str) -> Edge:
        """The edge of that name.

        Raises
        ------
        KeyError
            If the piece has none.
        """
        for edge in self.edges:
            if edge.name == name:
                return edge
        raise KeyError(name)

    def has(self, name: str) -> bool:
        """Whether there is an edge of that name."""
        return any(edge.name == name for edge in self.edges)

    @property
    def centre(self) -> EdgeName | None:
        """The edge on the body's middle line, if it has one."""
        return next((edge.name for edge in self.edges if edge.name in CENTRES), None)

    @property
    def seam_line(self) -> Points:
        """The seam line as a ring (N, 2), first point not repeated; darts' mouths with their caps."""
        capped = [dart for dart in self.darts if dart.cap is not None]
        return as_points(np.vstack([_with_caps(edge, capped)[:-1] for edge in self.edges]))

    @property
    def cut_line(self) -> Points:
        """The cut line as a ring (N, 2), first point not repeated."""
        return as_points(np.vstack([edge.cut_points[:-1] for edge in self.edges]))


def _with_caps(edge: Edge, darts: Sequence[Dart]) -> Points:
    """An edge's points, those between the legs of a capped dart replaced by its cap."""
    points = edge.points
    for dart in darts:
        if dart.on != edge.name or dart.cap is None:
            continue
        a, b = (int(np.argmin(np.hypot(*(points - leg).T))) for leg in dart.legs)
        cap = dart.cap if a <= b else dart.cap[::-1]
        points = np.vstack([points[: min(a, b) + 1], cap, points[max(a, b) :]])
    return np.asarray(points)
