"""One measurement's difference as a small picture for the report: where it is taken, and a bar that says how much.

Drawn small so that its words can be read where two stand side by side on a page; the sheet of
:mod:`convert.paper.report.compared_picture` has the bars at full size.
"""

from collections.abc import Sequence
from itertools import count

import numpy as np

from calibration.ground.units import MM_PER_INCH
from convert.block.compared.compare import Compared
from convert.block.shape.places import places
from convert.body.card import LengthUnit
from convert.paper.draw.sketch import ON_PAGE, inline, line, words
from convert.paper.report.compared_picture import patterns, rect, thumbs, ways
from convert.piece.piece import Piece

WIDE, TALL = 100.0, 30.0
_MIDDLE, _HALF = 64.0, 33.0  # where the bars begin, and how far they reach
_REACH_MM = 90.0  # the difference that fills a half; larger ones fill it too
_TOP, _BAR = 5.0, 8.0
_TYPE = 4.0
_numbers = count(1)


def difference_picture(
    level: Compared, pieces: Sequence[Piece], *, unit: LengthUnit = "cm", waist_to_hip_mm: float | None = None
) -> str:
    """The picture as inline SVG; its sentence stands beside it."""
    key = f"e{next(_numbers)}"
    by_kind = {piece.kind: piece for piece in pieces}
    taken = places(pieces, level.name, waist_to_hip=waist_to_hip_mm)
    body = thumbs(taken, by_kind, 1.0, ON_PAGE, room=(28.0, 27.0))
    if level.difference_mm is not None:
        body += _bar(level, key) + _scale(level, unit)
    return inline(WIDE, TALL, f"{level.name.capitalize()}: {level.sentence}", patterns(key, ON_PAGE) + body)


def _at(mm: float) -> float:
    return float(_MIDDLE + np.clip(mm / _REACH_MM, -1.0, 1.0) * _HALF)


def _bar(level: Compared, key: str) -> str:
    colours, difference = ON_PAGE, level.difference_mm or 0.0
    close, end = min(level.uncertainty_mm, _REACH_MM), _at(difference)
    parts = [rect(_at(-close), _TOP, _at(close) - _at(-close), _BAR, f"url(#{key}c)", colours.faint, 0.2)]
    parts.append(rect(min(_MIDDLE, end), _TOP + 1.4, abs(end - _MIDDLE), _BAR - 2.8, colours.strong, colours.ink, 0.3))
    style = 0.0 if level.drafted_is_assumed else min(max(level.style_mm or 0.0, 0.0), max(difference, 0.0))
    if style > 1.0:
        start = _at(difference - style)
        for fill in ("#ffffff", f"url(#{key}s)"):
            parts.append(rect(start, _TOP + 1.4, end - start, _BAR - 2.8, fill, colours.ink, 0.3))
    parts.append(line(np.array([[_MIDDLE, _TOP - 2.0], [_MIDDLE, _TOP + _BAR + 2.0]]), colours.ink, 0.9))
    return "".join(parts)


def _scale(level: Compared, unit: LengthUnit) -> str:
    below, step = _TOP + _BAR + 2.0, 10.0 if unit == "cm" else MM_PER_INCH
    every = 5 if unit == "cm" else 2
    most = int(_REACH_MM // step)
    parts = [line(np.array([[_at(-_REACH_MM), below], [_at(_REACH_MM), below]]), ON_PAGE.faint, 0.25)]
    for n in range(-most, most + 1):
        at, long = _at(n * step), n % every == 0
        parts.append(line(np.array([[at, below], [at, below + (2.0 if long else 1.1)]]), ON_PAGE.faint, 0.3))
    for n in (-every, every):
        parts.append(words(_at(n * step), below + 5.6, f"{every} {unit}", _TYPE, ON_PAGE.ink, anchor="middle"))
    less, more = ways(level.name)
    foot = below + 11.0
    parts.append(words(_MIDDLE - _HALF, foot, less, _TYPE, ON_PAGE.ink, anchor="start"))
    parts.append(words(_MIDDLE, foot, "what you need", _TYPE, ON_PAGE.ink, anchor="middle"))
    parts.append(words(_MIDDLE + _HALF, foot, more, _TYPE, ON_PAGE.ink, anchor="end"))
    return "".join(parts)
