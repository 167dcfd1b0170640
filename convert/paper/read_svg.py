"""Our own SVG read back after a person edited it: outlines and marks, true to size.

Layers are told by the ids of their groups, which drawing programs keep. Curves may have been drawn with any SVG path
command and moved by transforms.
"""

import io
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from calibration.errors import InputError
from calibration.points import Points, as_points, length
from calibration.units import MM_PER_INCH
from convert.paper.drawing import LINES, Drawing, LineKind, Path
from convert.paper.svg import slug

MM_PER_PX = MM_PER_INCH / 96.0
CURVE_STEP_MM = 0.5
_LAYER_KINDS: Mapping[str, LineKind] = MappingProxyType(
    {slug(LINES[kind].layer): kind for kind in ("fold", "dart", "grainline", "level", "notch", "hole", "cut", "seam")}
)


def read_svg(text: str) -> tuple[Drawing, ...]:
    """Every piece of an SVG written by :func:`convert.paper.svg.svg_page`, whatever was moved in it since.

    Returns
    -------
    tuple of Drawing
        Paths in mm, y up, with the lower left corner of the page at (0, 0); words are left out.

    Raises
    ------
    InputError
        If it is no SVG, or holds no seam line in a layer of ours.
    """
    import svgelements

    try:
        svg = svgelements.SVG.parse(io.StringIO(text), reify=True)
    except (ET.ParseError, ValueError) as err:
        raise InputError(
            f"The file is not an SVG that can be read: {err}.", "Save it as plain SVG and try again."
        ) from err
    height = float(svg.height or 0.0) * MM_PER_PX
    pieces = [piece for group in _groups(svg) if (piece := _piece(group, height)) is not None]
    if not pieces:
        raise InputError(
            "No layer named “seam line” with a closed line was found in the SVG.",
            "Edit an SVG that this program wrote, keep its layers and their names, and save it as SVG.",
        )
    return tuple(pieces)


def _groups(node: Any) -> list[Any]:
    import svgelements

    inner = [child for child in node if isinstance(child, svgelements.Group)]
    return [*inner, *(deeper for child in inner for deeper in _groups(child))]


def _piece(group: Any, height: float) -> Drawing | None:
    """The group as a piece, if it holds a layer of ours with a closed seam line; None otherwise."""
    name = str(group.id or "")
    items: list[Path] = []
    for layer in _groups(group):
        kind = _LAYER_KINDS.get(str(layer.id or "").removeprefix(f"{name}-"))
        if kind is None:
            continue
        for element in layer.select():
            points = _points(element, height)
            if points is None:
                continue
            closed = bool(np.allclose(points[0], points[-1], atol=1e-3)) and len(points) > 3
            items.append(Path(kind=kind, points=points[:-1] if closed else points, closed=closed, name=kind))
    rings = [item for item in items if item.kind == "seam" and item.closed]
    if not rings:
        return None
    outline = max(
        [item for item in items if item.kind in ("seam", "cut") and item.closed], key=lambda ring: length(ring.points)
    )
    return Drawing(name=name.replace("-", " ").capitalize(), items=tuple(items), outline=outline.points)


def _points(element: Any, height: float) -> Points | None:
    """Points in mm, y up, of a shape that is drawn as a line; None for words, groups and filled arrow heads."""
    import svgelements

    if not isinstance(element, svgelements.Shape):
        return None
    filled = element.fill is not None and element.fill.value is not None
    if filled:
        return None
    points: list[tuple[float, float]] = []
    for segment in svgelements.Path(element):
        if isinstance(segment, svgelements.Move):
            points.append((segment.end.x, segment.end.y))
        elif isinstance(segment, svgelements.Line | svgelements.Close):
            if segment.end is not None:
                points.append((segment.end.x, segment.end.y))
        else:
            count = max(2, int(np.ceil(segment.length(error=1e-3) * MM_PER_PX / CURVE_STEP_MM)))
            points += [(at.x, at.y) for at in (segment.point(i / count) for i in range(1, count + 1))]
    if len(points) < 2:
        return None
    return as_points(np.array(points) * [MM_PER_PX, -MM_PER_PX] + [0.0, height])
