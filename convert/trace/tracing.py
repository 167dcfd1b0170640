"""What was read off one piece of paper, before anybody says what it means."""

from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import Note
from calibration.ground.points import Points, as_point, as_points, frozen

LineKind = Literal["cut", "stitching", "dart", "grainline", "fold", "lengthen", "buttonhole", "other"]
MarkKind = Literal["notch", "hole", "dot"]
Seen = Literal["measured", "told"]
"""Whether a thing was read off the paper or told by hand."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracedLine:
    """A printed line, ``points`` (N, 2) in mat mm. ``confidence`` is 0 to 1."""

    kind: LineKind
    points: Points
    dashed: bool = False
    confidence: float = 1.0
    evidence: Seen = "measured"

    def __post_init__(self) -> None:
        object.__setattr__(self, "points", as_points(self.points))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TracedMark:
    """A notch, a punched hole or a printed dot at ``at`` (2,) in mat mm.

    A notch's ``at`` is the middle of its mouth on the cut line and ``tip`` its point. ``size_mm`` is a notch's depth or
    a hole's diameter.
    """

    kind: MarkKind
    at: Points
    tip: Points | None = None
    size_mm: float = 0.0
    confidence: float = 1.0
    evidence: Seen = "measured"

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", as_point(self.at))
        if self.tip is not None:
            object.__setattr__(self, "tip", as_point(self.tip))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tracing:
    """Everything read off one piece, in mat mm, y up.

    Attributes
    ----------
    outline : (N, 2)
        The cut line as a ring, counter-clockwise, first point not repeated, at most 0.5 mm apart, notches taken out.
    corners : (K,) int
        Indices into ``outline`` of its true corners.
    inferred : (N,) bool
        Where the outline runs on under a weight, a tear or a missing corner.
    told : (N,) bool or None
        Where the outline runs as it was told by hand; None if nowhere.
    lines, marks
        What is printed on it or cut into it.
    uncertainty_mm : float
        Half-width of the 95 % interval of the outline's place across itself, from tracing alone.
    mirrored : float
        How surely its lettering is seen mirrored, so that it lies printed side down: -1 (surely the right way round) to
        1, 0 where nothing tells.
    nested : bool
        Whether it is one of several sizes printed into one another, where a dart's legs may be lost among the others'.
    label : str
        Text read by the piece or its place in the picture ("left", "1"), for messages.
    """

    outline: Points
    corners: npt.NDArray[np.int64]
    inferred: npt.NDArray[np.bool_]
    lines: tuple[TracedLine, ...] = ()
    marks: tuple[TracedMark, ...] = ()
    uncertainty_mm: float = 0.2
    complete: bool = True
    label: str = ""
    notes: tuple[Note, ...] = field(default=())
    told: npt.NDArray[np.bool_] | None = None
    mirrored: float = 0.0
    nested: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", as_points(self.outline))
        object.__setattr__(self, "corners", frozen(self.corners, np.int64))
        object.__setattr__(self, "inferred", frozen(self.inferred, np.bool_))
        if self.told is not None:
            object.__setattr__(self, "told", frozen(self.told, np.bool_))
        if any(len(flags) != len(self.outline) for flags in (self.inferred, self.told) if flags is not None):
            raise ValueError("inferred and told must have one entry for each outline point")


def scaled(tracing: Tracing, factor: float) -> Tracing:
    """The tracing with every length multiplied by a factor."""
    if factor == 1.0:
        return tracing
    lines = tuple(replace(line, points=line.points * factor) for line in tracing.lines)
    marks = tuple(
        replace(
            mark,
            at=mark.at * factor,
            tip=None if mark.tip is None else mark.tip * factor,
            size_mm=mark.size_mm * factor,
        )
        for mark in tracing.marks
    )
    return replace(
        tracing,
        outline=tracing.outline * factor,
        lines=lines,
        marks=marks,
        uncertainty_mm=tracing.uncertainty_mm * factor,
    )
