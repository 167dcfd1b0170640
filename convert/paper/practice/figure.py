"""A piece as it is drawn in the booklet: lines and words in mm of the body, standing on its grain, before any scale."""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from shapely import LineString, Polygon, make_valid, maximum_inscribed_circle, unary_union

from calibration.ground.points import Points, as_points, closed
from convert.block.shape.landmarks import bust_point
from convert.block.shape.shape import shape_of
from convert.paper.draw.draw_piece import simplified, upright
from convert.paper.draw.drawing import turn
from convert.piece.piece import Piece

_CLEAR_MM, _NEAR_MM = 8.0, 2.0  # a name keeps clear of lines, and need not lie better than so
KEEP_MM = 0.05  # straight steps run at most this far from the curve, at full size
Look = Literal["outline", "dart", "cut", "stitch", "fold", "grain", "old"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """One line (N, 2), and how it looks."""

    look: Look
    points: Points


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Word:
    """A word beside a point (2,); ``ring`` draws a small ring at the point too."""

    words: str
    at: Points
    ring: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Figure:
    """Lines and words of one piece, its lower left corner at the origin."""

    name: str
    strokes: tuple[Stroke, ...]
    words: tuple[Word, ...] = ()

    @property
    def name_at(self) -> Points:
        """Where its name is set: the middle of the widest free place inside (2,)."""
        outline = next(stroke.points for stroke in self.strokes if stroke.look in ("stitch", "outline"))
        lines = [LineString(one.points).buffer(_CLEAR_MM) for one in self.strokes if one.look in ("dart", "grain")]
        free = make_valid(Polygon(outline)).difference(unary_union(lines))
        parts = [part for part in getattr(free, "geoms", [free]) if isinstance(part, Polygon)]
        middles = [maximum_inscribed_circle(part, tolerance=_NEAR_MM) for part in parts]
        return np.array(max(middles, key=lambda one: one.length).coords[0])

    @property
    def size(self) -> Points:
        """Width and height, mm of the body."""
        return np.asarray(np.vstack([stroke.points for stroke in self.strokes]).max(0))


def figure(
    piece: Piece,
    *,
    name: str = "",
    more: tuple[Stroke, ...] = (),
    cut_ring: Points | None = None,
    bust: bool = True,
) -> Figure:
    """A piece standing on its grain: outline, darts, grain, fold and the bust point of a front.

    Parameters
    ----------
    more
        Further lines on the piece's own paper: cuts, notches.
    cut_ring
        The cut line (N, 2) round it, if it has allowance; the outline is the stitching line then.
    """
    strokes = [Stroke(look="outline" if cut_ring is None else "stitch", points=_ring(piece.seam_line))]
    if cut_ring is not None:
        strokes.append(Stroke(look="outline", points=_ring(cut_ring)))
    strokes += [Stroke(look="fold", points=edge.points) for edge in piece.edges if edge.on_fold]
    strokes += [
        Stroke(look="dart", points=np.vstack([dart.legs[0], apex, dart.legs[1]]))
        for dart in piece.darts
        for apex in dart.apexes
    ]
    strokes += more
    if piece.grainline is not None:
        strokes.append(Stroke(look="grain", points=_middle_part(piece.grainline)))
    words = []
    if bust and piece.kind == "bodice front" and piece.darts:
        shape = shape_of(piece)
        words.append(Word(words="bust point", at=shape.frame.to_paper(bust_point(shape)[None])[0], ring=True))
    return set_down(
        Figure(name=name or piece.kind.capitalize(), strokes=tuple(strokes), words=tuple(words)), upright(piece)
    )


def _middle_part(line: Points) -> Points:
    """A line (2, 2) shortened about its middle: a grain is shown, not measured."""
    middle = line.mean(0)
    return np.asarray(middle + (line - middle) * 0.6)


def _ring(ring: Points) -> Points:
    return closed(simplified(ring, KEEP_MM))


def set_down(one: Figure, angle_deg: float = 0.0) -> Figure:
    """The figure turned, then moved until its lower left corner lies at the origin."""
    turned = [replace(stroke, points=as_points(turn(stroke.points, angle_deg))) for stroke in one.strokes]
    low = np.vstack([stroke.points for stroke in turned]).min(0)
    return replace(
        one,
        strokes=tuple(replace(stroke, points=stroke.points - low) for stroke in turned),
        words=tuple(replace(word, at=turn(word.at[None], angle_deg)[0] - low) for word in one.words),
    )


def beside(figures: tuple[Figure, ...], gap: float, most: float) -> tuple[tuple[Figure, Points], ...]:
    """Figures in rows at most ``most`` wide, lowest first, each with its lower left corner (2,)."""
    out: list[tuple[Figure, Points]] = []
    x = y = row = 0.0
    for one in figures:
        wide, high = (float(side) for side in one.size)
        if out and x + wide > most:
            x, y, row = 0.0, y + row + gap, 0.0
        out.append((one, np.array([x, y])))
        x, row = x + wide + gap, max(row, high)
    return tuple(out)
