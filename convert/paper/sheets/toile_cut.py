"""The cut line of a toile piece: seam allowance all round, hems deep enough to turn up, their ends shaped for it.

A hem is turned up along its line, so that its ends must be the mirror image of the piece above: on a sleeve that grows
wider upwards the hem grows wider downwards, else it is too short to go round and can't be caught in the side seams.
Darts are folded shut and cut across, which leaves their peaks (:mod:`convert.piece.offset`).
"""

from collections.abc import Mapping

import numpy as np
from shapely import LineString, Polygon, distance, make_valid, points, unary_union

from calibration.ground.points import Points, as_points, closed, lengths_along, resample
from convert.body.card import LengthUnit
from convert.body.wording import format_paper_mm
from convert.piece.allowance.offset import add_allowance, end_way, outward
from convert.piece.piece import Edge, Piece

ALLOWANCE_MM = 15.0
HEM_MM = 40.0
"""Source: 1 1/2 to 2 in for a dress's hem (a sewing guild's list); the lower, since a toile's hem is only tacked."""
HEMS = ("hem", "wrist")
APART_MM = 0.5
ON_LINE_MM = 0.05
GRID_MM = 1e-6  # lines that lie on one another, but for rounding, are one: a straight hem below a straight side
JOINED_MM = 0.02  # two shapes that share an edge are one


SEAMS = "seams"  # the word for every edge that is not named by itself
Outward = Mapping[str, float] | float


def toile_widths(piece: Piece, outward_mm: Outward = ALLOWANCE_MM) -> dict[str, float]:
    """Every edge's allowance, mm: a fold has none, a hem its own depth unless there is to be no allowance at all.

    ``outward_mm`` is one width for all seams, or widths by name of edge: ``seams`` stands for all that are not named
    (15 mm if left out), ``hem`` for the wrist of a sleeve too.
    """
    seams, said = _split(outward_mm)
    if "hem" in said:
        said.setdefault("wrist", said["hem"])
    widths = {}
    for edge in piece.edges:
        usual = 0.0 if edge.on_fold else HEM_MM if edge.name in HEMS and seams > 0 else seams
        widths[str(edge.name)] = float(said.get(edge.name, usual))
    return widths


def toile_words(outward_mm: Outward, unit: LengthUnit = "cm") -> str:
    """The allowances as they stand on every sheet."""
    seams, said = _split(outward_mm)
    hem = said.pop("hem", HEM_MM if seams > 0 else 0.0)
    parts = [f"Seam allowance {format_paper_mm(seams, unit)} included"]
    if hem > 0:
        parts.append(f"hems {format_paper_mm(hem, unit)}")
    parts += [f"{name} {format_paper_mm(mm, unit)}" for name, mm in said.items()]
    return ", ".join([*parts, "none at a fold"])


def _split(outward_mm: Outward) -> tuple[float, dict[str, float]]:
    if isinstance(outward_mm, Mapping):
        said = dict(outward_mm)
        return float(said.pop(SEAMS, ALLOWANCE_MM)), said
    return float(outward_mm), {}


def toile_ring(piece: Piece, widths: Mapping[str, float]) -> Points:
    """The cut line (N, 2) round a piece, counter-clockwise, first point not repeated.

    Raises
    ------
    InputError
        If a width leaves nothing of an edge.
    """
    hems = [edge for edge in piece.edges if edge.name in HEMS and widths.get(edge.name, 0.0) > 0]
    bare: dict[str, float] = {**widths, **{str(edge.name): 0.0 for edge in hems}}
    body = add_allowance(piece, bare)
    if not hems:
        return body
    whole = make_valid(Polygon(body))  # a dart's peak may touch itself
    strips = [_turned_down(edge, body, widths[edge.name], _beside_folds(piece, edge)) for edge in hems]
    joined = (
        unary_union([whole, *strips], grid_size=GRID_MM)
        .buffer(JOINED_MM, join_style="mitre")
        .buffer(-JOINED_MM, join_style="mitre")
    )
    largest = max(getattr(joined, "geoms", [joined]), key=lambda part: float(part.area))
    ring = np.array(largest.exterior.coords)[:-1]
    return _counter_clockwise(_close_points(ring))


def _beside_folds(piece: Piece, hem: Edge) -> tuple[bool, bool]:
    k = piece.edges.index(hem)
    return piece.edges[k - 1].on_fold, piece.edges[(k + 1) % len(piece.edges)].on_fold


def _turned_down(hem: Edge, body: Points, deep: float, folds: tuple[bool, bool]) -> Polygon:
    """The hem as it lies below its line before it is turned up: cut level at its depth, its ends mirrored.

    ``folds`` says whether the edges before and after it lie on a fold.
    """
    line = hem.points
    ways = _end_direction(line[::-1], deep), _end_direction(line, deep)
    far = 4.0 * deep + 100.0
    long = np.vstack([line[:1] + far * end_way(line[::-1]), line, line[-1:] + far * end_way(line)])
    band = Polygon(np.vstack([long, outward(long, deep)[::-1]])).buffer(0.0)
    first, last = _corners(body, long, line[-1] - line[0])
    rings = np.roll(body[::-1], first + 1, axis=0), np.roll(body, -last, axis=0)  # from the hem's corners upwards
    inner = float(np.hypot(*(line[-1] - line[0]))) + 2.0 * far
    for ring, at, way, on_fold in zip(rings, (line[0], line[-1]), ways, folds, strict=True):
        mirror = ring[1] - ring[0] if on_fold else way
        band = band.intersection(_within(ring, at, mirror, -inner * way, 2.0 * deep, on_fold=on_fold))
    return band.buffer(0.0)


def _end_direction(line: Points, deep: float) -> Points:
    """How the hem runs out at its end, over as much of it as is turned up there: it is folded along that."""
    along = lengths_along(line)
    back = along[-1] - min(1.5 * deep, along[-1] / 3.0)
    way = line[-1] - line[int(np.searchsorted(along, back))]
    out: Points = way / np.hypot(*way)
    return out


def _corners(body: Points, long: Points, way: Points) -> tuple[int, int]:
    """Indices in the ring of the hem's first and last point, allowances of the sides included."""
    near = np.flatnonzero(distance(points(body), LineString(long)) < ON_LINE_MM)
    along = body[near] @ way
    return int(near[np.argmin(along)]), int(near[np.argmax(along)])


def _within(side: Points, at: Points, way: Points, inner: Points, reach: float, *, on_fold: bool) -> Polygon:
    """All that lies inward of a side line mirrored in the line through ``at`` along ``way``, the hem's continuation.

    ``side`` is the ring from the hem's corner upwards; ``inner`` a step to the far side of the piece. A fold runs
    straight on instead.
    """
    part = side[: max(2, int(np.searchsorted(lengths_along(side), reach)) + 1)]
    arm = part - (part[0] if on_fold else at)
    one = way / np.hypot(*way)
    below = part[0] - arm if on_fold else at + 2.0 * (arm @ one)[:, None] * one - arm
    run = below[-1] - below[-2]
    below = np.vstack([part[-1], below, below[-1] + 200.0 * run / np.hypot(*run)])
    return Polygon(np.vstack([below, below[::-1] + inner])).buffer(0.0)


def _close_points(ring: Points) -> Points:
    """Points close enough for curves to be fitted to, every corner among them."""
    line = closed(ring)
    parts = [resample(line[k : k + 2], APART_MM)[:-1] for k in range(len(line) - 1)]
    return as_points(np.vstack(parts))


def _counter_clockwise(ring: Points) -> Points:
    return ring if Polygon(ring).exterior.is_ccw else ring[::-1]
