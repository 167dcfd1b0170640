"""What the holes of unprinted tissue mean: grain, fold, darts and seam line, by size and place."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise

import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError
from calibration.ground.plane import unit
from calibration.ground.points import Points, as_points, lengths_along, nearest_on_line
from convert.piece.darts.darts import CutDart, Wedge
from convert.piece.names.kinds import KINDS
from convert.piece.names.naming import NamedEdge, NamedPiece, straightened
from convert.piece.names.told import HolesTold, Millimetres
from convert.piece.outline.meeting import ray_crossings
from convert.piece.piece import Allowance, EdgeName, Mark
from convert.piece.width_words import Unit, format_paper_mm

LARGER = 1.2  # large holes are at least so many times as wide as small ones
UPRIGHT_DEG = 4.0  # rows that mean grain or fold run so nearly upright
ROW_MM, ROW_SHARE = 60.0, 0.25  # a row is so long, or so much of a low piece's height
IN_LINE_MM = 2.0  # holes of a row lie so near its line
FOLD_WITHIN_MM = 32.0  # a fold row lies so near the centre edge
SEAM_MM = (5.0, 45.0)  # holes on the seam line lie so far inside the cut line
LEGS_DIFFER_MM = 3.0
LEG_MM = (35.0, 280.0)
MOUTH_MM = (5.0, 75.0)
SEAM_SIGMA_MM = 0.3
NOTCH_ON_MM = 8.0  # a notch so near an edge is its own
REACHES = 0.6  # holes that mark gathers fill so much of the way between two notches
POINTED_MM = 10.0  # a group is told by a place so near one of its holes
DOUBLE_LONG_MM, DOUBLE_WIDE_MM = (90.0, 420.0), (8.0, 60.0)  # of a double-pointed dart
DOUBLE_LEAN_DEG = 12.0  # it runs so nearly along the grain
DOUBLE_MIDDLE = (0.25, 0.75)  # where along it it is widest
DOUBLE_OFF_MM = 2.0

_Told = HolesTold[Millimetres]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HoleReading:
    """What the holes say: every one as a mark with its meaning, and what follows from them."""

    marks: tuple[Mark, ...] = ()
    grain: Points | None = None
    fold: bool = False
    wedges: tuple[Wedge, ...] = ()
    doubles: tuple[CutDart, ...] = ()
    seams: dict[EdgeName, Allowance] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fan:
    """A possible dart among the holes: which holes make it (leg ends, apex, others on its legs)."""

    legs: tuple[int, int]
    apex: int
    on_legs: tuple[int, ...]
    edge: EdgeName
    cost: float


@dataclass(slots=True, kw_only=True, eq=False)
class _Groups:
    """Holes at ``at`` (N, 2) as they are given a meaning: a text for each, and the number of its group."""

    at: Points
    size: npt.NDArray[np.float64]
    meaning: list[str]
    group: list[int]

    def mean(self, holes: Sequence[int], said: str, *, with_group_of: int | None = None) -> None:
        """One group's holes."""
        number = max(self.group, default=-1) + 1 if with_group_of is None else self.group[with_group_of]
        for k in holes:
            self.meaning[k], self.group[k] = said, number

    @property
    def free(self) -> list[int]:
        """Holes without a meaning."""
        return [k for k, said in enumerate(self.meaning) if not said]


def read_holes(piece: NamedPiece, width_unit: Unit = "cm", told: tuple[_Told, ...] = ()) -> HoleReading:
    """Holes grouped and given a meaning.

    Large holes in an upright row mean fold beside the centre edge, else grain. Of the rest, four that make a kite along
    the grain, away from the edges, mean a double-pointed dart; two near one edge and one inside, equally far from both,
    mean a dart; more on its legs make it surer. Rows at one distance along an edge mean the seam line. What is left is
    kept as it is. ``told`` (in the piece's frame) says what the group about a place means; it wins.

    Source: uses of perforations as in The New Dressmaker, 1921, p. 16, widened to rows of single holes.

    Raises
    ------
    InputError
        If something is told of holes where there are none, or holes can't mean what was told.
    """
    traced = [mark for mark in piece.tracing.marks if mark.kind == "hole"]
    if not traced:
        if told:
            raise _no_hole(told[0], piece)
        return HoleReading()
    at, size = np.array([mark.at for mark in traced]), np.array([mark.size_mm for mark in traced])

    def fresh() -> _Groups:
        return _Groups(at=at, size=size, meaning=[""] * len(traced), group=[-1] * len(traced))

    groups = fresh()
    if told:
        as_read = fresh()
        _by_themselves(piece, as_read, width_unit)
        said = [_told_holes(piece, groups, as_read, one, width_unit) for one in told]
    else:
        said = []
    found = _by_themselves(piece, groups, width_unit)
    last = next((one.grain for one in reversed(said) if one.grain is not None), found.grain)
    settled = {k for k, text in enumerate(groups.meaning) if text.startswith(_TOLD)}
    marks = tuple(
        Mark(
            kind="hole",
            at=mark.at,
            meaning=text.removeprefix(_TOLD) or "unknown",
            confidence=mark.confidence,
            evidence="told" if k in settled else mark.evidence,
        )
        for k, (mark, text) in enumerate(zip(traced, groups.meaning, strict=True))
    )
    return HoleReading(
        marks=marks,
        grain=last,
        fold=found.fold or any(one.fold for one in said),
        wedges=tuple(wedge for one in (*said, found) for wedge in one.wedges),
        doubles=tuple(dart for one in (*said, found) for dart in one.doubles),
        seams=found.seams | {name: seam for one in said for name, seam in one.seams.items()},
    )


def _by_themselves(piece: NamedPiece, groups: _Groups, width_unit: Unit) -> HoleReading:
    """What the holes without a meaning say, with no marks yet."""
    fold, grain = _upright_rows(piece, groups)
    doubles = _kites(piece, groups)
    wedges = []
    for fan in _fans(piece, groups.at, groups.free):
        groups.mean(fan.legs, f"dart leg on the {fan.edge}")
        groups.mean(fan.on_legs, f"dart line on the {fan.edge}", with_group_of=fan.legs[0])
        groups.mean([fan.apex], f"dart point on the {fan.edge}", with_group_of=fan.legs[0])
        wedges.append(Wedge(apex=groups.at[fan.apex], ends=_legs_through(groups.at, fan), evidence="measured"))
    seams = _seam_rows(piece, groups, width_unit)
    return HoleReading(grain=grain, fold=fold, wedges=tuple(wedges), doubles=tuple(doubles), seams=seams)


# ---------------------------------------------------------------- told

_TOLD = "told: "


def _told_holes(piece: NamedPiece, groups: _Groups, as_read: _Groups, told: _Told, width_unit: Unit) -> HoleReading:
    """What one group means as it was told: one place means the whole group that was read there, several these holes."""
    near = [int(np.hypot(*(groups.at - place).T).argmin()) for place in told.at]
    if any(np.hypot(*(groups.at[k] - place)) > POINTED_MM for k, place in zip(near, told.at, strict=True)):
        raise _no_hole(told, piece)
    holes = sorted(set(near))
    if len(holes) == 1 and as_read.group[holes[0]] >= 0:
        holes = [k for k, number in enumerate(as_read.group) if number == as_read.group[holes[0]]]
    at = groups.at[holes]
    groups.mean(holes, f"{_TOLD}{told.means}")
    if told.means == "grain" and len(holes) >= 2:
        ends = straightened(at[np.argsort(at[:, 1])])
        return HoleReading(grain=ends)
    if told.means == "fold":
        return HoleReading(fold=True)
    if told.means == "seam line":
        return HoleReading(seams=_told_seam(piece, at, width_unit))
    if told.means == "dart" and len(holes) >= 3:
        return HoleReading(wedges=(_told_wedge(piece, at),))
    if told.means == "double-pointed dart" and len(holes) >= 4:
        return HoleReading(doubles=(_told_double(at),))
    if told.means == "nothing":
        return HoleReading()
    least = {"grain": 2, "dart": 3, "double-pointed dart": 4}[told.means]
    raise InputError(
        f"The holes told as {told.means} are {len(holes)}, and it takes {least}.",
        "Tell a place at each of its holes, or add those that were not read (add_holes).",
    )


def _no_hole(told: _Told, piece: NamedPiece) -> InputError:
    return InputError(
        f"No hole was read within {POINTED_MM / 10:.0f} cm of a place where holes are told to mean {told.means}, "
        f"on the {piece.kind}.",
        "Tell a place at one of the holes, or add the hole (add_holes).",
    )


def _told_seam(piece: NamedPiece, at: Points, width_unit: Unit) -> dict[EdgeName, Allowance]:
    """Holes said to lie on the seam line, each on that of the edge nearest to it."""
    gaps = np.array([[nearest_on_line(edge.points, hole)[2] for hole in at] for edge in piece.edges])
    out: dict[EdgeName, Allowance] = {}
    for k, edge in enumerate(piece.edges):
        own = gaps[k][gaps.argmin(0) == k]
        if len(own) and (len(own) > 1 or len(at) == 1):
            mm = float(np.median(own))
            why = f"Holes said to lie on the seam line stand {format_paper_mm(mm, width_unit)} inside the cut line."
            doubt = 2.0 * float(np.hypot(max(float(own.std()), SEAM_SIGMA_MM) / np.sqrt(len(own)), 0.2))
            out[edge.name] = Allowance(mm=mm, evidence="told", uncertainty_mm=doubt, why=why)
    return out


def _told_wedge(piece: NamedPiece, at: Points) -> Wedge:
    """The dart of three holes or more: its legs end at the two nearest an edge, its point is the one furthest in."""
    deep = np.array([min(nearest_on_line(edge.points, hole)[2] for edge in piece.edges) for hole in at])
    order = np.argsort(deep)
    apex = int(max(order[2:], key=lambda k: np.hypot(*(at[k] - at[order[:2]].mean(0)))))
    return Wedge(apex=at[apex], ends=at[order[:2]], evidence="told")


def _told_double(at: Points) -> CutDart:
    """The double-pointed dart of four holes or more: its points lie furthest apart, it is widest square to that."""
    i, j = max(combinations(range(len(at)), 2), key=lambda pair: np.hypot(*(at[pair[0]] - at[pair[1]])))
    way = unit(at[j] - at[i])
    aside = way[0] * (at - at[i])[:, 1] - way[1] * (at - at[i])[:, 0]
    ends = at[[int(aside.argmin()), int(aside.argmax())]]
    return CutDart(on=None, apexes=at[[i, j]], crossings=ends, evidence="told")


# ---------------------------------------------------------------- grain and fold


def _upright_rows(piece: NamedPiece, groups: _Groups) -> tuple[bool, Points | None]:
    """Rows of large holes: fold if beside the centre edge, else grain."""
    at, large = groups.at, _large(groups.size)
    unsaid = set(groups.free)
    centre = piece.centre
    holes = [int(k) for k in np.flatnonzero(large)]
    tall = float(np.ptp(np.concatenate([edge.points[:, 1] for edge in piece.edges])))
    least_mm = min(ROW_MM, ROW_SHARE * tall)
    two = 2 if large.any() and not large.all() else 99
    rows = _rows(at, holes, least=3, least_mm=least_mm) or _rows(at, holes, least=two, least_mm=least_mm)
    fold, grain = False, None
    edge = None if centre is None else piece.edge(centre).points
    beside = {
        tuple(row): np.inf if edge is None else float(np.mean([nearest_on_line(edge, at[k])[2] for k in row]))
        for row in rows
    }
    for row in sorted(
        rows, key=lambda row: beside[tuple(row)]
    ):  # of two rows near the centre the outer one is the fold
        if any(k not in unsaid for k in row):
            continue
        if beside[tuple(row)] < FOLD_WITHIN_MM and not fold:
            fold = True
            said = "fold"
        elif grain is None:
            ends = straightened(at[row])
            grain = ends if ends[0, 1] <= ends[1, 1] else ends[::-1]
            said = "grain"
        else:
            continue
        groups.mean(row, said)
        unsaid -= set(row)
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


def _rows(at: Points, holes: list[int], *, least: int, least_mm: float) -> list[list[int]]:
    """Upright rows of at least so many holes and so long, those with the most holes and the longest first."""
    found = []
    for i, j in combinations(holes, 2):
        way = at[j] - at[i]
        long = float(np.hypot(*way))
        if long < least_mm or abs(way[0]) > np.sin(np.radians(UPRIGHT_DEG)) * long:
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
    return name if name in KINDS[piece.kind].dart_edges and SEAM_MM[0] < gap < SEAM_MM[1] else None


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
    likely = KINDS[piece.kind].dart_edges.index(edge)
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


def _kites(piece: NamedPiece, groups: _Groups) -> list[CutDart]:
    """Double-pointed darts: four holes away from the edges, two points along the grain and the widest place between."""
    at = groups.at
    inner = [k for k in groups.free if min(nearest_on_line(e.points, at[k])[2] for e in piece.edges) > SEAM_MM[1] / 2]
    found = []
    for i, j in combinations(inner, 2):
        way = at[j] - at[i]
        long = float(np.hypot(*way))
        if not DOUBLE_LONG_MM[0] < long < DOUBLE_LONG_MM[1]:
            continue
        if abs(way[0]) > np.sin(np.radians(DOUBLE_LEAN_DEG)) * long:
            continue
        for a, b in combinations([k for k in inner if k not in (i, j)], 2):
            off = _off_kite(at[i], at[j], at[a], at[b])
            if off is not None:
                found.append((off, (i, j, a, b)))
    darts: list[CutDart] = []
    for _, four in sorted(found):
        if set(four) <= set(groups.free):
            groups.mean(four[:2], "point of a double-pointed dart")
            groups.mean(four[2:], "widest place of a double-pointed dart", with_group_of=four[0])
            _along_kite(groups, four)
            darts.append(CutDart(on=None, apexes=at[list(four[:2])], crossings=at[list(four[2:])]))
    return darts


def _off_kite(i: Points, j: Points, a: Points, b: Points) -> float | None:
    """By how much four holes are no kite with its points at i and j; None if they are none at all."""
    mouth, long = float(np.hypot(*(a - b))), float(np.hypot(*(j - i)))
    share = float(((a + b) / 2 - i) @ (j - i)) / long**2
    if not DOUBLE_WIDE_MM[0] < mouth < min(DOUBLE_WIDE_MM[1], 0.4 * long) or not _between(share, DOUBLE_MIDDLE):
        return None
    uneven = [abs(float(np.hypot(*(a - end)) - np.hypot(*(b - end)))) for end in (i, j)]
    return sum(uneven) if max(uneven) < DOUBLE_OFF_MM else None


def _between(value: float, limits: tuple[float, float]) -> bool:
    return limits[0] < value < limits[1]


def _along_kite(groups: _Groups, four: tuple[int, int, int, int]) -> None:
    """Holes on the lines of a double-pointed dart go with it."""
    i, j, a, b = four
    sides = [(groups.at[p], groups.at[q]) for p in (i, j) for q in (a, b)]
    more = [k for k in groups.free if min(_off_leg(groups.at[k], p, q) for p, q in sides) < IN_LINE_MM]
    groups.mean(more, "line of a double-pointed dart", with_group_of=i)


# ---------------------------------------------------------------- seam line


def _seam_rows(piece: NamedPiece, groups: _Groups, width_unit: Unit) -> dict[EdgeName, Allowance]:
    """Rows of three or more holes at one distance along an edge; a row from notch to notch shows where it is gathered.

    The seam line runs on past the notches to both ends of the edge; gathers are marked between them (common practice).
    """
    seams: dict[EdgeName, Allowance] = {}
    at, free = groups.at, groups.free
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
        if _between_notches(piece, edge, along):
            groups.mean(row, f"gathers at the {edge.name}")
            free = groups.free
            continue
        gaps = np.array([near[k][1] for k in row])
        doubt = 2.0 * float(np.hypot(max(float(gaps.std()), SEAM_SIGMA_MM) / np.sqrt(len(row)), 0.2))
        why = f"A row of {len(row)} holes runs {format_paper_mm(float(gaps.mean()), width_unit)} inside the cut line."
        seams[edge.name] = Allowance(mm=float(gaps.mean()), evidence="measured", uncertainty_mm=doubt, why=why)
        groups.mean(row, f"seam line of the {edge.name}")
        free = groups.free
    return seams


def _between_notches(piece: NamedPiece, edge: NamedEdge, along: Sequence[float]) -> bool:
    """Whether a row lies between two neighbouring notches of its edge, and reaches near both."""
    feet = [nearest_on_line(edge.points, mark.at)[1:] for mark in piece.tracing.marks if mark.kind == "notch"]
    at = sorted(s for s, off in feet if off < NOTCH_ON_MM)
    first, last = min(along), max(along)
    spans = [(a, b) for a, b in pairwise(at) if a - NOTCH_ON_MM < first and last < b + NOTCH_ON_MM]
    return any(last - first > REACHES * (b - a) for a, b in spans)
