"""Our own SVG read back after a person edited it: outlines and marks, true to size.

Layers are told by the ids of their groups, which drawing programs keep, or by the names that these show. Curves may
have been drawn with any SVG path command and moved by transforms.
"""

import io
import math
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points, as_points, length
from calibration.ground.units import MM_PER_INCH
from convert.paper.draw.drawing import LINES, Drawing, LineKind, Path
from convert.paper.draw.svg import slug
from convert.piece.outline.path import Cubic

MM_PER_PX = MM_PER_INCH / 96.0
CURVE_STEP_MM = 0.5
CLOSED_MM = 0.01  # ends nearer than this are one point
_LAYER_KINDS: Mapping[str, LineKind] = MappingProxyType(
    {slug(LINES[kind].layer): kind for kind in ("fold", "dart", "grainline", "level", "notch", "hole", "cut", "seam")}
)
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnPiece:
    """What stands in the layers of one piece, mm, y up; a layer that is there but empty has no lines.

    Every line has its ``curve``; filled shapes (arrow heads) and words are left out.
    """

    name: str
    layers: Mapping[LineKind, tuple[Path, ...]]


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
    drawings = []
    for piece in read_layers(text):
        rings = [path for kind in ("seam", "cut") for path in piece.layers.get(kind, ()) if path.closed]
        outline = max(rings, key=lambda ring: length(ring.points))
        items = tuple(path for paths in piece.layers.values() for path in paths)
        drawings.append(Drawing(name=piece.name, items=items, outline=outline.points))
    return tuple(drawings)


def read_layers(text: str) -> tuple[DrawnPiece, ...]:
    """The same layer by layer, for whoever must know which layers are there.

    Raises
    ------
    InputError
        If it is no SVG, holds no seam line in a layer of ours, or a seam line that is not closed.
    """
    import svgelements

    try:
        svg = svgelements.SVG.parse(io.StringIO(text), reify=True)
    except (ET.ParseError, ValueError) as err:
        raise InputError(
            f"The file is not an SVG that can be read: {err}.", "Save it as plain SVG and try again."
        ) from err
    height = float(svg.height or 0.0) * MM_PER_PX
    if not math.isfinite(height):
        raise _beyond("The height of the SVG is")
    pieces = _pieces(svg, height)
    if not pieces:
        raise InputError(
            "No layer named “seam line” with a closed line was found in the SVG.",
            "Edit an SVG that this program wrote, keep its layers and their names, and save it as SVG.",
        )
    return tuple(pieces)


def _pieces(node: Any, height: float) -> list[DrawnPiece]:
    """The innermost groups that are pieces: a person may have grouped pieces, or all of them, once more."""
    import svgelements

    found: list[DrawnPiece] = []
    for child in node:
        if isinstance(child, svgelements.Group):
            inner = _pieces(child, height)
            own = None if inner else _piece(child, height)
            found += inner or ([] if own is None else [own])
    return found


def _groups(node: Any) -> list[Any]:
    import svgelements

    inner = [child for child in node if isinstance(child, svgelements.Group)]
    return [*inner, *(deeper for child in inner for deeper in _groups(child))]


def _piece(group: Any, height: float) -> DrawnPiece | None:
    """The group as a piece, if it holds a seam line layer of ours; None otherwise."""
    own = str(group.id or "")
    layers: dict[LineKind, tuple[Path, ...]] = {}
    for layer in _groups(group):
        kind = _layer_kind(layer, own)
        if kind is not None:
            lines = (_path(element, height, kind) for element in layer.select())
            layers[kind] = (*layers.get(kind, ()), *(line for line in lines if line is not None))
    if not layers.get("seam"):
        return None
    name = own if _is_ours(own) else slug(str(group.values.get(_LABEL) or own))
    name = name.replace("-", " ").capitalize()
    if not any(line.closed for line in layers["seam"]):
        raise InputError(
            f"The seam line of the {name.lower()} is not closed.",
            "Join its ends in the drawing program (join selected nodes, or close the path), save and try again.",
        )
    return DrawnPiece(name=name, layers=MappingProxyType(layers))


def _is_ours(own: str) -> bool:
    return own != "" and own == slug(own) and not own.startswith(("layer", "g"))


def _layer_kind(layer: Any, own: str) -> LineKind | None:
    by_id = _LAYER_KINDS.get(str(layer.id or "").removeprefix(f"{own}-"))
    return by_id or _LAYER_KINDS.get(slug(str(layer.values.get(_LABEL) or "")))


def _path(element: Any, height: float, kind: LineKind) -> Path | None:
    """A shape that is drawn as a line, in mm, y up; None for words, groups and filled arrow heads."""
    import svgelements

    if not isinstance(element, svgelements.Shape):
        return None
    if element.fill is not None and element.fill.value is not None:
        return None
    parts = _parts(svgelements.Path(element), height)
    if not parts:
        return None
    points = as_points(np.vstack([parts[0][:1], *(_flat(part)[1:] for part in parts)]))
    closed = len(points) > 3 and bool(np.hypot(*(points[0] - points[-1])) < CLOSED_MM)
    return Path(kind=kind, points=points[:-1] if closed else points, closed=closed, name=kind, curve=tuple(parts))


def _parts(path: Any, height: float) -> list[Points]:
    """Straight pieces (2, 2) and cubics (4, 2) of a path, mm, y up; steps of no length left out."""
    import svgelements

    path.approximate_arcs_with_cubics()
    parts = []
    for segment in path:
        if isinstance(segment, svgelements.Move) or segment.start is None or segment.end is None:
            continue
        if isinstance(segment, svgelements.CubicBezier):
            nodes = [segment.start, segment.control1, segment.control2, segment.end]
        elif isinstance(segment, svgelements.QuadraticBezier):
            lean = [(end * 1.0 + segment.control * 2.0) / 3.0 for end in (segment.start, segment.end)]
            nodes = [segment.start, *lean, segment.end]
        else:
            nodes = [segment.start, segment.end]
        part = np.array([(node.x, node.y) for node in nodes]) * [MM_PER_PX, -MM_PER_PX] + [0.0, height]
        if not np.isfinite(part).all():
            raise _beyond("A line of the SVG has a point that is")
        if np.ptp(part, axis=0).max() > 1e-6:
            parts.append(part)
    return parts


def _beyond(what: str) -> InputError:
    return InputError(f"{what} beyond every number.", "Undo the last change in the drawing program and save again.")


def _flat(part: Points) -> Points:
    """A straight piece as it is; a cubic as points half a millimetre apart."""
    if len(part) == 2:
        return part
    curve = Cubic(nodes=part)
    return curve.at(np.linspace(0.0, 1.0, max(2, int(np.ceil(curve.length() / CURVE_STEP_MM))) + 1))
