"""What the holes of unprinted tissue mean: grain, fold, darts and seam line, by size and place."""

from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
import numpy.typing as npt

from calibration.points import Points, as_points, lengths_along, nearest_on_line
from convert.piece.darts import Wedge
from convert.piece.kinds import DART_EDGES, KINDS
from convert.piece.meeting import ray_crossings, unit
from convert.piece.naming import NamedPiece, straightened
from convert.piece.piece import Allowance, EdgeName, Mark
from convert.piece.width_words import Unit, format_paper_mm

LARGER = 1.2  # large holes are at least so many times as wide as small ones
UPRIGHT_DEG = 4.0  # rows that mean grain or fold run so nearly upright
IN_LINE_MM = 2.0  # holes of a row lie so near its line
FOLD_WITHIN_MM = 32.0  # a fold row lies so near the centre edge
SEAM_MM = (5.0, 45.0)  # holes on the seam line lie so far inside the cut line
LEGS_DIFFER_MM = 3.0
LEG_MM = (35.0, 280.0)
MOUTH_MM = (5.0, 75.0)
SEAM_SIGMA_MM = 0.3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoleReading:
    """What the holes say: every one as a mark with its meaning, and what follows from them."""

    marks: tuple[Mark, ...] = ()
    grain: Points | None = None
    fold: bool = False
    wedges: tuple[Wedge, ...] = ()
    seams: dict[EdgeName, Allowance] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fan:
    """A possible dart among the holes: which holes make it (leg ends, apex, others on its legs)."""

    legs: tuple[int, int]
    apex: int
    on_legs: tuple[int, ...]
    edge: EdgeName
    cost: float


def read_holes(piece: NamedPiece, width_unit: Unit = "cm") -> HoleReading:
    """Holes grouped and given a meaning.

    Large holes in an upright row mean fold beside the centre edge, else grain. Of the rest, two near one edge and one
    inside, equally far from both, mean a dart; more on its legs make it surer. Rows at one distance along an edge mean
    the seam line. What is left is kept as it is.

    Source: uses of perforations as in The New Dressmaker, 1921, p. 16, widened to rows of single holes.
    """
    traced = [mark for mark in piece.tracing.marks if mark.kind == "hole"]
    if not traced:
        return HoleReading()
    at = np.array([mark.at for mark in traced])
    size = np.array([mark.size_mm for mark in traced])
    meaning = [""] * len(traced)
    fold, grain = _upright_rows(piece, at, size, meaning)
    wedges = []
    for fan in _fans(piece, at, [k for k, said in enumerate(meaning) if not said]):
        for k in fan.legs:
            meaning[k] = f"dart leg on the {fan.edge}"
        for k in fan.on_legs:
            meaning[k] = f"dart line on the {fan.edge}"
        meaning[fan.apex] = f"dart point on the {fan.edge}"
        wedges.append(Wedge(apex=at[fan.apex], ends=_legs_through(at, fan), evidence="measured"))
    seams = _seam_rows(piece, at, meaning, width_unit)
    marks = tuple(
        Mark(
            kind="hole",
            at=mark.at,
            meaning=said or "unknown",
            confidence=mark.confidence,
            evidence=mark.evidence,
        )
        for mark, said in zip(traced, meaning, strict=True)
    )
    return HoleReading(marks=marks, grain=grain, fold=fold, wedges=tuple(wedges), seams=seams)


# ---------------------------------------------------------------- grain and fold


def _upright_rows(
    piece: NamedPiece, at: Points, size: npt.NDArray[np.float64], meaning: list[str]
) -> tuple[bool, Points | None]:
    """Rows of large holes: fold if beside the centre edge, else grain."""
    large = _large(size)
    centre = KINDS[piece.kind].centre
    rows = _rows(at, [int(k) for k in np.flatnonzero(large)], least=3) or _rows(
        at, [int(k) for k in np.flatnonzero(large)], least=2 if large.any() and not large.all() else 99
    )
    fold, grain = False, None
    for row in rows:
        if any(meaning[k] for k in row):
            continue
        beside = np.inf
        if centre is not None:
            beside = float(np.mean([nearest_on_line(piece.edge(centre).points, at[k])[2] for k in row]))
        if beside < FOLD_WITHIN_MM and not fold:
            fold = True
            said = "fold"
        elif grain is None:
            ends = straightened(at[row])
            grain = ends if ends[0, 1] <= ends[1, 1] else ends[::-1]
            said = "grain"
        else:
            continue
        for k in row:
            meaning[k] = said
    return fold, grain


def _large(size: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
    """Which holes are the large ones, if there are two sizes; all of them if there is one."""
    order = np.sort(size)
    ratio = order[1:] / np.maximum(order[:-1], 1e-6)
    if len(order) < 2 or ratio.max() < LARGER:
        return np.ones(len(size), bool)
    k = int(np.argmax(ratio))
    big: npt.NDArray[np.bool_] = size > (order[k] + order[k + 1]) / 2
    return big


def _rows(at: Points, holes: list[int], *, least: int) -> list[list[int]]:
    """Upright rows of at least so many holes, those with the most holes and the longest first."""
    found = []
    for i, j in combinations(holes, 2):
        way = at[j] - at[i]
        long = float(np.hypot(*way))
        if long < 60.0 or abs(way[0]) > np.sin(np.radians(UPRIGHT_DEG)) * long:
            continue
        gap = at[holes] - at[i]
        off = np.abs(gap[:, 0] * way[1] - gap[:, 1] * way[0]) / long
        row = sorted((holes[k] for k in np.flatnonzero(off < IN_LINE_MM)), key=lambda k: at[k, 1])
        if len(row) >= least:
            found.append((len(row), _evenness(at[row]), float(np.ptp(at[row, 1])), row))
    found.sort(key=lambda f: (-f[0], f[1] > 0.15, -f[2]))
    rows: list[list[int]] = []
    for _, _, _, row in found:
        if not any(set(row) & set(other) for other in rows):
            rows.append(row)
    return rows


def _evenness(row: Points) -> float:
    """Spread of the distances between neighbours over their mean."""
    gaps = np.hypot(*np.diff(row, axis=0).T)
    return float(np.std(gaps) / np.mean(gaps))


# ---------------------------------------------------------------- darts


def _fans(piece: NamedPiece, at: Points, holes: list[int]) -> list[_Fan]:
    """Darts among the holes: those that explain most holes first, none sharing a hole with another."""
    found = [
        fan
        for i, j in combinations([k for k in holes if _beside(piece, at[k]) is not None], 2)
        for apex in holes
        if apex not in (i, j)
        for fan in [_fan(piece, at, holes, i, j, apex)]
        if fan is not None
    ]
    found.sort(key=lambda fan: fan.cost)
    kept: list[_Fan] = []
    used: set[int] = set()
    for fan in found:
        mine = {*fan.legs, fan.apex, *fan.on_legs}
        if not mine & used:
            kept.append(fan)
            used |= mine
    return kept


def _beside(piece: NamedPiece, point: Points) -> EdgeName | None:
    """The edge that darts may open on and that a hole lies beside, at a seam's distance."""
    name, gap = min(
        ((edge.name, nearest_on_line(edge.points, point)[2]) for edge in piece.edges), key=lambda found: found[1]
    )
    return name if name in DART_EDGES[piece.kind] and SEAM_MM[0] < gap < SEAM_MM[1] else None


def _fan(piece: NamedPiece, at: Points, holes: list[int], i: int, j: int, apex: int) -> _Fan | None:
    a, b, tip = at[i], at[j], at[apex]
    edge = _beside(piece, a)
    long_a, long_b = float(np.hypot(*(a - tip))), float(np.hypot(*(b - tip)))
    mouth = float(np.hypot(*(a - b)))
    if edge is None or edge != _beside(piece, b) or not MOUTH_MM[0] < mouth < MOUTH_MM[1]:
        return None
    if abs(long_a - long_b) > LEGS_DIFFER_MM or not LEG_MM[0] < min(long_a, long_b) < LEG_MM[1]:
        return None
    if mouth > 0.75 * min(long_a, long_b):
        return None
    line = piece.edge(edge).points
    depths = [nearest_on_line(line, q)[2] for q in (a, b)]
    if abs(depths[0] - depths[1]) > 4.0 or any(len(ray_crossings(line, tip, q - tip)[0]) == 0 for q in (a, b)):
        return None
    others = [k for k in holes if k not in (i, j, apex)]
    on_legs = tuple(k for k in others if min(_off_leg(at[k], tip, a), _off_leg(at[k], tip, b)) < IN_LINE_MM)
    inside = [k for k in others if k not in on_legs and _within(at[k], tip, a, b)]
    both = sum(_off_leg(at[k], tip, a) < IN_LINE_MM for k in on_legs)
    lopsided = abs(2 * both - len(on_legs))
    likely = DART_EDGES[piece.kind].index(edge)
    square = abs(float(unit((a + b) / 2 - tip) @ unit(b - a)))
    cost = -2.0 * (len(on_legs) - lopsided) + abs(long_a - long_b) + 3.0 * len(inside) + 0.2 * likely + 6.0 * square
    return _Fan(legs=(i, j), apex=apex, on_legs=on_legs, edge=edge, cost=cost)


def _off_leg(q: Points, tip: Points, end: Points) -> float:
    """Distance of a hole from a leg, infinite beyond its ends."""
    way = end - tip
    share = float((q - tip) @ way / (way @ way))
    if not 0.05 < share < 0.95:
        return np.inf
    return float(np.hypot(*(q - tip - share * way)))


def _within(q: Points, tip: Points, a: Points, b: Points) -> bool:
    """Whether a hole lies inside the dart."""
    u, v, w = a - tip, b - tip, q - tip
    cross = u[0] * v[1] - u[1] * v[0]
    s, t = (w[0] * v[1] - w[1] * v[0]) / cross, (u[0] * w[1] - u[1] * w[0]) / cross
    return bool(s > 0.02 and t > 0.02 and s + t < 1)


def _legs_through(at: Points, fan: _Fan) -> Points:
    """Leg ends (2, 2); the holes half way steady the legs' direction only, the ends stay where they are punched."""
    return as_points(at[list(fan.legs)])


# ---------------------------------------------------------------- seam line


def _seam_rows(piece: NamedPiece, at: Points, meaning: list[str], width_unit: Unit) -> dict[EdgeName, Allowance]:
    """Rows of three or more holes at one distance along an edge."""
    seams: dict[EdgeName, Allowance] = {}
    free = [k for k, said in enumerate(meaning) if not said]
    for edge in piece.edges:
        size = lengths_along(edge.points)[-1]
        feet = {k: nearest_on_line(edge.points, at[k])[1:] for k in free}
        near = {k: f for k, f in feet.items() if SEAM_MM[0] < f[1] < SEAM_MM[1] and 1.0 < f[0] < size - 1.0}
        if len(near) < 3:
            continue
        middle = float(np.median([gap for _, gap in near.values()]))
        row = [k for k, (_, gap) in near.items() if abs(gap - middle) < 1.5]
        along = [near[k][0] for k in row]
        if len(row) < 3 or np.ptp(along) < 0.3 * size:
            continue
        gaps = np.array([near[k][1] for k in row])
        doubt = 2.0 * float(np.hypot(max(float(gaps.std()), SEAM_SIGMA_MM) / np.sqrt(len(row)), 0.2))
        why = f"A row of {len(row)} holes runs {format_paper_mm(float(gaps.mean()), width_unit)} inside the cut line."
        seams[edge.name] = Allowance(mm=float(gaps.mean()), evidence="measured", uncertainty_mm=doubt, why=why)
        for k in row:
            meaning[k] = f"seam line of the {edge.name}"
            free.remove(k)
    return seams
