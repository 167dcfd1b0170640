"""A yoke laid on the part below it; what was gathered into it is folded out as a dart."""

import itertools
from dataclasses import dataclass, replace

import numpy as np

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, as_points, nearest_on_line, resample
from convert.piece.allowance.offset import APART_STRAIGHT_MM, spaced
from convert.piece.names.kinds import KINDS
from convert.piece.outline.meeting import ray_crossings, stretch
from convert.piece.piece import Dart, Edge, EdgeName, Piece
from convert.piece.together.assembled import bare, edges_after, piece_of, strung
from convert.piece.together.evidence import NotchMet, SeamLaid
from convert.piece.together.laid import Laid
from convert.piece.together.motion import Motion, about, carried, fitted
from convert.piece.together.seams import STEP_MM, Seam, gap_along, pairs_of, seam_of
from convert.piece.width_words import Unit, format_paper_mm

GATHERED_MM = 5.0
"""A lower part that is longer between two notches by less is eased in; by more, it is gathered or pleated."""
BUST_POINT_SHARE = 0.8  # of the underarm's height over the waist: about where a bust point lies (common practice)
BLADE_SHARE = 0.35  # of the armhole's height below the yoke: about where the shoulder blade stands out furthest
BLADE_LEAST_MM = 45.0  # a dart shorter than this folds out nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gathers:
    """A stretch of the lower part's seam that is gathered: from, to, by how much (arc lengths from the centre)."""

    start: float
    end: float
    excess: float

    @property
    def legs(self) -> tuple[float, float]:
        """Where the dart's legs stand that takes the excess out, in the middle of the gathers."""
        middle = (self.start + self.end) / 2
        return middle - self.excess / 2, middle + self.excess / 2


def yoke_laid(lower: Piece, yoke: Piece, unit: Unit = "cm") -> Laid:
    """A yoke laid on the part below it, both upright, the centre to the left.

    On a front the gathers' dart points to the bust point and is turned into the waist dart, so that the yoke lies on
    a whole seam. On a back it points to the shoulder blade, and the yoke is cut above it: a shoulder dart.

    Raises
    ------
    InputError
        If there are gathers in two places.
    """
    still = seam_of(lower, "yoke seam", backwards=True)
    moving = seam_of(yoke, "yoke seam", backwards=False)
    gathered = _gathers(still, moving)
    if len(gathered) > 1:
        raise InputError(
            "The part below the yoke is gathered in two places.", "Tell the notches between which it is gathered."
        )
    if not gathered:
        return _plainly(lower, yoke, still, moving)
    if KINDS[lower.kind].side == "back":
        return _into_shoulder(lower, yoke, still, moving, gathered[0], unit)
    return _into_waist(lower, yoke, still, moving, gathered[0], unit)


def _gathers(still: Seam, moving: Seam) -> list[_Gathers]:
    """The stretches between notches that are longer on the lower part than on the yoke.

    What differs from a notch to the seam's own end counts only where nothing is gathered between two notches: an
    allowance that was only assumed moves the end.
    """
    pairs = [(0.0, 0.0), *pairs_of(still, moving), (still.length, moving.length)]
    out = [
        _Gathers(start=a0, end=a1, excess=(a1 - a0) - (b1 - b0))
        for (a0, b0), (a1, b1) in itertools.pairwise(pairs)
        if (a1 - a0) - (b1 - b0) > GATHERED_MM
    ]
    return [one for one in out if one.start > 0.0 and one.end < still.length] or out


def _plainly(lower: Piece, yoke: Piece, still: Seam, moving: Seam) -> Laid:
    where = _places(still, moving)
    motion = fitted(moving.at(where[:, 1]), still.at(where[:, 0]))
    there = carried(yoke, motion)
    ring = strung([edges_after(lower, "yoke seam"), edges_after(there, "yoke seam")])
    darts = (*lower.darts, *there.darts)
    piece = piece_of(KINDS[lower.kind].whole, ring, (lower, there), darts, joined=("yoke seam",))
    return Laid(piece=piece, parts=(lower, there), seams=(_seam(lower, yoke, still, moving, still.points, motion),))


def _places(still: Seam, moving: Seam) -> Points:
    """Arc lengths (N, 2) on both seams that belong together, evenly shared out between the notches."""
    pairs = np.array([(0.0, 0.0), *pairs_of(still, moving), (still.length, moving.length)])
    along = np.linspace(0.0, moving.length, max(8, int(moving.length / STEP_MM)))
    return np.column_stack([np.interp(along, pairs[:, 1], pairs[:, 0]), along])


# ---------------------------------------------------------------- front: into the waist dart


def _into_waist(lower: Piece, yoke: Piece, still: Seam, moving: Seam, gathers: _Gathers, unit: Unit) -> Laid:
    """The gathers' dart closed about the bust point, which opens the waist dart."""
    notes: list[Note] = []
    lower = lower if any(d.on == "waist" for d in lower.darts) else _with_slash(lower, notes)
    waist = max((d for d in lower.darts if d.on == "waist"), key=lambda dart: dart.apexes[0][1])
    pivot = waist.apexes[0]
    a, b = still.at(np.array(gathers.legs))
    closing = about(pivot, _angle(b - pivot, a - pivot))
    closed = _turned(lower, waist, closing, a, b)
    seam = _closed_seam(still, gathers.legs, closing)
    where = _closed_places(still, moving, gathers)
    shut = Seam(points=seam, notches=np.array([]))
    motion = fitted(moving.at(where[:, 1]), shut.at(where[:, 0]))
    there = carried(yoke, motion)
    ring = strung([edges_after(closed, "yoke seam"), edges_after(there, "yoke seam")])
    darts = (*closed.darts, *there.darts)
    piece = piece_of(KINDS[lower.kind].whole, ring, (closed, there), darts, joined=("yoke seam",))
    laid = replace(
        _seam(lower, yoke, still, moving, seam, motion, gathers),
        becomes=(("gathers folded out into the waist dart", gathers.excess),),
    )
    text = (
        f"Between its notches the {lower.kind} is {format_paper_mm(gathers.excess, unit)} longer than the yoke: "
        "gathers. They are folded out as a dart to the bust point, and that dart is closed into the waist dart."
    )
    return Laid(piece=piece, parts=(closed, there), seams=(laid,), notes=(Note("gathers-folded-out", text), *notes))


def _angle(one: Points, other: Points) -> float:
    """By how much to turn one direction to the left to come to the other."""
    return float(np.arctan2(one[0] * other[1] - one[1] * other[0], one @ other))


def _with_slash(lower: Piece, notes: list[Note]) -> Piece:
    """A lower part without a waist dart, with one that is still shut, below about where the bust point lies."""
    side = lower.edge("side seam").points
    waist = lower.edge("waist").points
    seam = lower.edge("yoke seam").points
    low = float(waist[:, 1].mean())
    high = float(side[np.argmax(side[:, 1]), 1])
    x = float(seam[:, 0].mean())
    point = np.array([x, low + BUST_POINT_SHARE * (high - low)])
    _, along, _ = nearest_on_line(waist, np.array([x, low]))
    foot = stretch(waist, 0.0, along)[-1]
    text = (
        f"Nothing shows where the bust point lies on the {lower.kind}: it is taken to lie below the gathers, at four "
        "fifths of the underarm's height over the waist. Tell a dart with its point there, if you know better."
    )
    notes.append(Note("bust-point-assumed", text))
    shut = Dart(on="waist", apexes=as_points(point), legs=np.array([foot, foot]), evidence="assumed")
    return replace(lower, darts=(*lower.darts, shut))


def _turned(lower: Piece, waist: Dart, closing: Motion, a: Points, b: Points) -> Piece:
    """The lower part, its outer part from the waist dart's outer leg round to the gathers' outer leg turned."""
    names = [edge.name for edge in lower.edges]
    k, j = names.index("waist"), names.index("yoke seam")
    edges: list[Edge] = []
    outer = {names[(k + i) % len(names)] for i in range(1, (j - k) % len(names))}
    moved_legs = np.array([waist.legs[0], closing.of(waist.legs[1])])
    for edge in lower.edges:
        if edge.name in outer:
            edges.append(replace(edge, points=closing.of(edge.points), cut_points=closing.of(edge.cut_points)))
        elif edge.name == "waist":
            edges.append(_waist(edge, waist, closing, moved_legs))
        elif edge.name == "yoke seam":
            cuts = [nearest_on_line(edge.points, at)[1] for at in (b, a)]
            end = nearest_on_line(edge.points, edge.points[-1])[1]
            points = np.vstack([closing.of(stretch(edge.points, 0.0, cuts[0])), stretch(edge.points, cuts[1], end)])
            edges.append(replace(bare(edge), points=points, cut_points=points))
        else:
            edges.append(edge)
    dart = replace(waist, legs=moved_legs)
    beyond = [d for d in lower.darts if d is not waist and (d.on in outer or _outside(d, waist, lower))]
    rest = [d for d in lower.darts if d is not waist and d not in beyond]
    turned = [replace(d, apexes=closing.of(d.apexes), legs=closing.of(d.legs)) for d in beyond]
    marks = tuple(
        replace(m, at=closing.of(m.at), seam_at=None if m.seam_at is None else closing.of(m.seam_at))
        if m.on in outer
        else m
        for m in lower.marks
    )
    return replace(lower, edges=tuple(edges), darts=(*rest, dart, *turned), marks=marks)


def _outside(dart: Dart, waist: Dart, lower: Piece) -> bool:
    """Whether another waist dart stands on the side that is turned."""
    return dart.on == "waist" and bool(dart.legs[0][0] > waist.legs[0][0]) and lower.has("waist")


def _waist(edge: Edge, dart: Dart, closing: Motion, legs: Points) -> Edge:
    line = edge.points
    cuts = [nearest_on_line(line, leg)[1] for leg in dart.legs]
    size = nearest_on_line(line, line[-1])[1]
    before, after = stretch(line, 0.0, cuts[0]), closing.of(stretch(line, cuts[1], size))
    across = resample(legs, APART_STRAIGHT_MM)
    points = np.vstack([before[:-1], across, after[1:]])
    return replace(bare(edge), points=points, cut_points=points)


def _closed_seam(still: Seam, legs: tuple[float, float], closing: Motion) -> Points:
    """The lower part's seam, from the centre, with the gathers' dart shut."""
    one, other = stretch(still.points, 0.0, legs[0]), closing.of(stretch(still.points, legs[1], still.length))
    return as_points(np.vstack([one[:-1], (one[-1:] + other[:1]) / 2, other[1:]]))


def _closed_places(still: Seam, moving: Seam, gathers: _Gathers) -> Points:
    """As :func:`_places`, on the seam with the dart shut, which is shorter by the gathers."""
    where = _places(still, moving)
    pairs = np.array([(0.0, 0.0), *pairs_of(still, moving), (still.length, moving.length)])
    shut = np.where(pairs[:, 0] >= gathers.end - 1e-6, pairs[:, 0] - gathers.excess, pairs[:, 0])
    return np.column_stack([np.interp(where[:, 1], pairs[:, 1], shut), where[:, 1]])


# ---------------------------------------------------------------- back: into the shoulder


def _into_shoulder(lower: Piece, yoke: Piece, still: Seam, moving: Seam, gathers: _Gathers, unit: Unit) -> Laid:
    """The gathers' dart left open below, the yoke cut above it: both parts of the yoke lie on the lower part."""
    middle = moving.at(np.array([_on_yoke(still, moving, gathers)]))[0]
    point = _blade(lower, still, gathers)
    inner, outer = _cut_yoke(yoke, middle, np.array([0.0, 1.0]))
    on_yoke = _on_yoke(still, moving, gathers)
    first = np.linspace(0.0, on_yoke, max(8, int(on_yoke / STEP_MM)))
    last = np.linspace(on_yoke, moving.length, max(8, int((moving.length - on_yoke) / STEP_MM)))
    legs = gathers.legs
    one = fitted(moving.at(first), still.at(first * legs[0] / on_yoke))
    rest = (still.length - legs[1]) / (moving.length - on_yoke)
    other = fitted(moving.at(last), still.at(legs[1] + (last - on_yoke) * rest))
    inside, outside = carried(inner, one), carried(outer, other)
    names = [edge.name for edge in lower.edges]
    ring = strung([edges_after(lower, "yoke seam"), list(outside.edges), list(inside.edges)])
    new = [
        Dart(on=name, apexes=as_points(point), legs=mouth, evidence="deduced")
        for name, mouth in ring.mouths
        if name == "shoulder"
    ]
    del names
    piece = piece_of(
        KINDS[lower.kind].whole,
        ring,
        (lower, inside, outside),
        (*lower.darts, *inside.darts, *outside.darts, *new),
        joined=("yoke seam",),
    )
    laid = replace(
        _seam(lower, yoke, still, moving, still.points, one, gathers),
        becomes=(("gathers folded out into a shoulder dart", gathers.excess),),
    )
    text = (
        f"Between its notches the {lower.kind} is {format_paper_mm(gathers.excess, unit)} longer than the yoke: "
        "gathers. They are folded out as a dart to the shoulder blade, which runs on through the yoke to the shoulder. "
        "Where its point lies is a guess: about a third of the armhole's height below the yoke."
    )
    return Laid(
        piece=piece,
        parts=(lower, inside, outside),
        seams=(laid,),
        notes=(Note("gathers-folded-out", text),),
    )


def _on_yoke(still: Seam, moving: Seam, gathers: _Gathers) -> float:
    """Where on the yoke's seam the middle of the gathers lies."""
    pairs = [(0.0, 0.0), *pairs_of(still, moving), (still.length, moving.length)]
    ends = [b for a, b in pairs if a in (gathers.start, gathers.end)]
    return float(np.mean(ends))


def _blade(lower: Piece, still: Seam, gathers: _Gathers) -> Points:
    """About where the shoulder blade stands out furthest: below the gathers."""
    top = still.at(np.array(gathers.legs)).mean(0)
    armhole = lower.edge("armhole").points
    deep = max(BLADE_SHARE * float(np.ptp(armhole[:, 1])), BLADE_LEAST_MM)
    return np.array([top[0], top[1] - deep])


def _cut_yoke(yoke: Piece, at: Points, way: Points) -> tuple[Piece, Piece]:
    """A yoke cut from a point of its seam up to the shoulder: the part next to the neck, and that next to the arm.

    Only the edges that stay outline are kept, each part's in order.
    """
    shoulder = yoke.edge("shoulder").points
    far, along = ray_crossings(shoulder, at, way)
    if len(far) == 0:
        raise InputError(
            "The gathers below the back yoke do not lie below its shoulder.", "Check the names of the yoke's edges."
        )
    size = nearest_on_line(shoulder, shoulder[-1])[1]
    cut = float(along[0])
    outer = _some(yoke, "shoulder", spaced(stretch(shoulder, 0.0, cut)))
    inner = _some(yoke, "shoulder", spaced(stretch(shoulder, cut, size)))
    order = edges_after(yoke, "yoke seam")
    k = [edge.name for edge in order].index("shoulder")
    return (
        replace(yoke, edges=(inner, *order[k + 1 :]), darts=()),
        replace(yoke, edges=(*order[:k], outer), darts=()),
    )


def _some(yoke: Piece, name: EdgeName, points: Points) -> Edge:
    return replace(bare(yoke.edge(name)), points=points, cut_points=points)


# ---------------------------------------------------------------- evidence


def _seam(
    lower: Piece,
    yoke: Piece,
    still: Seam,
    moving: Seam,
    line: Points,
    motion: Motion,
    gathers: _Gathers | None = None,
) -> SeamLaid:
    along = np.linspace(0.0, moving.length, max(8, int(moving.length / STEP_MM)))
    on = Seam(points=line, notches=np.array([]))
    upto = along if gathers is None else along * on.length / moving.length
    gap = np.abs(gap_along(on, motion.of(moving.at(along)), upto))
    most = int(np.argmax(gap))
    excess = 0.0 if gathers is None else gathers.excess
    met = []
    for a, b in pairs_of(still, moving):
        shut = a if gathers is None or a < gathers.end - 1e-6 else a - excess
        apart = on.at(np.array([shut]))[0] - motion.of(moving.at(np.array([b])))[0]
        met.append(NotchMet(apart_mm=float(np.hypot(*apart)), from_end_mm=b))
    return SeamLaid(
        seam="yoke seam",
        parts=(lower.kind, yoke.kind),
        lengths_mm=(still.length, moving.length),
        touches_mm=(0.0, moving.length),
        gap_mm=float(np.sqrt(np.mean(gap**2))),
        gap_most_mm=float(gap[most]),
        gap_most_at_mm=float(along[most]),
        eased_mm=still.length - excess - moving.length,
        notches=tuple(met),
        notches_alone=abs(len(still.notches) - len(moving.notches)),
        line=as_points(line),
    )
