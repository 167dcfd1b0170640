"""SVG at full size: one user unit is one millimetre, layers are groups named in plain words."""

import re
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from calibration.ground.points import Points, as_points
from convert.paper.draw.drawing import LINES, WORDS_LAYER, Drawing, Path, Text, placed
from convert.paper.draw.lettering import FALLBACKS, FAMILY

MARGIN_MM = 10.0
GAP_MM = 20.0


def svg_page(drawings: Iterable[Drawing], *, title: str, description: str = "") -> str:
    """A whole SVG file of one or more drawings, side by side, true to size.

    ``width`` and ``height`` are millimetres and so is the ``viewBox`` (CSS and SVG: 1 in = 96 px = 25.4 mm, so any
    reader finds the same size).
    """
    laid = side_by_side(tuple(drawings))
    boxes = np.array([drawing.bounds for drawing in laid])
    left, bottom = boxes[:, :2].min(0) - MARGIN_MM
    right, top = boxes[:, 2:].max(0) + MARGIN_MM
    wide, high = right - left, top - bottom
    body = "\n".join(_piece_group(drawing, left, top) for drawing in laid)
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" '
        f'version="1.1" width="{number(wide)}mm" height="{number(high)}mm" '
        f'viewBox="0 0 {number(wide)} {number(high)}" xml:lang="en">\n'
        f"<title>{escape(title)}</title>\n<desc>{escape(description)}</desc>\n{body}\n</svg>\n"
    )


def side_by_side(drawings: tuple[Drawing, ...]) -> tuple[Drawing, ...]:
    """The drawings in one row, their lower edges level."""
    laid, x = [], 0.0
    for drawing in drawings:
        left, bottom, right, _ = drawing.bounds
        laid.append(placed(drawing, 0.0, (x - left, -bottom)))
        x += right - left + GAP_MM
    return tuple(laid)


def number(value: float) -> str:
    """A coordinate to a ten-thousandth of a millimetre, without idle zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def slug(words: str) -> str:
    """Words as an identifier."""
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-") or "part"


def _down(points: Points, left: float, top: float) -> Points:
    """The one place where y, up on paper, becomes y down in SVG."""
    return as_points(np.column_stack([points[:, 0] - left, top - points[:, 1]]))


def _piece_group(drawing: Drawing, left: float, top: float) -> str:
    name = slug(drawing.name)
    layers: dict[str, list[str]] = {}
    for item in drawing.items:
        layer = WORDS_LAYER if isinstance(item, Text) else LINES[item.kind].layer
        outline = isinstance(item, Path) and item.closed and item.kind in ("seam", "stitching", "cut")
        mark = f' id="{name}-{slug(layer)}-outline"' if outline else ""
        layers.setdefault(layer, []).append(element(item, left, top, mark))
    groups = "\n".join(
        f'<g id="{name}-{slug(layer)}" inkscape:groupmode="layer" inkscape:label={quoteattr(layer)}>\n'
        f"<title>{escape(layer)}</title>\n" + "\n".join(parts) + "\n</g>"
        for layer, parts in layers.items()
    )
    return (
        f'<g id="{name}" inkscape:groupmode="layer" inkscape:label={quoteattr(drawing.name)}>\n'
        f"<title>{escape(drawing.name)}</title>\n{groups}\n</g>"
    )


def element(item: Path | Text, left: float, top: float, mark: str = "") -> str:
    """One line or text as an SVG element, in a frame whose origin is the page's top left corner; ``mark`` is its id."""
    return _text(item, left, top) if isinstance(item, Text) else _path(item, left, top, mark)


def path_data(points: Points, closed: bool) -> str:
    """The ``d`` of a path through points that are already in the SVG frame."""
    steps = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


def curve_data(parts: Sequence[Points], closed: bool) -> str:
    """The ``d`` of straight pieces (2, 2) and cubics (4, 2) end to end, already in the SVG frame."""
    first = parts[0][0]
    steps = [f"M{number(first[0])} {number(first[1])}"]
    for part in parts:
        steps.append(("C" if len(part) == 4 else "L") + " ".join(f"{number(x)} {number(y)}" for x, y in part[1:]))
    return "".join(steps) + ("Z" if closed else "")


def _path(path: Path, left: float, top: float, mark: str) -> str:
    style = LINES[path.kind]
    paint = (
        f'fill="{style.colour}" stroke="none"'
        if path.filled
        else f'fill="none" stroke="{style.colour}" stroke-width="{number(style.width)}" stroke-linejoin="miter"'
    )
    if style.dashes and not path.filled:
        paint += f' stroke-dasharray="{" ".join(number(dash) for dash in style.dashes)}"'
    title = f"<title>{escape(path.name)}</title>" if path.name else ""
    if path.curve:
        data = curve_data([_down(part, left, top) for part in path.curve], path.closed)
    else:
        data = path_data(_down(path.points, left, top), path.closed)
    return f'<path{mark} d="{data}" {paint}>{title}</path>' if title else f'<path{mark} d="{data}" {paint}/>'


def _text(text: Text, left: float, top: float) -> str:
    ((x, y),) = _down(text.at.reshape(1, 2), left, top)
    turned = f' transform="rotate({number(-text.angle_deg)} {number(x)} {number(y)})"' if text.angle_deg else ""
    weight = ' font-weight="bold"' if text.bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-family="{FAMILY}, {FALLBACKS}" font-size="{number(text.size)}"'
        f'{weight} text-anchor="{text.anchor}"{turned}>{escape(text.words)}</text>'
    )
