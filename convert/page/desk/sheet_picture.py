"""A sheet of paper as a small picture for the page: what is printed on it, without its words."""

from xml.sax.saxutils import escape

import numpy as np
from shapely import LineString

from calibration.ground.points import Points
from convert.paper.draw.drawing import LINES, Path, Text
from convert.paper.draw.svg import number, path_data
from convert.paper.sheets.sheets import Sheet

_KEEP_MM = 0.6
_THICKER = 2.0
_WORDS_MM = 8.0  # larger words are drawn, smaller ones can't be read in a picture


def sheet_picture(sheet: Sheet, title: str) -> str:
    """A sheet as inline SVG; its lines in the page's own ink."""

    def down(points: Points) -> Points:
        return np.column_stack([points[:, 0], sheet.height - points[:, 1]])

    left, bottom, right, top = sheet.window
    key = f"w{abs(hash((sheet.name, title))) % 10**9}"
    inside = "".join(_line(item, down) for piece in sheet.pieces for item in piece.items if isinstance(item, Path))
    around = "".join(_line(item, down) for item in sheet.items if isinstance(item, Path))
    words = "".join(_words(item, down) for item in sheet.items if isinstance(item, Text) and item.size >= _WORDS_MM)
    window = f'x="{number(left)}" y="{number(sheet.height - top)}" width="{number(right - left)}"'
    box = f"0 0 {number(sheet.width)} {number(sheet.height)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img">'
        f"<title>{escape(title)}</title>"
        f'<defs><clipPath id="{key}"><rect {window} height="{number(top - bottom)}"/></clipPath></defs>'
        f'<rect width="{number(sheet.width)}" height="{number(sheet.height)}" fill="var(--paper,#ffffff)"/>'
        f'<g clip-path="url(#{key})">{inside}</g>{around}{words}</svg>'
    )


def _line(path: Path, down) -> str:  # type: ignore[no-untyped-def]
    style = LINES[path.kind]
    points = (
        down(np.array(LineString(path.points).simplify(_KEEP_MM).coords)) if len(path.points) > 2 else down(path.points)
    )
    data = path_data(points, path.closed)
    if path.filled:
        return f'<path d="{data}" fill="var(--ink,#1a1a1a)"/>'
    dash = f' stroke-dasharray="{" ".join(number(one) for one in style.dashes)}"' if style.dashes else ""
    width = number(style.width * _THICKER)
    return f'<path d="{data}" fill="none" stroke="var(--ink,#1a1a1a)" stroke-width="{width}"{dash}/>'


def _words(text: Text, down) -> str:  # type: ignore[no-untyped-def]
    ((x, y),) = down(text.at.reshape(1, 2))
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-size="{number(text.size)}" text-anchor="{text.anchor}" '
        f'fill="var(--ink,#1a1a1a)">{escape(text.words)}</text>'
    )
