"""One piece as a person redrew it: the earlier piece with the drawing's outline, darts, marks and grain."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from shapely import LinearRing, LineString

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, as_points, closed, lengths_along, nearest_on_line, resample
from convert.paper.draw.draw_piece import upright
from convert.paper.draw.drawing import LineKind, Path, turn
from convert.piece.outline.corners import turns_deg
from convert.piece.outline.path import POINTS_APART_MM, Cubic, Line
from convert.piece.outline.path import Path as Curve
from convert.piece.piece import Dart, Edge, Mark, Piece
from convert.redrawn.lay_over import Lay, counter_clockwise, lay_over, match_corners, scale_between
from convert.redrawn.read_svg import DrawnPiece

UNCHANGED_MM = 0.25  # what writing and reading a drawing may move: curve, digits, and a little
SCALE_SHARE = 0.003
SAME_SHAPE_MM = 0.5
SCALES = (0.75, 1.3)
MIRRORED_MM = 20.0
ON_LINE_MM = 5.0  # a dart's leg or a notch is taken to the seam line over this distance
SAME_MM = 1.0
REACH_MM = 4.0
STRAIGHT_MM = 0.5
_NEEDED: tuple[tuple[LineKind, str], ...] = (("dart", "darts"), ("notch", "notches"), ("grainline", "grainline"))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Redrawn:
    """A piece after it was edited, in the frame of the piece before.

    ``moved`` are the greatest distances (mm) by which edges moved, by name; ``others`` what else changed, in words.
    """

    piece: Piece
    moved: dict[str, float]
    others: tuple[str, ...]
    notes: tuple[Note, ...]

    @property
    def changed(self) -> bool:
        """Whether anything was moved at all."""
        return bool(self.moved or self.others)


def redrawn_piece(before: Piece, drawn: DrawnPiece) -> Redrawn:
    """The piece as drawn, its edges named as before by their corners.

    Parameters
    ----------
    before
        The piece that the drawing was made from.
    drawn
        Its layers as read back; only its shape counts, not where on the page it lies.

    Raises
    ------
    InputError
        If the drawing's unit was changed, a layer is missing, a corner is gone, or the outline crosses itself.
    """
    parts = counter_clockwise(list(_outline(drawn).curve))
    ring, nodes = _sampled(parts)
    _require_scale(before, ring)
    _require_printed_side(before, ring)
    _require_layers(before, drawn)
    lay = lay_over(before.seam_line, ring, _likely_turns(before, drawn))
    ring = lay.to(ring)
    _require_simple(before, ring)
    edges = _edges(before, ring, nodes)
    darts, notes = _darts(before, _lines(drawn, "dart", lay), edges)
    edges = tuple(_with_mouths(edge, darts) for edge in edges)
    piece = replace(before, edges=edges, darts=darts, marks=_marks(before, drawn, lay, edges))
    grain = max(_lines(drawn, "grainline", lay), key=lambda line: float(lengths_along(line)[-1]), default=None)
    if grain is not None:
        piece = replace(piece, grainline=_same_way(grain[[0, -1]], before.grainline))
    moved, others = _moved(before, piece), _other_changes(before, piece)
    notes += _fold_notes(piece)
    if not moved and not others:
        return Redrawn(piece=before, moved={}, others=(), notes=())
    return Redrawn(piece=piece, moved=moved, others=others, notes=notes)


def _refuse(problem: str, remedy: str) -> InputError:
    return InputError(problem, remedy)


def _outline(drawn: DrawnPiece) -> Path:
    rings = [path for path in drawn.layers["seam"] if path.closed]
    if len(rings) > 1:
        raise _refuse(
            f"The layer “seam line” of the {drawn.name.lower()} holds {len(rings)} closed lines.",
            "Leave only the piece’s outline in it, and save again.",
        )
    return rings[0]


def _sampled(parts: Sequence[Points]) -> tuple[Points, np.ndarray[Any, np.dtype[np.int64]]]:
    """A ring of close points and the indices of its nodes among them."""
    points: list[Points] = []
    nodes: list[int] = []
    for part in parts:
        one = Cubic(nodes=part) if len(part) == 4 else Line(start=part[0], end=part[1])
        nodes.append(sum(len(some) for some in points))
        points.append(Curve(segments=(one,)).points(apart_mm=POINTS_APART_MM)[:-1])
    return as_points(np.vstack(points)), np.array(nodes, np.int64)


def _require_scale(before: Piece, ring: Points) -> None:
    scale, off = scale_between(before.seam_line, ring)
    only_scaled = abs(scale - 1.0) > SCALE_SHARE and off < SAME_SHAPE_MM
    if only_scaled or not SCALES[0] <= scale <= SCALES[1]:
        raise _refuse(
            f"The {before.kind} came back {scale:.3g} times as large as it was written.",
            "The drawing program has changed the unit or scaled the drawing: save it as SVG at its own size, in "
            "millimetres or at 96 px per inch. To make a block larger, change the measurement card.",
        )


def _require_printed_side(before: Piece, ring: Points) -> None:
    _, as_it_is = scale_between(before.seam_line, ring)
    _, mirrored = scale_between(before.seam_line, (ring * [-1.0, 1.0])[::-1])
    if mirrored < 0.3 * as_it_is and mirrored < MIRRORED_MM:
        raise _refuse(
            f"The {before.kind} lies mirrored in the drawing.",
            "Flip it back, printed side towards you, and save again.",
        )


def _require_layers(before: Piece, drawn: DrawnPiece) -> None:
    had = {
        "dart": bool(before.darts),
        "notch": any(mark.kind == "notch" for mark in before.marks),
        "grainline": before.grainline is not None,
    }
    for kind, layer in _NEEDED:
        if had[kind] and kind not in drawn.layers:
            raise _refuse(
                f"The layer “{layer}” of the {before.kind} is missing from the drawing.",
                "Undo that and save again. To take everything out of a layer on purpose, leave the empty layer there.",
            )


def _likely_turns(before: Piece, drawn: DrawnPiece) -> list[Points]:
    """Turns (2, 2) that undo standing the piece upright; and that lay the grain as drawn on the grain before."""
    turns: list[Points] = [turn(np.eye(2), -upright(before))]
    grain = max(_open_lines(drawn, "grainline"), key=lambda line: float(lengths_along(line)[-1]), default=None)
    if grain is not None and before.grainline is not None:
        old, new = before.grainline[1] - before.grainline[0], grain[-1] - grain[0]
        angle = np.degrees(np.arctan2(old[1], old[0]) - np.arctan2(new[1], new[0]))
        turns.append(turn(np.eye(2), float(angle)))
    return turns


def _require_simple(before: Piece, ring: Points) -> None:
    if not LinearRing(ring).is_simple:
        raise _refuse(
            f"The outline of the {before.kind} crosses itself in the drawing.",
            "Look for a loop at a corner or a handle pulled too far, mend it and save again.",
        )


def _edges(before: Piece, ring: Points, nodes: np.ndarray[Any, np.dtype[np.int64]]) -> tuple[Edge, ...]:
    """The ring cut at the nodes that the earlier corners became."""
    old = before.seam_line
    starts = np.cumsum([0] + [len(edge.points) - 1 for edge in before.edges[:-1]])
    old_turns, new_turns = turns_deg(old, reach_mm=REACH_MM)[starts], turns_deg(ring, reach_mm=REACH_MM)[nodes]
    found = match_corners(old[starts], old_turns, ring[nodes], new_turns)
    if not found:
        raise _refuse(
            f"The {before.kind} has {len(before.edges)} edges, but the drawing’s outline only {len(nodes)} nodes.",
            "Keep a node at every corner of the piece.",
        )
    edges = []
    for k, edge in enumerate(before.edges):
        at = int(nodes[found[k]])
        if abs(old_turns[k]) > 20.0 and abs(new_turns[found[k]]) < 0.3 * abs(old_turns[k]):
            raise _refuse(
                f"The corner between the {before.edges[k - 1].name} and the {edge.name} of the {before.kind} can’t be "
                "found again in the drawing.",
                "Keep a node at that corner, with a corner’s turn.",
            )
        to = int(nodes[found[(k + 1) % len(found)]])
        points = ring[at : to + 1] if to > at else np.vstack([ring[at:], ring[: to + 1]])
        edges.append(replace(edge, points=points, cut_points=points))
    return tuple(edges)


def _open_lines(drawn: DrawnPiece, kind: LineKind) -> list[Points]:
    return [path.points for path in drawn.layers.get(kind, ()) if not path.closed]


def _lines(drawn: DrawnPiece, kind: LineKind, lay: Lay) -> list[Points]:
    return [lay.to(line) for line in _open_lines(drawn, kind)]


def _darts(before: Piece, lines: list[Points], edges: Sequence[Edge]) -> tuple[tuple[Dart, ...], tuple[Note, ...]]:
    """Darts from lines that run leg, point, leg; two that share their legs are one double-pointed dart."""
    bent = [(line, _apex(line)) for line in lines if len(line) > 2]
    darts: list[Dart] = []
    while bent:
        line, apex = bent.pop(0)
        legs = line[[0, -1]]
        twin = next((k for k, (other, _) in enumerate(bent) if _same_legs(legs, other[[0, -1]])), None)
        if twin is not None:
            darts.append(Dart(on=None, apexes=as_points([apex, bent.pop(twin)[1]]), legs=legs, evidence="told"))
            continue
        darts.append(_dart_on(before, legs, apex, edges))
    known = [next((d for d in before.darts if _same_dart(d, dart)), None) for dart in darts]
    kept = tuple(
        dart if old is None else replace(dart, evidence=old.evidence) for dart, old in zip(darts, known, strict=True)
    )
    if len(kept) == len(before.darts):
        return kept, ()
    word = f"The {before.kind} has {len(kept)} {'dart' if len(kept) == 1 else 'darts'} in the drawing, and had "
    return kept, (Note("redrawn-darts", f"{word}{len(before.darts)} before."),)


def _apex(line: Points) -> Points:
    """The point farthest from the straight line between a dart's leg ends."""
    way = line[-1] - line[0]
    gap = line - line[0]
    far = np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0])
    apex: Points = line[int(np.argmax(far))]
    return apex


def _same_legs(one: Points, other: Points) -> bool:
    gap = min(np.abs(one - other).max(), np.abs(one - other[::-1]).max())
    return bool(gap < SAME_MM)


def _same_dart(one: Dart, other: Dart) -> bool:
    return one.on == other.on and bool(np.hypot(*(one.apexes[0] - other.apexes[0])) < 60.0)


def _dart_on(before: Piece, legs: Points, apex: Points, edges: Sequence[Edge]) -> Dart:
    """A dart taken to the edge that both its legs end on, its legs in the edge's order."""
    feet = []
    for edge in edges:
        (a, s, far_a), (b, t, far_b) = (nearest_on_line(edge.points, leg) for leg in legs)
        feet.append((max(far_a, far_b), edge, (a, b) if s < t else (b, a)))
    far, edge, ends = min(feet, key=lambda foot: foot[0])
    if far > ON_LINE_MM:
        raise _refuse(
            f"A dart of the {before.kind} ends {far:.0f} mm away from the seam line.",
            "Drag both ends of the dart’s line onto one edge of the outline.",
        )
    return Dart(on=edge.name, apexes=as_points([apex]), legs=as_points(ends), evidence="told")


def _with_mouths(edge: Edge, darts: Sequence[Dart]) -> Edge:
    """The edge with each dart's leg ends among its points, and straight from one to the other."""
    points = edge.points
    for dart in darts:
        if dart.on != edge.name:
            continue
        along = lengths_along(points)
        s, t = (nearest_on_line(points, leg)[1] for leg in dart.legs)
        mouth = resample(dart.legs, 2 * POINTS_APART_MM)
        head, tail = points[along < s - 1e-6], points[along > t + 1e-6]
        points = np.vstack([head, mouth, tail])
    return replace(edge, points=points, cut_points=points)


def _marks(before: Piece, drawn: DrawnPiece, lay: Lay, edges: Sequence[Edge]) -> tuple[Mark, ...]:
    """Notches and holes as drawn; the rings at the darts' points and the grain's ends are not among them."""
    marks = [_notch(before, line, edges) for line in _lines(drawn, "notch", lay)]
    points = [apex for dart in before.darts for apex in dart.apexes]
    points += [_apex(line) for line in _lines(drawn, "dart", lay) if len(line) > 2]
    for path in drawn.layers.get("hole", ()):
        middle = lay.to(path.points).mean(0)
        if all(np.hypot(*(middle - point)) > 2.5 for point in points):
            old = _nearest([mark for mark in before.marks if mark.kind == "hole"], middle)
            marks.append(replace(old, at=middle, seam_at=None) if old else Mark(kind="hole", at=middle))
    return (*marks, *(mark for mark in before.marks if mark.kind == "grain-end"))


def _notch(before: Piece, line: Points, edges: Sequence[Edge]) -> Mark:
    """A notch where its line meets the outline, with what was known of the one that stood nearest."""
    feet = [(*nearest_on_line(edge.points, end), edge) for edge in edges for end in line[[0, -1]]]
    at, _, far, edge = min(feet, key=lambda foot: foot[2])
    if far > ON_LINE_MM:
        raise _refuse(
            f"A notch of the {before.kind} lies {far:.0f} mm away from the seam line.",
            "Drag one end of its line onto the outline, or delete it.",
        )
    old = _nearest([mark for mark in before.marks if mark.kind == "notch" and mark.on == edge.name], at)
    if old is None:
        return Mark(kind="notch", at=at, on=edge.name, seam_at=at)
    return replace(old, at=at, seam_at=at)


def _nearest(marks: list[Mark], at: Points) -> Mark | None:
    return min(marks, key=lambda mark: float(np.hypot(*(mark.at - at))), default=None)


def _same_way(line: Points, before: Points | None) -> Points:
    if before is not None and float((line[1] - line[0]) @ (before[1] - before[0])) < 0:
        return line[::-1]
    return line


def _moved(before: Piece, after: Piece) -> dict[str, float]:
    moved = {}
    for old, new in zip(before.edges, after.edges, strict=True):
        far = float(LineString(old.points).hausdorff_distance(LineString(new.points)))
        if far > UNCHANGED_MM:
            moved[str(old.name)] = far
    return moved


def _other_changes(before: Piece, after: Piece) -> tuple[str, ...]:
    """What changed besides the outline, in words: darts, notches, holes, grain."""
    out = []
    line = closed(before.seam_line)  # a notch that stayed while its seam moved is no change
    old, new = (_spots(piece, line) for piece in (before, after))
    for name, least in (("darts", 2 * UNCHANGED_MM), ("notches", SAME_MM), ("holes", 2 * UNCHANGED_MM)):
        a, b = old[name], new[name]
        if len(a) != len(b) or (len(a) and max(_far(a, b), _far(b, a)) > least):
            out.append(name)
    if before.grainline is not None and after.grainline is not None:
        ways = [line[1] - line[0] for line in (before.grainline, after.grainline)]
        angle = np.degrees(np.arccos(np.clip(ways[0] @ ways[1] / np.prod([np.hypot(*way) for way in ways]), -1, 1)))
        if angle > 0.1:
            out.append("grainline")
    return tuple(out)


def _spots(piece: Piece, line: Points) -> dict[str, Points]:
    darts = [point for dart in piece.darts for point in (*dart.apexes, *dart.legs)]
    notches = [nearest_on_line(line, mark.at)[0] for mark in piece.marks if mark.kind == "notch"]
    holes = [mark.at for mark in piece.marks if mark.kind == "hole"]
    return {"darts": as_points(darts), "notches": as_points(notches), "holes": as_points(holes)}


def _far(some: Points, others: Points) -> float:
    """The greatest distance from one of the points to the nearest of the others."""
    return float(np.hypot(*(some[:, None] - others[None]).transpose(2, 0, 1)).min(1).max())


def _fold_notes(piece: Piece) -> tuple[Note, ...]:
    notes = []
    for edge in piece.edges:
        if edge.on_fold:
            way = edge.points[-1] - edge.points[0]
            gap = edge.points - edge.points[0]
            off = float(np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0]).max() / np.hypot(*way))
            if off > STRAIGHT_MM:
                text = (
                    f"The {edge.name} of the {piece.kind} lies on the fold but is not straight: it is {off:.1f} mm off."
                )
                notes.append(Note("fold-not-straight", text))
    return tuple(notes)
