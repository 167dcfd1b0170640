"""The lines of an uncut sheet that are cut lines of its sizes: not darts, nor anything else printed inside."""

from itertools import combinations

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.ops import unary_union

from calibration.ground.points import Points, resample
from convert.trace.ink.border import Border
from convert.trace.ink.chains import Chain
from convert.trace.ink.straight import angle_between_deg

_DEEPEST_MM = 70.0  # between the outermost and the innermost size
_SIZE_STEP_MM = 16.0  # between the lines of neighbouring sizes, at most
_PARALLEL_COS = float(np.cos(np.radians(15.0)))
_LEG_MM, _LEG_STRAIGHT = (25.0, 260.0), 0.985  # length and straightness of a dart's leg
_APEX_MM, _SHARP_DEG = 16.0, (4.0, 45.0)  # legs of nested sizes end so near to one another, and meet at such an angle
_DEEP_MM = 25.0  # a dart's point lies at least so far inside
_ALONE_MM, _SIZE_MM = 30.0, 60.0  # from a leg's end to the next line that is long enough to be a size's
_LEG_BESIDE_MM = 4.0  # pieces of legs lie no further outside a dart


def size_lines(chains: tuple[Chain, ...], envelope: Border) -> list[Chain]:
    """The lines that run along the outermost one, or beside another such: size inside size, however many there are."""
    lines = _without_dart_legs(chains, envelope)
    kept = [chain for chain in lines if _alongside(chain, envelope)]
    left = _without(lines, kept)
    newest = kept
    while newest and left:
        points = np.vstack([_sampled(chain)[0] for chain in newest])
        heading = np.vstack([_sampled(chain)[1] for chain in newest])
        newest = [chain for chain in left if _beside(chain, points, heading)]
        kept = kept + newest
        left = _without(left, newest)
    return _without_lone_ends(kept, envelope)


def _without(lines: list[Chain], some: list[Chain]) -> list[Chain]:
    """Lines that are none of some; a line is no other, however alike."""
    return [line for line in lines if all(line is not one for one in some)]


def _alongside(chain: Chain, envelope: Border) -> bool:
    """Whether a line runs along the outermost one, not far inside it."""
    points = chain.points[np.unique(np.linspace(0, len(chain.points) - 1, 40).astype(int))]
    heading = np.gradient(points, axis=0)
    heading /= np.maximum(np.hypot(*heading.T), 1e-9)[:, None]
    gap, index = envelope.nearest(points)
    fits = (gap < _DEEPEST_MM) & (np.abs((heading * envelope.along[index]).sum(1)) > np.cos(np.radians(30.0)))
    return bool(fits.mean() > 0.5)


def _without_dart_legs(chains: tuple[Chain, ...], envelope: Border) -> list[Chain]:
    """The chains without straight ones that run together to a point well inside, at an angle that no corner has."""
    straight = [chain for chain in chains if chain.length > _LEG_MM[0] and chain.straightness > _LEG_STRAIGHT]
    straight = [chain for chain in straight if chain.length < _LEG_MM[1]]
    darts: list[Polygon] = []
    for one, other in combinations(straight, 2):
        a, b = one.points[[0, -1]], other.points[[0, -1]]
        gaps = np.hypot(*(a[:, None] - b[None]).transpose(2, 0, 1))
        i, j = np.unravel_index(int(gaps.argmin()), (2, 2))
        way, twin = a[1 - i] - a[i], b[1 - j] - b[j]
        if gaps[i, j] > _APEX_MM or not _SHARP_DEG[0] < angle_between_deg(way, twin) < _SHARP_DEG[1]:
            continue
        depth = envelope.distance(np.array([a[i], b[j], a[1 - i], b[1 - j]]))
        if depth[:2].min() > max(_DEEP_MM, depth[2:].max()):
            darts.append(MultiPoint(np.vstack([a, b])).convex_hull.buffer(_LEG_BESIDE_MM))
    taken = unary_union(darts)
    return [chain for chain in chains if not taken.contains(LineString(chain.points[[0, len(chain.points) // 2, -1]]))]


def _without_lone_ends(lines: list[Chain], envelope: Border) -> list[Chain]:
    """The lines without straight ones that end deep inside with no other line near: single legs of darts."""
    while True:
        lone = [chain for chain in lines if _ends_alone(chain, lines, envelope)]
        if not lone:
            return lines
        lines = _without(lines, lone)


def _ends_alone(chain: Chain, lines: list[Chain], envelope: Border) -> bool:
    """Whether a straight line's deeper end lies far from every other line."""
    if chain.length > _LEG_MM[1] or chain.straightness < _LEG_STRAIGHT:
        return False
    ends = chain.points[[0, -1]]
    depth = envelope.distance(ends)
    if depth.max() < _DEEP_MM:
        return False
    others = [one.points for one in lines if one is not chain and one.length > _SIZE_MM]
    return bool(others) and float(cKDTree(np.vstack(others)).query(ends[depth.argmax()])[0]) > _ALONE_MM


def _sampled(chain: Chain) -> tuple[Points, Points]:
    """Points about every millimetre along a line, and its unit direction there."""
    points = resample(chain.points[np.unique(np.linspace(0, len(chain.points) - 1, 400).astype(int))], 1.0)
    heading = np.gradient(points, axis=0)
    return points, heading / np.maximum(np.hypot(*heading.T), 1e-9)[:, None]


def _beside(chain: Chain, points: Points, heading: Points) -> bool:
    """Whether for most of a line others, given by ``points`` and ``heading``, run beside it at a size's distance."""
    own, way = _sampled(chain)
    pairs = cKDTree(own).query_ball_tree(cKDTree(points), _SIZE_STEP_MM)
    there = 0
    for k, near in enumerate(pairs):
        step = points[near] - own[k]
        there += bool(((np.abs(step @ way[k]) < 1.5) & (np.abs(heading[near] @ way[k]) > _PARALLEL_COS)).any())
    return there > 0.5 * len(own)
