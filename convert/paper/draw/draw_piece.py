"""Drawing one piece at a chosen scale: its lines, darts, marks, grain and the words it must carry."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np
from shapely import LineString, Polygon
from shapely.ops import substring

from calibration.ground.plane import left, unit
from calibration.ground.points import Points, as_points, length, nearest_on_line
from convert.paper.draw.beside_edges import edge_names
from convert.paper.draw.curves import ring_curve, seam_curve
from convert.paper.draw.drawing import Drawing, Line, Path, Text, turn
from convert.paper.draw.label import CELL_MM, free_room, obstacles_of, place_label
from convert.paper.draw.lettering import width
from convert.piece.piece import Dart, Edge, Mark, Piece

NOTCH_MM = 6.0
APEX_MM = 2.0
CROSS_MM = 4.0  # half the bust point's cross
ELBOW_UP_MM, SHORT_SLEEVE_MM = 25.0, 250.0  # above the middle (common practice); a shorter one has no elbow
ARROW_MM = 6.0
FOLD_SIGN_MM = 9.0
KEEP_MM = 0.02  # straight steps run at most this far from the curve they stand for
HEADING_MM, WORDS_MM, SMALLEST_MM = 8.0, 5.0, 3.2  # 5 mm type is 14 point
OnPaper = Callable[[Points], Points]
TIMES = {1.0: "Full size", 0.5: "Half scale", 0.25: "Quarter scale"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceWords:
    """What is written on a piece besides its name; each a finished line for the reader.

    ``edges`` is written along the edge of that name, at full size; ``bust_point`` (2,) is marked on a front.
    ``ease`` and ``allowance`` are whole sentences or phrases ("Ease: bust 6 cm", "No seam allowance").
    """

    whose: str
    cut: str
    allowance: str
    ease: tuple[str, ...]
    date: str
    version: str
    edges: Mapping[str, str] = field(default_factory=dict)
    bust_point: Points | None = None

    def lines(self, name: str, scale: float, size: float) -> tuple[Line, ...]:
        """The label's lines, the name largest."""
        plain = (self.whose, self.cut, self.allowance, *self.ease, f"{scale_words(scale)}, {self.date}", self.version)
        heading = Line(words=name, size=size * (HEADING_MM / WORDS_MM if scale == 1.0 else 1.1), bold=True)
        return (heading, *(Line(words=words, size=size) for words in plain if words))


def scale_words(scale: float) -> str:
    """The scale in words."""
    return TIMES.get(scale, f"Scale {scale:g}")


def cut_words(piece: Piece) -> str:
    """How many to cut, and whether on the fold."""
    fold = next((edge.name for edge in piece.edges if edge.on_fold), None)
    return f"Cut 1, {fold} on the fold" if fold else "Cut 2, one the mirror of the other"


def upright(piece: Piece) -> float:
    """Angle in degrees that stands the piece's grain (or its centre, or its underarm line) straight up."""
    if piece.grainline is not None:
        way = piece.grainline[1] - piece.grainline[0]
        return float(90.0 - np.degrees(np.arctan2(way[1], way[0])))
    for name in ("centre front", "centre back"):
        if piece.has(name):
            ends = piece.edge(name).points[[0, -1]]
            way = ends[1] - ends[0]
            # Counter-clockwise round the piece, the edge on the right is walked upwards, the one on the left downwards.
            up = way if _lies_right(piece, ends.mean(0), way) else -way
            return float(90.0 - np.degrees(np.arctan2(up[1], up[0])))
    return 0.0


def _lies_right(piece: Piece, middle: Points, way: Points) -> bool:
    neck = piece.edge("neckline") if piece.has("neckline") else piece.edge("waist") if piece.has("waist") else None
    return neck is None or float((neck.points.mean(0) - middle) @ way) > 0


def level_lines(piece: Piece, *, waist_to_hip: float | None = None, bust: Points | None = None) -> Mapping[str, Points]:
    """Levels across a piece, square to its own up, each (2, 2).

    The bust line runs through the bust point of a front, apart from the underarm line where they are not the same; a
    sleeve's upper arm line between its underarm points, its elbow line midway between these and the wrist and a little
    above (common practice); a dress's waist line through its double-pointed darts where they are widest, the hip line
    ``waist_to_hip`` below the waist.
    """
    lines: dict[str, Points] = {}
    underarm = _corner(piece, "armhole", "side seam")
    if underarm is not None:
        lines["underarm line"] = _across(piece, underarm)
    if bust is not None:
        lines["bust line"] = _across(piece, bust)
    if piece.kind == "sleeve" and piece.has("cap"):
        lines["upper arm line"] = piece.edge("cap").points[[0, -1]]
        lines |= _elbow(piece)
    waist = next((dart.legs.mean(0) for dart in piece.darts if dart.on is None), None)
    if waist is not None:
        lines["waist line"] = _across(piece, waist)
    elif piece.kind.startswith("skirt"):
        waist = next(
            (c for c in (_corner(piece, f"centre {side}", "waist") for side in ("front", "back")) if c is not None),
            None,
        )
    if waist is not None and waist_to_hip:
        down = turn(np.array([0.0, -waist_to_hip]), -upright(piece))
        line = _across(piece, waist + down)
        if len(line):
            lines["hip line"] = line
    return lines


def _elbow(piece: Piece) -> dict[str, Points]:
    """A sleeve's elbow line, through the elbow dart's mouth where it has one; none on a sleeve that ends above it."""
    wrist = next((edge for edge in piece.edges if edge.name in ("wrist", "hem")), None)
    if wrist is None:
        return {}
    angle = upright(piece)
    top = float(turn(piece.edge("cap").points[[0, -1]], angle)[:, 1].mean())
    low = float(turn(wrist.points, angle)[:, 1].mean())
    if top - low < SHORT_SLEEVE_MM:
        return {}
    dart = next((one for one in piece.darts if one.on and one.on.startswith("underarm")), None)
    level = (top + low) / 2.0 + ELBOW_UP_MM if dart is None else float(turn(dart.legs, angle)[:, 1].mean())
    middle = float(turn(wrist.points, angle)[:, 0].mean())
    return {"elbow line": _across(piece, turn(np.array([[middle, level]]), -angle)[0])}


def _corner(piece: Piece, one: str, other: str) -> Points | None:
    if not (piece.has(one) and piece.has(other)):
        return None
    ends = [piece.edge(name).points[[0, -1]] for name in (one, other)]
    gaps = np.linalg.norm(ends[0][:, None] - ends[1][None], axis=2)
    return np.asarray(ends[0][int(np.argmin(gaps.min(1)))])


def _across(piece: Piece, through: Points) -> Points:
    angle = upright(piece)
    ring = turn(piece.seam_line, angle)
    level = float(turn(through, angle)[1])
    line = LineString([(ring[:, 0].min() - 1, level), (ring[:, 0].max() + 1, level)])
    inside = np.array(line.intersection(Polygon(ring).buffer(1e-6)).bounds)
    if np.isnan(inside).any() or not len(inside):
        return as_points([])
    return turn(as_points([[inside[0], level], [inside[2], level]]), -angle)


def draw_piece(
    piece: Piece,
    words: PieceWords,
    *,
    scale: float = 1.0,
    cut_ring: Points | None = None,
    levels: Mapping[str, Points] | None = None,
    label: bool = True,
) -> Drawing:
    """The piece standing upright on its grain, at the scale chosen.

    Parameters
    ----------
    piece
        On its seam line, mm.
    words
        What is written on it.
    scale
        1 full size, 0.5 half, 0.25 quarter. Lines and letters keep their own size.
    cut_ring : (N, 2), optional
        The cut line round it, for a toile sheet; the seam line is then dashed within.
    levels
        Lines across the piece by name, each (2, 2); those the outline gives if left out.
    label
        Whether the words are written; darts, grain and marks are drawn always.
    """
    angle = upright(piece)

    def on_paper(points: Points) -> Points:
        return turn(points, angle) * scale

    seam = on_paper(piece.seam_line)
    ring = seam if cut_ring is None else on_paper(cut_ring)
    drawn = tuple(on_paper(part) for part in seam_curve(piece))
    items: list[Path | Text] = [Path(kind="seam", points=simplified(seam), closed=True, name="seam line", curve=drawn)]
    if cut_ring is not None:
        cut = tuple(on_paper(part) for part in ring_curve(cut_ring))
        items = [
            Path(kind="cut", points=simplified(ring), closed=True, name="cut line", curve=cut),
            Path(kind="stitching", points=simplified(seam), closed=True, name="seam line", curve=drawn),
        ]
    for edge in piece.edges:
        if edge.on_fold:
            items += _fold(on_paper(edge.points), edge.name, FOLD_SIGN_MM * _signs(scale))
    for dart in piece.darts:
        items += _dart(dart, on_paper)
    for mark in piece.marks:
        items += _mark(mark, piece, ring, on_paper)
    grain = None if piece.grainline is None else on_paper(piece.grainline)
    items += [] if grain is None else _arrow(grain, ARROW_MM * _signs(scale))
    named = {name: on_paper(line) for name, line in (level_lines(piece) if levels is None else levels).items()}
    items += [Path(kind="level", points=line, name=name) for name, line in named.items()]
    if words.bust_point is not None:
        items += _bust_point(on_paper(words.bust_point[None])[0], CROSS_MM * _signs(scale))
    name = piece.kind.capitalize()
    lines: tuple[Line, ...] = ()
    left_out: tuple[str, ...] = ()
    if label:
        if scale == 1.0:
            on_edges = {str(edge.name): on_paper(edge.points) for edge in piece.edges}
            items += edge_names(on_edges, words.edges, seam, items)
        lines = words.lines(name, scale, WORDS_MM)
        texts, written = _words(lines, seam, items, clear=CLEAR_MM * max(scale, 0.4))
        items += texts
        left_out = tuple(line.words for line in lines[written:])
        items += _level_names(named, seam, items)
    return Drawing(name=name, items=tuple(items), outline=_paper_needed(ring, seam), label=lines, left_out=left_out)


def simplified(ring: Points, keep_mm: float = KEEP_MM) -> Points:
    """The ring with points dropped that lie within ``keep_mm`` of the straight step between their neighbours."""
    far = int(np.argmax(np.hypot(*(ring - ring[0]).T)))
    halves = (np.vstack([ring[: far + 1]]), np.vstack([ring[far:], ring[:1]]))
    kept = [np.array(LineString(half).simplify(keep_mm, preserve_topology=False).coords)[:-1] for half in halves]
    return as_points(np.vstack(kept))


def _paper_needed(ring: Points, seam: Points) -> Points:
    shape = Polygon(ring)
    if not shape.is_valid:
        shape = shape.buffer(0)
    return simplified(np.array(shape.union(Polygon(seam).buffer(0)).buffer(0.6).exterior.coords)[:-1])


def _signs(scale: float) -> float:
    """How much smaller signs are on a reduced drawing: less than the piece, so that they are still seen."""
    return float(np.sqrt(scale))


def _fold(line: Points, name: str, largest: float) -> list[Path | Text]:
    """The fold's own heavy dashes and, beside it, the sign for the fold: an arrow bent to the edge at both ends."""
    along = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    inward = left(along)
    room = length(line)
    reach, end = min(largest, 0.08 * room), 0.18 * room
    start, stop = line[0] + along * end, line[-1] - along * end
    sign = as_points([start + 0.8 * inward, start + reach * inward, stop + reach * inward, stop + 0.8 * inward])
    heads = [_head(start + 0.8 * inward, -inward, 0.5 * reach), _head(stop + 0.8 * inward, -inward, 0.5 * reach)]
    return [
        Path(kind="fold", points=simplified_line(line), name=f"{name}, on the fold"),
        Path(kind="fold sign", points=sign),
        *(Path(kind="fold sign", points=head, closed=True, filled=True) for head in heads),
    ]


def simplified_line(line: Points) -> Points:
    """As :func:`simplified`, for an open line."""
    return as_points(np.array(LineString(line).simplify(KEEP_MM, preserve_topology=False).coords))


def _dart(dart: Dart, on_paper: OnPaper) -> list[Path | Text]:
    legs, apexes = on_paper(dart.legs), on_paper(dart.apexes)
    lines = [as_points([legs[0], apex, legs[1]]) for apex in apexes]
    circle = APEX_MM * 0.5 * np.column_stack([f(np.linspace(0, 2 * np.pi, 25)[:-1]) for f in (np.cos, np.sin)])
    name = f"{dart.on} dart" if dart.on else "double-pointed dart"
    return [
        *(Path(kind="dart", points=line, name=name) for line in lines),
        *(Path(kind="hole", points=circle + apex, closed=True, name=f"{name}, point") for apex in apexes),
    ]


def _bust_point(at: Points, arm: float) -> list[Path | Text]:
    """A cross, and its name beside it."""
    arms = (np.array([arm, 0.0]), np.array([0.0, arm]))
    return [
        *(Path(kind="level", points=as_points([at - one, at + one]), name="bust point") for one in arms),
        Text(words="bust point", at=at + [1.2 * arm, 0.6 * arm], size=SMALLEST_MM),
    ]


def _mark(mark: Mark, piece: Piece, ring: Points, on_paper: OnPaper) -> list[Path | Text]:
    at = on_paper(mark.at)
    if mark.kind == "hole":
        circle = 1.5 * np.column_stack([f(np.linspace(0, 2 * np.pi, 25)[:-1]) for f in (np.cos, np.sin)])
        return [Path(kind="hole", points=circle + at, closed=True, name=mark.meaning or "hole")]
    if mark.kind != "notch":
        return []
    edge = _edge_of(mark, piece)
    line = on_paper(edge.points)
    foot, along, _ = nearest_on_line(line, at)
    inward = _inward(line, along)
    notch = min(NOTCH_MM, max(2.5, 0.03 * length(line)))  # shorter on a reduced drawing
    edge_of_paper = _ray_out(foot, -inward, ring)
    return [Path(kind="notch", points=as_points([edge_of_paper, foot + notch * inward]), name=f"notch, {edge.name}")]


def _edge_of(mark: Mark, piece: Piece) -> Edge:
    if mark.on is not None and piece.has(mark.on):
        return piece.edge(mark.on)
    return min(piece.edges, key=lambda edge: nearest_on_line(edge.points, mark.at)[2])


def _inward(line: Points, along: float) -> Points:
    """Unit normal to the left of a line run counter-clockwise round a piece, taken over 2 mm."""
    shape = LineString(line)
    a, b = (np.array(shape.interpolate(np.clip(along + d, 0, shape.length)).coords[0]) for d in (-1.0, 1.0))
    return left(unit(b - a))


def _ray_out(foot: Points, outward: Points, ring: Points) -> Points:
    """Where a ray from the seam line meets the cut line; the foot itself where there is no allowance."""
    ray = LineString([foot, foot + 60.0 * outward])
    hits = ray.intersection(LineString(np.vstack([ring, ring[:1]])))
    points = [np.array(part.coords[0]) for part in getattr(hits, "geoms", [hits]) if not part.is_empty]
    return min(points, key=lambda p: float(np.hypot(*(p - foot))), default=foot)


def _arrow(line: Points, largest: float) -> list[Path | Text]:
    way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    size = min(largest, 0.12 * length(line))
    return [
        Path(kind="grainline", points=line, name="grainline"),
        Path(kind="grainline", points=_head(line[0], -way, size), closed=True, filled=True),
        Path(kind="grainline", points=_head(line[1], way, size), closed=True, filled=True),
    ]


def _head(tip: Points, way: Points, size: float) -> Points:
    side = left(way)
    return as_points([tip, tip - size * way + 0.3 * size * side, tip - size * way - 0.3 * size * side])


CLEAR_MM = 4.0
ROOMS_MM = (110.0, 90.0, 75.0, 60.0, 48.0, 36.0, 26.0)
OUTLINES = ("seam", "cut", "stitching")
SHRINKS = (1.3, 1.15, 1.0, 0.9, 0.8, 0.7, SMALLEST_MM / WORDS_MM)


def _words(
    lines: tuple[Line, ...], seam: Points, items: list[Path | Text], *, clear: float
) -> tuple[tuple[Text, ...], int]:
    """The label in the roomiest free place, and how many of its lines it holds.

    Where there is no room for a line each, they run on as one text; the last are left out where that is too much.
    """
    obstacles = obstacles_of(items, ignore=OUTLINES, clear=0.6 * clear)

    def place(some: tuple[Line, ...]) -> tuple[Text, ...] | None:
        return place_label(some, seam, obstacles, shrinks=SHRINKS, rooms=ROOMS_MM, clear=clear)

    for count in range(len(lines), 0, -1):
        running = (Line(words=" ".join(f"{line.words}." for line in lines[1:count]), size=lines[-1].size),)
        texts = place(lines[:count]) or place((lines[0], *running[: count - 1]))
        if texts:
            return texts, count
    return (), 0


def _level_names(levels: Mapping[str, Points], seam: Points, items: list[Path | Text]) -> list[Path | Text]:
    """Each level's name just above its line, slid along it to a free place."""
    out: list[Path | Text] = []
    for name, line in levels.items():
        size = WORDS_MM * 0.8
        others = [item for item in (*items, *out) if not (isinstance(item, Path) and item.name == name)]
        free, origin = free_room(seam, obstacles_of(others, ignore=OUTLINES), clear=2.0)
        shape = LineString(line if line[0, 0] < line[1, 0] else line[::-1])
        need = width(name, size)
        for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9):
            start = shape.length * share - need / 2
            if start < 3 or start + need > shape.length - 3:
                continue
            stretch = substring(shape, start, start + need)
            at = np.array(stretch.coords[0]) + [0, 1.2]
            box = at + np.array([[0, 0.5 * size], [need / 2, 0.5 * size], [need, 0.5 * size]])
            cells = np.floor((box - origin) / CELL_MM).astype(int)
            if free[cells[:, 1], cells[:, 0]].all():
                out.append(Text(words=name, at=at, size=size))
                break
    return out
