"""The comparison as a picture: for each measurement a bar as long as the difference itself.

A line stands for what the maker needs. The bar grows to the right where the pattern is bigger, to the left where it is
smaller, at full size: 6 cm too big is a bar 6 cm long on paper. What is too small to be told from nothing lies in the
striped field round the line. Beside it a small piece shows where on the paper the measurement is taken.
"""

from collections.abc import Mapping, Sequence
from itertools import count

import numpy as np

from calibration.ground.points import Points
from calibration.ground.units import MM_PER_INCH
from convert.block.compared.compare import Compared, Comparison
from convert.block.compared.words import ROUND
from convert.block.shape.places import Place, places
from convert.body.card import LengthUnit
from convert.paper.draw.draw_piece import simplified, upright
from convert.paper.draw.drawing import turn
from convert.paper.draw.sketch import ON_PAGE, ON_PAPER, Colours, alone, hatching, inline, line, paragraph, words
from convert.paper.draw.svg import number
from convert.piece.piece import Piece, PieceKind

WIDE = 190.0
_EDGE, _ROOM = 5.0, 180.0
_THUMB_WIDE, _THUMB_TALL = 40.0, 30.0
_WORDS_X = 52.0
_HEAD, _TYPE, _SMALL = 5.2, 4.3, 3.6  # type sizes in mm: 12 pt is 4.2 mm
_BAR, _REACH = 7.0, 80.0
_KEEP_MM = 0.5  # a thumbnail is looked at, not cut from
_numbers = count(1)


def compared_picture(
    level: Compared,
    pieces: Sequence[Piece],
    *,
    unit: LengthUnit = "cm",
    waist_to_hip_mm: float | None = None,
    worded: bool = True,
) -> str:
    """One measurement as inline SVG, to stand in a page: where it is taken, what it means, its bar.

    Not ``worded``, its sentences are left to the page around it, whose type is larger on a small screen.
    """
    key = f"d{next(_numbers)}"
    body, tall = _row(level, pieces, unit, waist_to_hip_mm, 0.0, ON_PAGE, key, worded=worded)
    return inline(WIDE, tall, f"{level.name.capitalize()}: {level.sentence}", _patterns(key, ON_PAGE) + body)


def compared_sheet(comparison: Comparison, pieces: Sequence[Piece], *, title: str, unit: LengthUnit = "cm") -> str:
    """All measurements as one SVG file, its bars true to size when it is printed at 100 %."""
    parts, y = [_patterns("sheet", ON_PAPER)], 14.0
    parts.append(words(_EDGE, y, title, 7.0, ON_PAPER.ink, bold=True))
    y += 10.0
    for text in (
        "Each bar is as long as the difference itself, when this sheet is printed at 100 %.",
        "The line in the middle is what you need. To the right of it the pattern is bigger, to the left smaller.",
        "Striped field: too close to call. Dotted part of a bar: style, which a block leaves out.",
    ):
        said, high = paragraph(_EDGE, y, text, _TYPE, _ROOM, ON_PAPER.ink)
        parts.append(said)
        y += high
    y += 8.0
    for level in comparison.levels:
        row, high = _row(level, pieces, unit, comparison.waist_to_hip_mm, y, ON_PAPER, "sheet")
        parts.append(row)
        y += high + 10.0
    return alone(WIDE, y, title, "".join(parts))


def _patterns(key: str, colours: Colours) -> str:
    dots = (
        f'<pattern id="{key}s" width="1.8" height="1.8" patternUnits="userSpaceOnUse">'
        f'<circle cx="0.9" cy="0.9" r="0.42" fill="{colours.ink}"/></pattern>'
    )
    return f"<defs>{hatching(f'{key}c', colours.faint)}{dots}</defs>"


def _row(
    level: Compared,
    pieces: Sequence[Piece],
    unit: LengthUnit,
    waist_to_hip: float | None,
    y: float,
    colours: Colours,
    key: str,
    *,
    worded: bool = True,
) -> tuple[str, float]:
    """One measurement from ``y`` down; and the height it takes."""
    by_kind = {piece.kind: piece for piece in pieces}
    lines = places(pieces, level.name, waist_to_hip=waist_to_hip)
    parts = [_thumbs(lines, by_kind, y + 1.0, colours)]
    down = y + _HEAD
    if worded:
        parts.append(words(_WORDS_X, down, level.name.capitalize(), _HEAD, colours.ink, bold=True))
    down += 7.2
    room = WIDE - _EDGE - _WORDS_X
    for text, size, colour in (
        (level.sentence, _TYPE, colours.ink),
        (level.ease_sentence, _SMALL, colours.ink),
        (f"On the paper: {level.where}." if level.where else "", _SMALL, colours.faint),
    ):
        if text and worded:
            said, high = paragraph(_WORDS_X, down, text, size, room, colour)
            parts.append(said)
            down += high + 1.2
    down = max(down, y + _THUMB_TALL + 3.0)
    if level.difference_mm is not None:
        parts.append(_bar(level, down, unit, colours, key))
        down += _BAR + 12.0
    return "".join(parts), down - y


def _bar(level: Compared, y: float, unit: LengthUnit, colours: Colours, key: str) -> str:
    """The difference at full size from the middle line, on a scale of whole centimetres or inches."""
    middle = WIDE / 2.0
    difference = level.difference_mm or 0.0
    shown = float(np.clip(difference, -_REACH - 4.0, _REACH + 4.0))
    close = min(level.uncertainty_mm, _REACH)
    parts = [_rect(middle - close, y, 2.0 * close, _BAR, f"url(#{key}c)", colours.faint, 0.2)]
    left, wide = min(middle, middle + shown), abs(shown)
    parts.append(_rect(left, y + 1.2, wide, _BAR - 2.4, colours.strong, colours.ink, 0.3))
    style = 0.0 if level.drafted_is_assumed else min(max(level.style_mm or 0.0, 0.0), max(shown, 0.0))
    if style > 1.0:
        parts.append(_rect(middle + shown - style, y + 1.2, style, _BAR - 2.4, "#ffffff", colours.ink, 0.3))
        parts.append(_rect(middle + shown - style, y + 1.2, style, _BAR - 2.4, f"url(#{key}s)", colours.ink, 0.3))
    if abs(difference) > _REACH + 4.0:
        parts.append(_torn(middle + float(np.sign(difference)) * (_REACH - 4.0), y, colours))
    parts.append(line(np.array([[middle, y - 2.0], [middle, y + _BAR + 2.0]]), colours.ink, 0.8))
    return "".join(parts) + _scale(level, y + _BAR + 1.0, unit, colours)


def _scale(level: Compared, y: float, unit: LengthUnit, colours: Colours) -> str:
    middle, step = WIDE / 2.0, 10.0 if unit == "cm" else MM_PER_INCH
    ticks = int(_REACH // step)
    parts = [line(np.array([[middle - _REACH, y], [middle + _REACH, y]]), colours.faint, 0.2)]
    labelled = 5 if unit == "cm" else 2
    for n in range(-ticks, ticks + 1):
        long = n % labelled == 0
        at = middle + n * step
        parts.append(line(np.array([[at, y], [at, y + (2.2 if long else 1.2)]]), colours.faint, 0.25))
        if long and n:
            parts.append(words(at, y + 6.4, f"{abs(n)} {unit}", _SMALL, colours.ink, anchor="middle"))
    less, more = ("smaller", "bigger") if level.name in ROUND else ("narrower", "wider")
    if level.name not in ROUND and not level.name.startswith(("across", "bust point")):
        less, more = "shorter", "longer"
    parts.append(words(middle, y + 6.4, "what you need", _SMALL, colours.ink, anchor="middle"))
    parts.append(words(middle - _REACH - 2.0, y + 6.4, less, _SMALL, colours.ink, anchor="start"))
    parts.append(words(middle + _REACH + 2.0, y + 6.4, more, _SMALL, colours.ink, anchor="end"))
    return "".join(parts)


def _torn(x: float, y: float, colours: Colours) -> str:
    """Two slanting strokes through a bar that goes on further than the paper."""
    gap = np.array([[x - 1.2, y + _BAR], [x + 0.8, y], [x + 2.8, y], [x + 0.8, y + _BAR]])
    return line(gap, "#ffffff", 0.1, closed=True, fill="#ffffff") + "".join(
        line(gap[[a, b]], colours.ink, 0.4) for a, b in ((0, 1), (2, 3))
    )


def _rect(x: float, y: float, wide: float, tall: float, fill: str, stroke: str, width: float) -> str:
    return (
        f'<rect x="{number(x)}" y="{number(y)}" width="{number(max(wide, 0.01))}" height="{number(tall)}" '
        f'fill="{fill}" stroke="{stroke}" stroke-width="{number(width)}"/>'
    )


def _thumbs(lines: Sequence[Place], by_kind: Mapping[PieceKind, Piece], y: float, colours: Colours) -> str:
    """The pieces that carry the measurement, side by side, its line drawn strongly."""
    if not lines:
        return ""
    room = _THUMB_WIDE / len(lines)
    turned = [_turned(by_kind[one.piece], one) for one in lines]
    scale = min(
        min((room - 2.0) / max(float(np.ptp(ring[:, 0])), 1.0), _THUMB_TALL / max(float(np.ptp(ring[:, 1])), 1.0))
        for ring, _ in turned
    )
    parts = []
    for k, (ring, taken) in enumerate(turned):
        low, high = ring.min(0), ring.max(0)
        left = _EDGE + k * room + (room - scale * (high[0] - low[0])) / 2.0

        def down(points: Points, left: float = left, low: Points = low, high: Points = high) -> Points:
            return np.column_stack([left + scale * (points[:, 0] - low[0]), y + scale * (high[1] - points[:, 1])])

        parts.append(line(down(ring), colours.faint, 0.35, closed=True))
        parts.append(line(down(taken), colours.ink, 1.1))
        parts += [
            f'<circle cx="{number(x)}" cy="{number(y_)}" r="0.9" fill="{colours.ink}"/>'
            for x, y_ in down(taken)[[0, -1]]
        ]
    return "".join(parts)


def _turned(piece: Piece, place: Place) -> tuple[Points, Points]:
    angle = upright(piece)
    return turn(simplified(piece.seam_line, _KEEP_MM), angle), turn(place.points, angle)
