"""Our own small pictures (inline SVG) replayed on a PDF canvas, in print colours.

Only what our pictures are made of is understood: paths of straight lines and cubics, rectangles, circles, words, and
tiles to fill with. General readers of SVG know neither tiles nor the page's colours, which tell added from lost.
"""

import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from calibration.ground.points import Points
from convert.paper.draw.lettering import font_name, writable

_SVG = "{http://www.w3.org/2000/svg}"
_VARIABLE = re.compile(r"var\(--\w+,\s*([^)]*)\)")
_TURN = re.compile(r"rotate\((-?[\d.]+)(?:[ ,]+(-?[\d.]+)[ ,]+(-?[\d.]+))?\)")
Step = tuple[str, Points]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Tile:
    """A pattern: the size of its cell, how far it is turned, what it holds."""

    wide: float
    tall: float
    turn_deg: float
    parts: tuple[ET.Element, ...]


class SvgPicture:
    """A picture of ours, ready to be drawn at any size; ``size`` is its width and height in its own unit."""

    def __init__(self, text: str) -> None:
        root = ET.fromstring(text)
        _, _, wide, tall = (float(part) for part in root.attrib["viewBox"].split())
        self.size = (wide, tall)
        self.title = root.findtext(f"{_SVG}title", "")
        self._tiles = {str(one.get("id")): _tile(one) for one in root.iter(f"{_SVG}pattern")}
        self._parts = tuple(part for part in root if part.tag not in (f"{_SVG}defs", f"{_SVG}title"))

    def draw(self, canvas: Canvas, left: float, bottom: float, scale: float) -> None:
        """Draw with its lower left corner at a point, ``scale`` PDF units to one of its own."""
        canvas.saveState()
        canvas.translate(left, bottom + self.size[1] * scale)
        canvas.scale(scale, -scale)
        for part in self._parts:
            _draw(canvas, part, self._tiles)
        canvas.restoreState()


def _tile(element: ET.Element) -> _Tile:
    turned = _TURN.search(element.get("patternTransform", ""))
    return _Tile(
        wide=float(element.attrib["width"]),
        tall=float(element.attrib["height"]),
        turn_deg=float(turned[1]) if turned else 0.0,
        parts=tuple(element),
    )


def _draw(canvas: Canvas, element: ET.Element, tiles: Mapping[str, _Tile]) -> None:
    kind = element.tag.removeprefix(_SVG)
    if kind == "text":
        _words(canvas, element)
        return
    if kind == "g":
        for part in element:
            _draw(canvas, part, tiles)
        return
    steps = _steps(element, kind)
    fill = element.get("fill", "#000000")
    even = element.get("fill-rule") == "evenodd"
    if fill.startswith("url("):
        _filled_with(canvas, steps, tiles[fill[5:-1]], even)
    elif (colour := _colour(fill)) is not None:
        canvas.setFillColor(colour)
        canvas.drawPath(_path(canvas, steps), stroke=0, fill=1, fillMode=0 if even else 1)
    stroke = _colour(element.get("stroke", "none"))
    if stroke is not None:
        canvas.setStrokeColor(stroke)
        canvas.setLineWidth(float(element.get("stroke-width", "1")))
        canvas.setDash([float(part) for part in re.split(r"[ ,]+", element.get("stroke-dasharray", "")) if part])
        canvas.drawPath(_path(canvas, steps), stroke=1, fill=0)


def _colour(said: str) -> Color | None:
    """A colour as it is printed on white: a page's variable by its fallback."""
    plain = _VARIABLE.sub(r"\1", said).strip()
    return None if plain == "none" else HexColor(plain)


def _steps(element: ET.Element, kind: str) -> list[Step]:
    """A shape as steps of absolute points: M, L, C, Z."""

    def at(*names: str) -> list[float]:
        return [float(element.get(name, "0")) for name in names]

    if kind == "rect":
        x, y, w, h = at("x", "y", "width", "height")
        ring = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
        return [("M", ring[:1]), *(("L", point[None]) for point in ring[1:]), ("Z", ring[:0])]
    if kind == "circle":
        x, y, r = at("cx", "cy", "r")
        turns = np.radians(np.arange(0.0, 360.0, 90.0))
        lean = 4.0 / 3.0 * np.tan(np.pi / 8.0)
        steps: list[Step] = [("M", np.array([[x + r, y]]))]
        for a in turns:
            out, along = np.array([np.cos(a), np.sin(a)]), np.array([-np.sin(a), np.cos(a)])
            corner = [out + lean * along, along + lean * out, along]
            steps.append(("C", np.array([x, y]) + r * np.array(corner)))
        return [*steps, ("Z", np.zeros((0, 2)))]
    if kind == "path":
        return _path_steps(element.attrib["d"])
    raise ValueError(f"our pictures hold no {kind}")


def _path_steps(data: str) -> list[Step]:
    if re.search("[CHV]", data):
        return _mixed_steps(data)
    steps: list[Step] = []
    for part in data.split("M")[1:]:  # rings and lines of straight steps: most of a picture
        numbers = part.replace("L", " ").rstrip("Z ").split()
        points = np.array(numbers, float).reshape(-1, 2)
        steps += [("M", points[:1]), ("L", points[1:])]
        if part.rstrip().endswith("Z"):
            steps.append(("Z", points[:0]))
    return steps


def _mixed_steps(data: str) -> list[Step]:
    steps: list[Step] = []
    at = np.zeros(2)
    for command, written in re.findall("([MLCHVZ])([^MLCHVZ]*)", data):
        numbers = [float(one) for one in written.replace(",", " ").split()]
        if command in "HV":
            numbers = [numbers[0], at[1]] if command == "H" else [at[0], numbers[0]]
        points = np.reshape(np.array(numbers, float), (-1, 2))
        steps.append(({"H": "L", "V": "L"}.get(command, command), points))
        at = points[-1] if len(points) else at
    return steps


def _path(canvas: Canvas, steps: list[Step]) -> PDFPathObject:
    path = canvas.beginPath()
    for command, points in steps:
        if command == "M":
            path.moveTo(*points[0])
        elif command == "L":
            path._code.append("".join(f"{x:.3f} {y:.3f} l " for x, y in points.tolist()))  # lineTo, many at once
        elif command == "C":
            for k in range(0, len(points), 3):
                path.curveTo(*points[k : k + 3].ravel())
        else:
            path.close()
    return path


def _filled_with(canvas: Canvas, steps: list[Step], tile: _Tile, even: bool) -> None:
    """Tiles laid over the shape and cut off at its outline; a tile's straight line from edge to edge runs through."""
    outline = np.vstack([points for _, points in steps])
    angle = np.radians(tile.turn_deg)
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    there = outline @ turn  # in the tiles' own frame
    low, high = np.floor(there.min(0) / [tile.wide, tile.tall]), np.ceil(there.max(0) / [tile.wide, tile.tall])
    canvas.saveState()
    canvas.clipPath(_path(canvas, steps), stroke=0, fill=0, fillMode=0 if even else 1)
    canvas.rotate(tile.turn_deg)
    columns, rows = range(int(low[0]), int(high[0])), range(int(low[1]), int(high[1]))
    for part in tile.parts:
        if part.tag == f"{_SVG}path":
            _through(canvas, part, tile, columns, rows)
            continue
        for column in columns:
            for row in rows:
                canvas.saveState()
                canvas.translate(column * tile.wide, row * tile.tall)
                _draw(canvas, part, {})
                canvas.restoreState()
    canvas.restoreState()


def _through(canvas: Canvas, part: ET.Element, tile: _Tile, columns: range, rows: range) -> None:
    stroke = _colour(part.get("stroke", "none"))
    if stroke is None:
        return
    canvas.setStrokeColor(stroke)
    canvas.setLineWidth(float(part.get("stroke-width", "1")))
    canvas.setDash([])
    steps = _path_steps(part.attrib["d"])
    for (_, start), (command, end) in pairwise(steps):
        if command != "L":
            continue
        x, y = (float(value) for value in start[-1])
        if x == end[0][0]:
            bottom, top = rows.start * tile.tall, rows.stop * tile.tall
            lines = [(x + n * tile.wide, bottom, x + n * tile.wide, top) for n in columns]
        else:
            left, right = columns.start * tile.wide, columns.stop * tile.wide
            lines = [(left, y + n * tile.tall, right, y + n * tile.tall) for n in rows]
        canvas.lines(lines)


def _words(canvas: Canvas, element: ET.Element) -> None:
    canvas.saveState()
    canvas.translate(float(element.get("x", "0")), float(element.get("y", "0")))
    turned = _TURN.search(element.get("transform", ""))
    if turned:
        canvas.rotate(float(turned[1]))
    canvas.scale(1.0, -1.0)
    bold = element.get("font-weight") in ("700", "bold")
    canvas.setFillColor(_colour(element.get("fill", "#000000")) or HexColor("#000000"))
    canvas.setFont(font_name(bold), float(element.get("font-size", "12")))
    draw = {"middle": canvas.drawCentredString, "end": canvas.drawRightString}.get(
        element.get("text-anchor", "start"), canvas.drawString
    )
    draw(0, 0, writable("".join(element.itertext()), bold))
    canvas.restoreState()
