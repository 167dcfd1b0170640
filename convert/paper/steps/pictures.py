"""Small pictures for the report: a move on the paper, pattern against block, the comparison as bars.

Each is an inline SVG that takes its colours from the page (CSS variables ``--ink``, ``--added``, ``--lost``,
``--body``), with fallbacks, so that it reads on light and dark. Kinds are told apart by pattern, not colour alone.
"""

import re
from collections.abc import Callable, Sequence
from itertools import count
from xml.sax.saxutils import escape

import numpy as np
from shapely import Polygon, transform
from shapely.geometry.base import BaseGeometry

from calibration.ground.points import Points, lengths_along
from calibration.ground.units import MM_PER_INCH
from convert.block.block import Level, Move
from convert.body.card import LengthUnit
from convert.body.wording import format_body_mm, format_paper_mm
from convert.paper.draw.draw_piece import simplified, simplified_line, upright
from convert.paper.draw.drawing import turn
from convert.paper.draw.svg import number, path_data
from convert.paper.steps.slashed import Slashed, slashed
from convert.piece.piece import Piece

MARGIN_MM = 14.0
SMALLEST_SHIFT_MM = 0.7  # smaller shifts of an edge get no arrow
PICTURE_KEEP_MM = 0.08  # a picture of a move is looked at, not cut from
SLIVER_MM = 0.3  # half the width of a strip too thin to be hatched
ARROW_MM = 22.0
_numbers = count(1)

INK, ADDED, LOST, BODY = "var(--ink,#1a1a1a)", "var(--added,#0b5d3b)", "var(--lost,#9b1c31)", "var(--body,#3a4a7a)"


_EITHER = re.compile(r"(\w+) or (\w+)")


def move_title(move: Move) -> str:
    """What is done, by the way it goes: ``lengthen above the waist`` of ``lengthen or shorten above the waist``."""
    return _EITHER.sub(lambda found: found[1 if move.amount_mm >= 0 else 2], move.move, count=1)


def move_picture(move: Move) -> str:
    """One move: the piece before (thin, dashed) and after, paper added and lost hatched, slashes, hinges, arrows.

    Where the paper is slashed through, its parts lie as a cutter lays them, with the added paper in the gap between or
    the lap crossed; the blended outline is drawn over it.
    """
    parts = slashed(move)
    if parts is not None:
        return _slashed_picture(move, parts)
    return _change_picture(
        move.before, move.after, title=f"{move.move}: {move.piece}", cuts=move.cuts, hinges=move.hinges, arrows=True
    )


def _slashed_picture(move: Move, laid: Slashed) -> str:
    down, low, high = _framed(move.before, move.after)
    key = f"m{next(_numbers)}"
    added, lapped = (
        _without_slivers(transform(shape, lambda xy: down(np.asarray(xy)))) for shape in (laid.added, laid.lapped)
    )
    rings = [down(simplified(np.array(part.exterior.coords)[:-1], PICTURE_KEEP_MM)) for part in laid.parts]
    arrows = []
    for part, shift in zip(laid.parts, laid.shifts, strict=True):
        if float(np.hypot(*shift)) >= SMALLEST_SHIFT_MM:
            middle = np.array(part.centroid.coords[0])
            way = down((middle + shift)[None])[0] - down(middle[None])[0]
            tip = down(middle[None])[0] + way / np.hypot(*way) * ARROW_MM / 2
            arrows.append(_arrow(tip - way / np.hypot(*way) * ARROW_MM, tip))
    body = [
        _hatched(added, f"{key}a", ADDED),
        _hatched(lapped, f"{key}l", LOST),
        *(_line(ring, INK, 1.0, closed=True, dashes="5 4") for ring in rings),
        _line(down(simplified(move.after.seam_line, PICTURE_KEEP_MM)), INK, 1.9, closed=True),
        _dart(down, move.after, ""),
        *_hinges(down, move.hinges),
        *arrows,
    ]
    wide, tall = high - low
    return _svg(wide, tall, f"{move.move}: {move.piece}", _patterns(key) + "".join(body))


def start_picture(move: Move) -> str:
    """The paper before a move: its outline and darts, where to cut it, what it turns about."""
    down, low, high = _framed(move.before, move.after)
    cuts = [_line(down(simplified_line(cut)), LOST, 3.2, dashes="11 4") for cut in move.cuts]
    outline = _line(down(simplified(move.before.seam_line, PICTURE_KEEP_MM)), INK, 1.9, closed=True)
    parts = [outline, _dart(down, move.before, ""), *cuts, *_hinges(down, move.hinges)]
    wide, tall = high - low
    return _svg(wide, tall, f"{move.move}: {move.piece} before", "".join(parts))


def key_picture() -> str:
    """What the lines and hatchings of a move's pictures mean."""
    key = f"k{next(_numbers)}"
    parts, x = [_patterns(key)], 0.0
    for words, wide in (("paper added", 112.0), ("paper taken away", 142.0), ("before", 92.0), ("after", 82.0)):
        if words.startswith("paper"):
            pattern, colour = (f"{key}a", ADDED) if words == "paper added" else (f"{key}l", LOST)
            parts.append(
                f'<rect x="{number(x + 0.5)}" y="1" width="26" height="14" fill="url(#{pattern})" stroke="{colour}"/>'
            )
        else:
            thick, dashes = (1.0, "5 4") if words == "before" else (1.9, "")
            parts.append(_line(np.array([[x, 8.0], [x + 27.0, 8.0]]), INK, thick, dashes=dashes))
        parts.append(_words(x + 32.0, 12.5, words, size=12.0))
        x += wide + 12.0
    return _svg(x, 17.0, "What the lines mean", "".join(parts))


def overlay_picture(before: Piece, after: Piece) -> str:
    """The pattern (thin, dashed) and the block over one another, what was added and lost hatched."""
    return _change_picture(
        before, after, title=f"{after.kind}: pattern against block", cuts=(), hinges=None, arrows=False
    )


def _change_picture(
    before: Piece, after: Piece, *, title: str, cuts: Sequence[Points], hinges: Points | None, arrows: bool
) -> str:
    down, low, high = _framed(before, after)
    key = f"m{next(_numbers)}"
    old, new = (down(simplified(piece.seam_line, PICTURE_KEEP_MM)) for piece in (before, after))
    was, now = Polygon(old).buffer(0), Polygon(new).buffer(0)
    added, lost = (_without_slivers(shape) for shape in (now.difference(was), was.difference(now)))
    parts = [
        _hatched(added, f"{key}a", ADDED),
        _hatched(lost, f"{key}l", LOST),
        _line(old, INK, 1.0, closed=True, dashes="5 4"),
        _line(new, INK, 1.9, closed=True),
        *(_dart(down, piece, style) for piece, style in ((before, "5 4"), (after, ""))),
        *(_line(down(simplified_line(cut)), LOST, 1.6, dashes="9 3 2 3") for cut in cuts),
    ]
    if hinges is not None:
        parts += _hinges(down, hinges)
    if arrows:
        parts += [_arrow(tail, tip) for tail, tip in _shifts(before, after, down)]
    wide, tall = high - low
    return _svg(wide, tall, title, _patterns(key) + "".join(parts))


def _framed(before: Piece, after: Piece) -> tuple[Callable[[Points], Points], Points, Points]:
    """From paper to the picture, and the box of both states; the piece stands on its grain."""
    angle = upright(after)
    everything = turn(np.vstack([before.seam_line, after.seam_line]), angle)
    low, high = everything.min(0) - MARGIN_MM, everything.max(0) + MARGIN_MM
    return lambda points: (turn(points, angle) - [low[0], high[1]]) * [1.0, -1.0], low, high


def _hinges(down: Callable[[Points], Points], hinges: Points) -> list[str]:
    return [
        f'<circle cx="{number(x)}" cy="{number(y)}" r="4" fill="none" stroke="{INK}" stroke-width="1.6"/>'
        for x, y in (down(hinges) if len(hinges) else ())
    ]


def _dart(down, piece: Piece, dashes: str) -> str:  # type: ignore[no-untyped-def]
    lines = [down(np.array([dart.legs[0], apex, dart.legs[1]])) for dart in piece.darts for apex in dart.apexes]
    return "".join(_line(line, INK, 1.0 if dashes else 1.3, dashes=dashes) for line in lines)


def _without_slivers(shape: BaseGeometry) -> BaseGeometry:
    return shape.buffer(-SLIVER_MM).buffer(SLIVER_MM)


def _hatched(shape: BaseGeometry, pattern: str, colour: str) -> str:
    rings = [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and part.area > 1.0]
    data = "".join(
        path_data(np.array(ring.coords)[:-1], closed=True)
        for part in rings
        for ring in (part.exterior, *part.interiors)
    )
    if not data:
        return ""
    return f'<path d="{data}" fill="url(#{pattern})" fill-rule="evenodd" stroke="{colour}" stroke-width="0.6"/>'


def _patterns(key: str) -> str:
    """Two hatchings that lean opposite ways; what is lost is crossed too."""
    return (
        f'<defs><pattern id="{key}a" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<path d="M0 0V5" stroke="{ADDED}" stroke-width="2.4"/></pattern>'
        f'<pattern id="{key}l" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">'
        f'<path d="M0 0V5M0 0H5" stroke="{LOST}" stroke-width="1.1" fill="none"/></pattern></defs>'
    )


def _shifts(before: Piece, after: Piece, down) -> list[tuple[Points, Points]]:  # type: ignore[no-untyped-def]
    """Arrows (tail, tip) at the middle of each edge that moved, in the direction it moved; long enough to be seen."""
    out = []
    for edge in after.edges:
        if not before.has(edge.name):
            continue
        old, new = (down(_at_share(piece.edge(edge.name).points, 0.5)[None])[0] for piece in (before, after))
        way = new - old
        far = float(np.hypot(*way))
        if far < SMALLEST_SHIFT_MM:
            continue
        length = max(far, ARROW_MM)
        out.append((new - way / far * length, new))
    return out


def _at_share(line: Points, share: float) -> Points:
    along = lengths_along(line)
    return np.array([np.interp(share * along[-1], along, line[:, axis]) for axis in (0, 1)])


def _arrow(tail: Points, tip: Points) -> str:
    way = (tip - tail) / np.hypot(*(tip - tail))
    side = np.array([-way[1], way[0]])
    head = np.array([tip, tip - 8 * way + 3.2 * side, tip - 8 * way - 3.2 * side])
    return _line(np.array([tail, tip - 6 * way]), INK, 2.2) + f'<path d="{path_data(head, closed=True)}" fill="{INK}"/>'


def _line(points: Points, colour: str, width: float, *, closed: bool = False, dashes: str = "") -> str:
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{path_data(points, closed)}" fill="none" stroke="{colour}" stroke-width="{width}"{dash}/>'


def _svg(wide: float, tall: float, title: str, body: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {number(wide)} {number(tall)}" role="img" '
        f'aria-label="{escape(title, {chr(34): "&quot;"})}"><title>{escape(title)}</title>{body}</svg>'
    )


BAR_MM, BAR_GAP_MM, GROUP_GAP_MM, TYPE_MM = 18.0, 4.0, 22.0, 15.0
WIDE_MM, BARS_MM = 420.0, 235.0


def comparison_picture(levels: Sequence[Level], unit: LengthUnit = "cm", *, longest: float | None = None) -> str:
    """Body, pattern and block of every level as bars along one scale, drawn to size.

    The body is a solid bar; ease is hatched on top of it, so that each bar shows body and ease. ``longest`` (mm) is the
    scale's reach, so that several pictures can share one scale.
    """
    key = f"c{next(_numbers)}"
    reach = longest_of(levels) if longest is None else longest
    scale = BARS_MM / reach
    parts: list[str] = []
    y = 2.0
    for level in levels:
        if len(levels) > 1:
            parts.append(_words(0.0, y + TYPE_MM, level.name.capitalize(), bold=True))
            y += TYPE_MM + 8.0
        for name, whole, solid in _bars(level):
            parts.append(_bar(y, whole * scale, min(solid, whole) * scale, key, name == "pattern"))
            read = format_body_mm(whole, unit) if name.startswith("you") else format_paper_mm(whole, unit)
            parts.append(_words(whole * scale + 6.0, y + 0.5 * BAR_MM + 0.35 * TYPE_MM, f"{name} {read}"))
            y += BAR_MM + BAR_GAP_MM
        y += GROUP_GAP_MM - BAR_GAP_MM
    y -= GROUP_GAP_MM - 4.0
    parts.append(_scale(y, reach, scale, unit))
    hatch = (
        f'<defs><pattern id="{key}" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<path d="M0 0V6" stroke="{INK}" stroke-width="1.8"/></pattern></defs>'
    )
    names = ", ".join(level.name for level in levels)
    return _svg(WIDE_MM, y + 2.0 * TYPE_MM, f"Body, pattern and block compared: {names}", hatch + "".join(parts))


def longest_of(levels: Sequence[Level]) -> float:
    """The longest bar of several levels, mm."""
    return max(max(level.pattern_mm or 0.0, level.block_mm, level.body_mm or 0.0) for level in levels)


def _bars(level: Level) -> list[tuple[str, float, float]]:
    """Name, whole length and the solid part that is body, mm."""
    rows = [("block", level.block_mm, level.body_mm or 0.0)]
    if level.pattern_mm is not None:
        rows.insert(0, ("pattern", level.pattern_mm, level.drafted_for_mm or 0.0))
    if level.body_mm is not None:
        rows.insert(0, ("you, estimated" if level.body_is_estimated else "you", level.body_mm, level.body_mm))
    return rows


def _bar(y: float, whole: float, solid: float, key: str, hollow: bool) -> str:
    fill = "none" if hollow else BODY
    return (
        f'<rect x="0.8" y="{number(y)}" width="{number(max(solid, 0.1))}" height="{BAR_MM}" fill="{fill}" '
        f'stroke="{BODY}" stroke-width="1.4"/>'
        f'<rect x="{number(0.8 + solid)}" y="{number(y)}" width="{number(max(whole - solid, 0.0))}" height="{BAR_MM}" '
        f'fill="url(#{key})" stroke="{INK}" stroke-width="1"/>'
    )


def _scale(y: float, longest: float, scale: float, unit: LengthUnit) -> str:
    step = 100.0 if unit == "cm" else 5 * MM_PER_INCH
    per = 10 if unit == "cm" else 5
    ticks = int(longest / step) + 1
    every = 5 if ticks > 12 else 2 if ticks > 4 else 1
    parts = [_line(np.array([[0.8, y], [ticks * step * scale, y]]), INK, 1.0)]
    for n in range(ticks + 1):
        at = n * step * scale + 0.8
        parts.append(_line(np.array([[at, y], [at, y + 5]]), INK, 1.0))
        if n % every == 0:
            label = f"{n * per} {unit}" if n == ticks - ticks % every else str(n * per)
            parts.append(_words(at, y + 7 + TYPE_MM, label, anchor="middle" if n else "start"))
    return "".join(parts)


def _words(x: float, y: float, words: str, *, bold: bool = False, anchor: str = "start", size: float = TYPE_MM) -> str:
    weight = ' font-weight="700"' if bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{size}" fill="{INK}" text-anchor="{anchor}"{weight}>'
        f"{escape(words)}</text>"
    )
