"""The name of an edge and what it is sewn to, written along it on the inside, where nothing else stands."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from shapely import LineString, Polygon, prepare, unary_union
from shapely.ops import substring

from calibration.ground.plane import left, unit
from calibration.ground.points import Points
from convert.paper.draw.drawing import Path, Text
from convert.paper.draw.lettering import width

SIZE_MM = 3.5  # 10 point: small beside the label, and still read at arm's length
_CLEAR_MM = 1.5  # between the edge and the words, and round them
_SHARES = (0.5, 0.35, 0.65, 0.22, 0.78, 0.12, 0.88)


def edge_names(
    lines: Mapping[str, Points], said: Mapping[str, str], outline: Points, items: Sequence[Path | Text]
) -> list[Text]:
    """The words of each edge; an edge with no free place for them has none.

    Parameters
    ----------
    lines
        Edges (N, 2) by name, counter-clockwise round the piece, on this paper.
    said
        What is written at each.
    outline
        The piece's ring (M, 2).
    items
        What stands on the paper already.
    """
    inside = Polygon(outline).buffer(0.0)
    prepare(inside)
    drawn = [item for item in items if isinstance(item, Path) and item.kind not in ("seam", "cut", "stitching", "fold")]
    taken = unary_union([LineString(item.points) for item in drawn if len(item.points) > 1])
    out: list[Text] = []
    for name, words in said.items():
        if name not in lines:
            continue
        for text, box in _places(lines[name], words):
            if inside.contains(box) and not taken.intersects(box):
                out.append(text)
                taken = taken.union(box)
                break
    return out


def _places(line: Points, words: str) -> Iterator[tuple[Text, Polygon]]:
    """Places along an edge, the middle first, each with the box that the words need there."""
    shape, need = LineString(line), width(words, SIZE_MM)
    for share in _SHARES:
        start = share * shape.length - need / 2
        if start < 2.0 or start + need > shape.length - 2.0:
            continue
        part = np.array(substring(shape, start, start + need).coords)
        way = unit(part[-1] - part[0])
        inward = left(way)
        deep = _CLEAR_MM + float(((part - part[0]) @ inward).max())
        turned = way[0] < -1e-9 or (abs(way[0]) <= 1e-9 and way[1] < 0)  # else it would stand on its head
        begin = part[-1] if turned else part[0]
        run, up = (-way, -inward) if turned else (way, inward)
        base = begin + inward * (deep + (SIZE_MM if turned else 0.0))
        corners = [base, base + need * run, base + need * run + SIZE_MM * up, base + SIZE_MM * up]
        angle = float(np.degrees(np.arctan2(run[1], run[0])))
        yield Text(words=words, at=base, size=SIZE_MM, angle_deg=angle), Polygon(corners)
