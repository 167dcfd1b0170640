"""What a maker has said about a piece; it always wins over what was read or guessed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Generic, Literal, TypeVar

import numpy as np

from calibration.ground.points import Points, as_points
from convert.piece.piece import Allowance, EdgeName
from convert.piece.width_words import Unit

SAME_EDGE: Mapping[str, str] = {"wrist": "hem", "hem": "wrist"}
"""A sleeve's lower edge goes by either name."""


class Pixels:
    """Frame of what is told on a picture: pixels of the upright picture, x right, y down."""


class Millimetres:
    """Frame of what is told of a piece: mm, y up, on the mat or (once the piece is named) on the piece."""


Frame = TypeVar("Frame", Pixels, Millimetres)
HoleMeaning = Literal["grain", "fold", "dart", "double-pointed dart", "seam line", "nothing"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeTold(Generic[Frame]):
    """An edge's name, told by ``points`` in some frame: one point (1, 2) on it, or its two ends (2, 2)."""

    name: EdgeName
    points: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(np.atleast_2d(self.points)))
        if len(self.points) not in (1, 2):
            raise ValueError("an edge is told by a point on it or by its two ends")

    @property
    def at(self) -> Points | None:
        """The point (2,) on it; None if it is told by its ends."""
        return self.points[0] if len(self.points) == 1 else None

    @property
    def ends(self) -> Points | None:
        """Its two ends (2, 2); None if it is told by a point."""
        return self.points if len(self.points) == 2 else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DartTold(Generic[Frame]):
    """A dart in some frame by its ``legs`` (2, 2), anywhere along each leg, and ``apexes`` (1 or 2, 2)."""

    legs: Points
    apexes: Points

    def __post_init__(self) -> None:
        object.__setattr__(self, "legs", as_points(self.legs))
        object.__setattr__(self, "apexes", as_points(self.apexes))
        if len(self.legs) != 2 or len(self.apexes) not in (1, 2):
            raise ValueError("a dart has two legs and one or two apexes")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HolesTold(Generic[Frame]):
    """What holes mean, in some frame: those of the group about one place, or those at several places ``at`` (N, 2)."""

    at: Points
    means: HoleMeaning

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", as_points(np.atleast_2d(self.at)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Told:
    """What was told of one piece. Points are in mat mm, as traced (before the piece is turned upright).

    Attributes
    ----------
    fold
        The edge that lies on a fold, ``"none"`` if none does, None if nothing was said.
    allowance_mm
        The seam allowance of every edge that is not named in ``allowances``.
    allowances
        Seam allowance by name of edge. ``no_allowance`` means 0 everywhere.
    edges, darts
        Names of edges and places of darts. With ``no_darts`` there are no darts but those told.
    hole_meanings
        What groups of holes mean.
    removed : (N, 2)
        Where something was read that is not there: a dart with its point so near is left out.
    centre_line : (2, 2)
        Two points of the centre line, where it runs inside the piece (wrap, cut-on facing) or along its edge.
    neck_line : (K, 2)
        Points of the neckline, where a collar is cut in one with the piece and runs on past it.
    tucks
        Each by two points (2, 2) on an edge that come to lie on one another when it is folded.
    grain : (2, 2)
        Two points of the grainline.
    face_down
        Whether the paper lay printed side down, so that the picture is its mirror image; None if nothing was said, and
        its lettering tells.
    year
        When the pattern was published, for what allowance was usual.
    seam_from
        On which edge a panel seam begins: shoulder, armhole or neckline.
    alike
        What the other pieces of the pattern say of this one's allowances; less than anything read here.
    unit
        The unit the maker reads, for what is said.
    """

    fold: EdgeName | str | None = None
    allowance_mm: float | None = None
    allowances: Mapping[str, float] = field(default_factory=dict)
    no_allowance: bool = False
    edges: tuple[EdgeTold[Millimetres], ...] = ()
    centre_line: Points | None = None
    neck_line: Points | None = None
    tucks: tuple[Points, ...] = ()
    darts: tuple[DartTold[Millimetres], ...] = ()
    no_darts: bool = False
    removed: Points | None = None
    hole_meanings: tuple[HolesTold[Millimetres], ...] = ()
    grain: Points | None = None
    face_down: bool | None = None
    year: int | None = None
    seam_from: EdgeName | None = None
    alike: Mapping[EdgeName, Allowance] = field(default_factory=dict)
    unit: Unit = "cm"

    def __post_init__(self) -> None:
        object.__setattr__(self, "allowances", MappingProxyType(dict(self.allowances)))
        object.__setattr__(self, "alike", MappingProxyType(dict(self.alike)))
        object.__setattr__(self, "tucks", tuple(as_points(tuck) for tuck in self.tucks))
        for name in ("centre_line", "neck_line", "grain", "removed"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, as_points(getattr(self, name)))

    def allowance_of(self, edge: str) -> float | None:
        """The allowance told for an edge, by its own name first, in mm; None if nothing was told."""
        if self.no_allowance:
            return 0.0
        for name in (edge, SAME_EDGE.get(edge, edge)):
            if name in self.allowances:
                return float(self.allowances[name])
        return self.allowance_mm


NOTHING_TOLD = Told()
