"""Uncut paper: the printed cut line of the size asked for, followed among its neighbours."""

from dataclasses import dataclass
from itertools import combinations

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.ops import unary_union

from calibration.errors import InputError, Note
from calibration.flatten import FlatSheet
from calibration.points import Points, as_points, frozen, length, lengths_along, resample, signed_area
from convert.trace.arrows import find_arrows
from convert.trace.assembly import AssembledRing, Part, assemble, part_of
from convert.trace.beads import find_dotted
from convert.trace.border import Border, border_of
from convert.trace.chains import Chain, chain_strokes
from convert.trace.fitting import angle_between_deg
from convert.trace.fold_bracket import find_fold_bracket
from convert.trace.in_line import joined_in_line
from convert.trace.ink import Ink
from convert.trace.line_styles import Style, may_be, same_style, style_of
from convert.trace.lines import read_print
from convert.trace.printed_notches import find_printed_notches
from convert.trace.printing import Printing, find_printing
from convert.trace.size_numbers import numbers_beside
from convert.trace.tracing import TracedLine, TracedMark
from convert.trace.which_size import chosen

_SHORTEST_MM = 12.0
_CLOSE_MM = (7.0, 14.0, 21.0)  # half the gap bridged when the outermost printed line is looked for; more if need be
_DRAWN_SHARE = 0.8  # of the outermost line, however wide the gaps
_STEADY = (0.6, 0.01)  # mm, and share of the distance, by which a stitching line leaves its distance from the edge
_COARSE_MM = 0.5
_DEEPEST_MM = 70.0  # between the outermost and the innermost size
_APART_MM = 0.75  # lines nearer together than this can't be told apart
_BESIDE_COS = float(np.cos(np.radians(35.0)))  # a line that crosses more steeply than this hides next to nothing
_SIZE_STEP_MM = 16.0  # between the lines of neighbouring sizes, at most
_PARALLEL_COS = float(np.cos(np.radians(15.0)))
_UNBROKEN_INK = 0.6  # share of a line's ink that lies all along it where it is not broken
_PURE_MM = 7.0  # of a line by itself, the least that tells its style
_SEED_MM = 60.0  # a shorter stretch starts no style of its own
_LEAST_AREA = 0.3  # of the paper, inside the printed line of an uncut sheet
_ALONGSIDE = 0.6  # share of a printed ring that keeps one distance from the paper's edge when it is a stitching line
_RING_SHARE = 0.35  # of the way round, read from a size's own line
_LEAST_INKED = 0.9  # of a cut line, by which a ring of another course is told
_ONE_LINE_MM = 1.0  # lines of two rings that lie nearer together are one
_DRAWN_SHARE = 0.5  # of a line, drawn; digits that stand in a row string into a sparser one
_NEAR_SHARE = 0.15  # of a stitching line that may come nearer to the cut line than it does along any edge
_LEG_MM, _LEG_STRAIGHT = (25.0, 260.0), 0.985  # length and straightness of a dart's leg
_APEX_MM, _SHARP_DEG = 16.0, (4.0, 45.0)  # legs of nested sizes end so near to one another, and meet at such an angle
_DEEP_MM = 25.0  # a dart's point lies at least so far inside
_LEG_BESIDE_MM = 4.0  # pieces of legs lie no further outside a dart
_STITCHING_MM = 4.0  # a stitching line keeps at least this from the cut line, nested sizes come closer somewhere


_SizeRing = tuple[AssembledRing, Style]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedCut:
    """A cut line printed on uncut paper.

    Attributes
    ----------
    outline : (N, 2)
        The middle of the printed line as a ring, mat mm, counter-clockwise, at most 0.5 mm apart.
    corners : (K,) int
        Indices of its true corners.
    notches : tuple of TracedMark
        Triangles printed on it.
    sizes : int
        How many nested cut lines there are.
    size : int
        Which one this is, 1 being the innermost.
    styles : tuple of Style
        How each size's line is broken, the innermost first.
    lines : tuple of TracedLine
        Of nested sizes, the darts of this size, and the grain and the fold that all share; empty on a single size.
    followed : float
        Share of the outline that was read from this size's own line; the rest runs along lines that sizes share or
        is bridged where lines run together.
    notes : tuple of Note
        How the size was found, and which numbers were read beside the lines.
    """

    outline: Points
    corners: npt.NDArray[np.int64]
    notches: tuple[TracedMark, ...]
    sizes: int
    size: int
    styles: tuple[Style, ...]
    lines: tuple[TracedLine, ...]
    followed: float
    confidence: float
    notes: tuple[Note, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline", as_points(self.outline))
        object.__setattr__(self, "corners", frozen(self.corners, np.int64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sheetful:
    """What is read once of an uncut sheet: its ink, its long lines, and the outermost of them as a border."""

    ink: Ink
    chains: tuple[Chain, ...]
    envelope: Border


def is_uncut(sheet: FlatSheet, paper: npt.NDArray[np.bool_], *, printing: Printing | None = None) -> bool:
    """Whether the paper was left uncut: a closed printed line lies well inside its edge and does not follow it."""
    return _read_sheet(sheet, paper, printing or find_printing(sheet, paper)) is not None


def printed_cut_line(
    sheet: FlatSheet,
    paper: npt.NDArray[np.bool_],
    size: int | str | None = None,
    *,
    printing: Printing | None = None,
) -> PrintedCut | None:
    """The printed cut line of an uncut sheet; None if the paper is cut or bears none.

    Parameters
    ----------
    size : int or str, optional
        Of nested sizes, 1 being the innermost, or the number printed beside the line; needed where there are several.
    printing : Printing, optional
        What is printed on the paper, where it has been found already.

    Raises
    ------
    InputError
        If several sizes are printed and none is asked for, or one that is not there or can't be read.
    """
    printing = printing or find_printing(sheet, paper)
    read = _read_sheet(sheet, paper, printing)
    if read is None:
        return None
    rings = _size_rings(read)
    if not rings:
        return None
    index, notes = chosen(len(rings), size, lambda wanted: _printed_beside(read, rings, wanted))
    made = rings[index][0]
    ring = made.points
    styles = tuple(style for _, style in rings)
    inked = _inked_share(ring, read)
    if inked < _LEAST_INKED:
        raise InputError(
            f"The printed line of size {index + 1} of {len(rings)} can be followed for {inked:.0%} of its way only.",
            "Photograph the sheet nearer and sharper, or cut the size out and photograph the piece.",
        )
    return PrintedCut(
        outline=ring,
        corners=made.corners,
        notches=find_printed_notches(read.ink, ring, nowhere_near=_no_notches_near(rings) if len(rings) > 1 else None),
        sizes=len(rings),
        size=index + 1,
        styles=styles,
        lines=read_print(sheet, paper, ring, printing=printing, nest=styles[index]).lines if len(rings) > 1 else (),
        followed=made.followed,
        confidence=float(np.clip(inked * (0.6 + 0.4 * made.followed), 0.0, 0.98)),
        notes=notes,
    )


def _no_notches_near(rings: list[_SizeRing]) -> Points:
    """Where lines of several sizes may meet as a notch's sides do: corners, and where they could not be told apart."""
    return np.vstack([np.vstack([made.points[made.corners], made.unsure]) for made, _ in rings])


def _printed_beside(read: _Sheetful, rings: list[_SizeRing], wanted: str) -> tuple[str | None, ...]:
    """The number printed beside each size's line, as far as it can be read."""
    lines = tuple(c.points for c in read.chains if sum(map(length, c.strokes)) > _DRAWN_SHARE * c.length)
    return numbers_beside(read.ink, tuple(made.points for made, _ in rings), lines, wanted)


def _read_sheet(sheet: FlatSheet, paper: npt.NDArray[np.bool_], printing: Printing) -> _Sheetful | None:
    ink = printing.ink
    chains = printing.chains + chain_strokes(find_dotted(ink))
    arrows = {a.chain for a in find_arrows(ink, chains) if a.heads == 2}
    long = tuple(c for k, c in enumerate(chains) if c.length >= _SHORTEST_MM and k not in arrows and c.drawn)
    if not long:
        return None
    usual = float(np.median(np.concatenate([np.full(len(c.points), c.ink) for c in long])))
    long = tuple(c for c in long if c.ink > 0.5 * usual or len(c.starts) == 1)
    area = paper.sum() * sheet.mm_per_px**2
    ring = _outermost_ring(tuple(c for k, c in enumerate(chains) if k not in arrows), _LEAST_AREA * area)
    if ring is None:
        return None
    envelope = border_of(ring)
    if _follows_edge(long, envelope, sheet, paper):
        return None
    bracket = find_fold_bracket(chains, envelope)
    long = joined_in_line(tuple(c for c in long if all(c is not chains[k] for k in bracket)))
    return _Sheetful(ink=ink, chains=long, envelope=envelope)


def _outermost_ring(chains: tuple[Chain, ...], least_mm2: float) -> Points | None:
    """Outer contour (N, 2) of all the lines together, gaps and corners bridged; counter-clockwise. None if none of
    ``least_mm2`` or more is drawn most of its way.
    """
    lines = np.vstack([c.points for c in chains])
    low, high = lines.min(0) - 2 * _CLOSE_MM[-1], lines.max(0) + 2 * _CLOSE_MM[-1]
    width, height = np.ceil((high - low) / _COARSE_MM).astype(int)
    canvas = np.zeros((height, width), np.uint8)
    for chain in chains:
        cv2.polylines(canvas, [np.round((chain.points - low) / _COARSE_MM).astype(np.int32)], False, 1, 1)
    for close_mm in _CLOSE_MM:
        side = 2 * round(close_mm / _COARSE_MM) + 1
        disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
        contours, _ = cv2.findContours(
            cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, disc), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
        )
        if not contours:
            continue
        ring = max(contours, key=cv2.contourArea)[:, 0].astype(float) * _COARSE_MM + low
        if abs(signed_area(ring)) > least_mm2 and (cKDTree(lines).query(ring)[0] < 2.5).mean() > _DRAWN_SHARE:
            return ring if signed_area(ring) > 0 else ring[::-1]
    return None


def _follows_edge(chains: tuple[Chain, ...], envelope: Border, sheet: FlatSheet, paper: npt.NDArray[np.bool_]) -> bool:
    """Whether the outermost printed lines keep, each, one distance from the paper's edge, as stitching lines do."""
    contours, _ = cv2.findContours(paper.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    edge = border_of(sheet.to_mm(max(contours, key=cv2.contourArea)[:, 0].astype(float)))
    along = total = 0.0
    for chain in chains:
        points = chain.points[:: max(1, len(chain.points) // 60)]
        if np.median(envelope.distance(points)) > 1.5 or len(points) < 4:
            continue
        gap = edge.distance(points)
        steady = np.abs(gap - np.median(gap)) < _STEADY[0] + _STEADY[1] * np.median(gap)
        along += chain.length * float(steady.mean() > 0.75)
        total += chain.length
    return total == 0.0 or along > _ALONGSIDE * total


def _size_rings(read: _Sheetful) -> list[_SizeRing]:
    """Ring, corners, share followed and style of each size, the innermost first."""
    chains = _size_lines(read)
    parts = [part_of(chain.points, read.envelope) for chain in chains]
    groups = _by_style(read, chains)
    everything = np.vstack([chain.points for chain in read.chains])
    rings = []
    for style, group in sorted(groups, key=lambda g: -_depth(g[1], read.envelope)):
        made = assemble(group, parts, everything, read.ink, _nearest_group(group, groups), read.envelope.length)
        if made is not None:
            rings.append((made, style))
    if len(rings) == 2 and rings[1][1].unbroken and _is_stitching(rings[0][0].points, rings[1][0].points):
        return rings[1:]
    return rings


def _depth(group: list[Part], envelope: Border) -> float:
    """How deep a size's own lines lie inside the outermost one: told by them, not by what bridges their gaps."""
    return float(np.median(np.concatenate([envelope.distance(part.points) for part in group])))


def _is_stitching(inner: Points, outer: Points) -> bool:
    """Whether two printed rings are a single size's stitching line and cut line rather than two nested sizes.

    They may be one line along a fold; elsewhere they come near each other only where the stitching line ends.
    """
    gaps = cKDTree(outer).query(inner)[0]
    apart = gaps[gaps > _ONE_LINE_MM]
    return bool(len(apart) > 0.3 * len(gaps) and (apart < _STITCHING_MM).mean() < _NEAR_SHARE)


def _inked_share(ring: Points, read: _Sheetful) -> float:
    """Share of a ring that runs along ink; gaps of dashes count as ink."""
    inked = np.vstack([resample(c.points[:: max(1, len(c.points) // 400)], 1.0) for c in read.chains])
    return float((cKDTree(inked).query(ring)[0] < 1.0).mean())


def _nearest_group(group: list[Part], groups: list[tuple[Style, list[Part]]]) -> list[Part]:
    """Stretches of the size that runs nearest to a group's; none if it is the only one."""
    own = np.vstack([p.points for p in group])
    others = [members for _, members in groups if members is not group]
    if not others:
        return []
    return min(others, key=lambda m: float(np.median(cKDTree(np.vstack([p.points for p in m])).query(own)[0])))


def _alongside(chain: Chain, envelope: Border) -> bool:
    """Whether a line runs along the outermost one, not far inside it."""
    points = chain.points[np.unique(np.linspace(0, len(chain.points) - 1, 40).astype(int))]
    heading = np.gradient(points, axis=0)
    heading /= np.maximum(np.hypot(*heading.T), 1e-9)[:, None]
    gap, index = envelope.nearest(points)
    fits = (gap < _DEEPEST_MM) & (np.abs((heading * envelope.along[index]).sum(1)) > np.cos(np.radians(30.0)))
    return bool(fits.mean() > 0.5)


def _size_lines(read: _Sheetful) -> list[Chain]:
    """The lines that run along the outermost one, or beside another such: size inside size, however many there are."""
    lines = _without_dart_legs(read.chains, read.envelope)
    kept = [chain for chain in lines if _alongside(chain, read.envelope)]
    left = [chain for chain in lines if all(chain is not one for one in kept)]
    newest = kept
    while newest and left:
        points = np.vstack([_sampled(chain)[0] for chain in newest])
        heading = np.vstack([_sampled(chain)[1] for chain in newest])
        newest = [chain for chain in left if _beside(chain, points, heading)]
        kept = kept + newest
        left = [chain for chain in left if all(chain is not one for one in newest)]
    return kept


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


def _by_style(read: _Sheetful, chains: list[Chain]) -> list[tuple[Style, list[Part]]]:
    """Stretches of line that run by themselves, grouped by how the line is broken; sparse groups left out."""
    lines = _Lines(chains)
    stretches = [
        (part_of(points, read.envelope), strokes)
        for k in range(len(chains))
        for points, strokes in _by_itself(chains[k], k, lines, read.ink)
    ]
    stretches.sort(key=lambda s: -length(s[0].points))
    groups: list[tuple[Style, list[Part]]] = []
    unsure = []
    for part, strokes in stretches:
        style = style_of(strokes)
        fitting = [members for known, members in groups if style is not None and same_style(known, style)]
        if fitting:
            fitting[0].append(part)
        elif style is not None and length(part.points) > _SEED_MM:
            groups.append((style, [part]))
        else:
            unsure.append((part, strokes))
    whole = read.envelope.length
    groups = [g for g in groups if sum(length(p.points) for p in g[1]) > _RING_SHARE * whole]
    for part, strokes in unsure:
        fitting = [members for known, members in groups if may_be(known, strokes)]
        if len(fitting) == 1:
            fitting[0].append(part)
    return groups


class _Lines:
    """Points of all lines together, with the line each belongs to and the way it runs there."""

    def __init__(self, chains: list[Chain]) -> None:
        self.tree = cKDTree(np.vstack([c.points for c in chains]))
        self.owner = np.concatenate([np.full(len(c.points), k) for k, c in enumerate(chains)])
        self.heading = np.vstack([_headings(c) for c in chains])

    def apart(self, chain: Chain, index: int) -> npt.NDArray[np.bool_]:
        """Whether each point of a line has no other line beside it; one that crosses it steeply does not count."""
        own = _headings(chain)
        near = self.tree.query_ball_point(chain.points, _APART_MM)
        count = np.array([len(n) for n in near])
        other = np.concatenate([np.asarray(n, np.int64) for n in near])
        here = np.repeat(np.arange(len(near)), count)
        beside = np.abs((own[here] * self.heading[other]).sum(1)) > _BESIDE_COS
        disturbed = np.zeros(len(near), bool)
        disturbed[here[beside & (self.owner[other] != index)]] = True
        return ~disturbed


def _headings(chain: Chain) -> Points:
    """Unit direction (N, 2) of a line at each of its points, taken over about three millimetres within its stroke."""
    out = []
    for stroke in chain.strokes:
        span = float(np.hypot(*np.diff(stroke, axis=0).T).sum())
        reach = max(1, round(1.5 * len(stroke) / max(span, 1e-6)))
        index = np.arange(len(stroke))
        step = stroke[np.minimum(index + reach, len(stroke) - 1)] - stroke[np.maximum(index - reach, 0)]
        out.append(step / np.maximum(np.hypot(*step.T), 1e-9)[:, None])
    return np.vstack(out)


def _broken_at(chain: Chain, ink: Ink) -> npt.NDArray[np.int64]:
    """Where a line is broken, as indices of its points: not where only another line's crossing parts its strokes."""
    at = np.array(chain.starts[1:], np.int64)
    if not len(at):
        return at
    share = np.linspace(0.0, 1.0, 9)[:, None, None]
    between = chain.points[at - 1] * (1 - share) + chain.points[at] * share
    inked = ink.sample(between.reshape(-1, 2)).reshape(len(share), -1).min(0)
    return at[inked < _UNBROKEN_INK * chain.ink]


def _by_itself(chain: Chain, index: int, lines: _Lines, ink: Ink) -> list[tuple[Points, tuple[Points, ...]]]:
    """Stretches of a chain that no other line runs beside: their points, and the strokes they are made of."""
    alone = lines.apart(chain, index)
    stroke = np.zeros(len(chain.points), int)
    stroke[_broken_at(chain, ink)] = 1
    stroke = np.cumsum(stroke)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], alone.astype(int), [0]])))
    out = []
    for start, stop in zip(edges[::2], edges[1::2], strict=True):
        points = chain.points[start:stop]
        if len(points) < 6 or lengths_along(points[:: max(1, len(points) // 50)])[-1] < _PURE_MM:
            continue
        cuts = np.flatnonzero(np.diff(stroke[start:stop])) + 1
        out.append((points, tuple(np.split(points, cuts))))
    return out
