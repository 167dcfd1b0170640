"""Making it sew: corners as the pattern had them, dart legs equal.

After the moves the side seam, the shoulder and the centre line stand where they must; the edges that run into them
(armhole, neckline, waist, cap, wrist, hem) are turned at their ends so that each corner keeps the pattern's own angle.
A neckline or armhole that ran smooth across a joined seam then still does. Source: the truing rules of the trade,
common practice; smooth armhole across the shoulder: Conover 1922.
"""

from collections.abc import Mapping

import numpy as np

from calibration.ground.points import Points, lengths_along
from convert.block.shape.shape import Indices, Shape, ramp

REACH_MM = 8.0  # direction of an edge at its end is taken over this length, its bend allowed for
BLEND_MM = 60.0  # an end is turned over at most this length
_NEAR = 48  # points that reach far enough, as a rule
_WHOLE_MM = 1e6
_TURNED = 1e-5  # radians: an end that needs less is left

Corner = tuple[str, str]
_CORNERS: dict[str, tuple[Corner, ...]] = {
    "bodice": (
        ("armhole", "shoulder"),
        ("armhole", "side seam"),
        ("neckline", "shoulder"),
        ("neckline", "centre"),
        ("waist", "centre"),
        ("waist", "side seam"),
    ),
    "dress": (
        ("armhole", "shoulder"),
        ("armhole", "side seam"),
        ("neckline", "shoulder"),
        ("neckline", "centre"),
        ("hem", "centre"),
        ("hem", "side seam"),
    ),
    "skirt": (("waist", "centre"), ("waist", "side seam"), ("hem", "centre"), ("hem", "side seam")),
    "sleeve": (
        ("cap", "underarm seam front"),
        ("cap", "underarm seam back"),
        ("wrist", "underarm seam front"),
        ("wrist", "underarm seam back"),
    ),
}


def corners_of(shape: Shape) -> tuple[Corner, ...]:
    """Corners (edge that is turned, edge that stands) to keep on a piece of this kind."""
    out = []
    for edge, stands in _CORNERS.get(shape.piece.kind.split()[0], ()):
        edge = "hem" if edge == "wrist" and not shape.has("wrist") else edge
        stands = shape.centre if stands == "centre" else stands
        if shape.has(edge) and shape.has(stands):
            out.append((edge, stands))
    return tuple(out)


def corner_angles(shape: Shape) -> dict[Corner, float]:
    """Signed angle (radians) from the standing edge to the turned one, at each corner."""
    return {corner: _angle(shape, corner) for corner in corners_of(shape)}


def true_corners(shape: Shape, wanted: Mapping[Corner, float]) -> Shape:
    """Ends of edges turned until each corner has the wanted angle; the corner points stay."""
    ring = shape.ring.copy()
    for corner, angle in wanted.items():
        for _ in range(3):
            now = shape.moved(ring=ring)
            off = (angle - _angle(now, corner) + np.pi) % (2 * np.pi) - np.pi
            if abs(off) < _TURNED:
                break
            run = now.run(*corner)
            ring[run] = _with_end_turned(now, run, corner[0], off)
    return shape.moved(ring=ring)


def true_dart_legs(shape: Shape) -> Shape:
    """Leg ends slid along their legs until both are equal, the seam line blended to them."""
    ring = shape.ring.copy()
    for i, (legs, apex) in enumerate(zip(shape.legs, shape.apexes, strict=True)):
        if legs[0] < 0:
            continue
        name = shape.piece.darts[i].on
        assert name is not None
        arms = ring[legs] - apex
        lengths = np.hypot(*arms.T)
        half = float(lengths[1] - lengths[0]) / 2
        if abs(half) < 1e-9 or lengths.min() < 1.0:
            continue
        shifts = arms / lengths[:, None] * np.array([[half], [-half]])
        k = shape.names.index(name)
        run = shape.run(name, shape.names[k - 1])
        ring[run] += _blended(shape, run, name, i, shifts)
    return shape.moved(ring=ring)


def _blended(shape: Shape, run: Indices, name: str, dart: int, shifts: Points) -> Points:
    """Displacements (N, 2) of an edge from those of one dart's two leg ends, fading out to either side."""
    mouths = shape.mouths(run, name)
    near, far = next((a, b) for i, a, b in mouths if i == dart)
    first, second = (0, 1) if run[near] == shape.legs[dart, 0] else (1, 0)
    along = shape.net_along(run, name)
    low = max((along[b] for i, a, b in mouths if b < near), default=along[0])
    high = min((along[a] for i, a, b in mouths if a > far), default=along[-1])
    fade_low = ramp(along, max(low, along[near] - BLEND_MM), along[near])
    fade_high = 1.0 - ramp(along, along[far], min(high, along[far] + BLEND_MM))
    out = np.outer(fade_low, shifts[first])
    out[far:] = np.outer(fade_high[far:], shifts[second])
    across = np.linspace(0.0, 1.0, far - near + 1)[:, None]
    out[near : far + 1] = (1 - across) * shifts[first] + across * shifts[second]
    return out


def direction_at(line: Points, reach: float = REACH_MM) -> Points:
    """Unit direction (2,) in which a polyline leaves its first point.

    Taken from the chords to half the reach and to the whole, carried back to no reach at all; the chord of the whole
    line where the reach has no end.
    """
    if reach > _WHOLE_MM:
        chord = line[-1] - line[0]
        return np.asarray(chord / max(float(np.hypot(*chord)), 1e-12))
    line = line[:_NEAR] if np.hypot(*(line[min(_NEAR, len(line)) - 1] - line[0])) > reach else line
    along = lengths_along(line)
    at = np.minimum([reach / 2, reach], along[-1])
    ways = np.column_stack([np.interp(at, along, line[:, axis]) for axis in (0, 1)]) - line[0]
    ways /= np.maximum(np.hypot(*ways.T), 1e-12)[:, None]
    way = 2.0 * ways[0] - ways[1]
    return np.asarray(way / max(float(np.hypot(*way)), 1e-12))


def _angle(shape: Shape, corner: Corner) -> float:
    edge, stands = corner
    turned = direction_at(_end(shape, edge, stands))
    still = direction_at(_end(shape, stands, edge), 1e9 if stands.startswith("centre") else REACH_MM)
    return float(np.arctan2(still[0] * turned[1] - still[1] * turned[0], still @ turned))


def _end(shape: Shape, edge: str, neighbour: str) -> Points:
    return np.asarray(shape.ring[shape.run(edge, neighbour)])


def _with_end_turned(shape: Shape, run: Indices, name: str, angle: float) -> Points:
    line = shape.ring[run]
    along = lengths_along(line)
    first = min((near for _, near, _ in shape.mouths(run, name)), default=len(run) - 1)
    blend = min(BLEND_MM, 0.9 * along[first], 0.45 * along[-1])
    if blend <= 2 * REACH_MM:
        return line
    way = direction_at(line)
    normal = np.array([-way[1], way[0]])
    share = np.clip(along / blend, 0.0, 1.0)
    rise = np.tan(np.clip(angle, -0.6, 0.6))
    return np.asarray(line + np.outer(rise * along * (1.0 - share) ** 2, normal))
