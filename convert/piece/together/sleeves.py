"""An under sleeve laid along both seams of its upper sleeve: a sleeve in one part."""

import itertools
from dataclasses import replace

import numpy as np
from shapely import LineString, Point

from calibration.ground.errors import InputError
from calibration.ground.plane import meet, unit
from calibration.ground.points import Points, as_points, length, lengths_along, resample
from convert.piece.allowance.offset import APART_STRAIGHT_MM, spaced
from convert.piece.outline.meeting import stretch
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Piece
from convert.piece.together.assembled import bare, piece_of, strung
from convert.piece.together.evidence import NotchMet, SeamLaid
from convert.piece.together.laid import Laid
from convert.piece.together.motion import Motion, carried, fitted
from convert.piece.together.seams import STEP_MM, Seam, gap_along, pairs_of, seam_of
from convert.piece.width_words import Unit

ELBOW_MM = 4.0
"""A back seam that is longer than its partner by less is eased in; by more, the difference is an elbow dart."""
ELBOW_SHARE = 0.55  # of the back seam from its upper end, where no notch says where the elbow is (common practice)
NEAR_MM, BESIDE_MM = 3.0, 25.0  # beside a corner of the wrist: past what is rounded, before it bends
LEAST_TURN_DEG = 4.0
OFF_LOWEST_MM = 25.0  # so far from the lowest point of the hollow the underarm may lie
DART_SHARE = 0.6  # how far an elbow dart reaches from the underarm line towards the seam it came from (our choice)


def sleeve_laid(upper: Piece, under: Piece, _unit: Unit = "cm") -> Laid:
    """The one-part sleeve: the under sleeve cut down its underarm line, each strip laid along its seam.

    Both are upright, the upper sleeve's front to the right, the under sleeve's to the left. Where the upper sleeve's
    back seam is longer than can be eased, the back strip is cut across at the elbow as well, and what opens there at
    the underarm line is the elbow dart.

    Raises
    ------
    InputError
        If the under sleeve's underarm line does not run from its cap to its wrist.
    """
    front, back = strips_of(under)
    front_seam = seam_of(upper, "front seam", backwards=True), seam_of(under, "front seam", backwards=False)
    back_seam = seam_of(upper, "back seam", backwards=False), seam_of(under, "back seam", backwards=True)
    front_motion = _laid_on(*front_seam, (0.0, 1.0))
    longer = back_seam[0].length - back_seam[1].length
    evidence = [_seam(upper, under, "front seam", *front_seam, front_motion)]
    there = carried(front, front_motion)
    first = [there.edge("wrist"), there.edge("underarm seam front"), there.edge("cap")]
    if longer <= ELBOW_MM:
        motion = _laid_on(*back_seam, (0.0, 1.0))
        behind = carried(back, motion)
        chains = [[behind.edge("cap"), behind.edge("underarm seam back"), behind.edge("wrist")]]
        evidence.append(_seam(upper, under, "back seam", *back_seam, motion))
        elbow: list[Points] = []
    else:
        chains, elbow, motion = _cut_at_elbow(back, *back_seam)
        seam = _seam(upper, under, "back seam", *back_seam, motion)
        evidence.append(replace(seam, becomes=(("elbow dart", longer),), gap_mm=0.0, gap_most_mm=0.0))
        behind = back
    ring = strung([first, [upper.edge("cap")], *chains, [upper.edge("wrist")]])
    darts = [
        Dart(on=name, apexes=legs.mean(0) + DART_SHARE * (elbow[0] - legs.mean(0)), legs=legs, evidence="deduced")
        for name, legs in ring.mouths
        if name == "underarm seam back" and elbow
    ]
    piece = piece_of("sleeve", ring, (upper, there, behind), darts, joined=("front seam", "back seam"))
    return Laid(piece=piece, parts=(upper, there, behind), seams=tuple(evidence))


def _laid_on(still: Seam, moving: Seam, share: tuple[float, float]) -> Motion:
    """One seam laid on another over a share of both, from end to end."""
    count = max(int(still.length * (share[1] - share[0]) / STEP_MM), 8)
    where = np.linspace(*share, count)
    return fitted(moving.at(where * moving.length), still.at(where * still.length))


# ---------------------------------------------------------------- the underarm line


def strips_of(under: Piece) -> tuple[Piece, Piece]:
    """The front and the back strip of an under sleeve, cut down its underarm line along the grain."""
    across = underarm_of(under)
    cap, wrist = under.edge("cap"), under.edge("wrist")
    top, bottom = _met(cap, across), _met(wrist, across)
    line = resample(np.array([bottom, top]), APART_STRAIGHT_MM)
    why = Allowance(mm=0.0, evidence="deduced", why="The under sleeve is cut down its underarm line.")
    up = Edge(name="underarm seam front", points=line, cut_points=line, allowance=why)
    down = Edge(name="underarm seam back", points=line[::-1], cut_points=line[::-1], allowance=why)
    front = (_part(wrist, None, bottom), up, _part(cap, top, None), bare(under.edge("front seam")))
    back = (_part(wrist, bottom, None), bare(under.edge("back seam")), _part(cap, None, top), down)
    marks = [mark for mark in under.marks if mark.kind != "grain-end"]
    return (
        replace(under, edges=front, marks=tuple(mark for mark in marks if mark.at[0] < across)),
        replace(under, edges=back, marks=tuple(mark for mark in marks if mark.at[0] >= across)),
    )


def underarm_of(under: Piece) -> float:
    """Where the underarm line of an upright under sleeve runs, as x.

    The two halves of a sleeve's hem meet there at an angle, which shows; where they don't, it is the lowest point of
    the hollow at its top.
    """
    cap = under.edge("cap").points
    lowest = float(cap[np.argmin(cap[:, 1]), 0])
    corner = _corner_of(under.edge("wrist").points)
    return corner if corner is not None and abs(corner - lowest) < OFF_LOWEST_MM else lowest


def _corner_of(wrist: Points) -> float | None:
    """The x of a corner within a wrist edge; None if it runs smooth."""
    size = length(wrist)
    best, found = LEAST_TURN_DEG, None
    for s in np.arange(BESIDE_MM, size - BESIDE_MM, 1.0):
        sides = [stretch(wrist, s - BESIDE_MM, s - NEAR_MM), stretch(wrist, s + NEAR_MM, s + BESIDE_MM)]
        u, v = (unit(side[-1] - side[0]) for side in sides)
        turn = abs(float(np.degrees(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v))))
        at = meet(sides[0][-1], u, sides[1][0], v)
        if turn > best and at is not None:
            best, found = turn, _curves_meet(sides[0], sides[1], float(at[0]))
    return found


def _curves_meet(one: Points, other: Points, near: float) -> float:
    """The x where two slightly bent sides of a corner meet, each carried on as a parabola."""
    apart = np.polyfit(one[:, 0], one[:, 1], 2) - np.polyfit(other[:, 0], other[:, 1], 2)
    roots = np.roots(apart)
    real = roots[np.abs(roots.imag) < 1e-6].real
    at = min(real, key=lambda x: abs(x - near), default=near)
    return float(at) if abs(at - near) < NEAR_MM else near


def _met(edge: Edge, across: float) -> Points:
    line = LineString(edge.points)
    low, high = float(edge.points[:, 1].min()) - 1.0, float(edge.points[:, 1].max()) + 1.0
    met = line.intersection(LineString([(across, low), (across, high)]))
    if met.is_empty:
        raise InputError(
            f"The under sleeve's underarm line does not meet its {edge.name}.",
            "Check its grainline, and the names of its edges.",
        )
    return np.asarray(getattr(met, "geoms", [met])[0].coords[0])


def _part(edge: Edge, start: Points | None, end: Points | None) -> Edge:
    """An edge from a point on it, or up to one."""
    line = LineString(edge.points)
    a = 0.0 if start is None else line.project(Point(start))
    b = float(lengths_along(edge.points)[-1]) if end is None else line.project(Point(end))
    points = spaced(stretch(edge.points, a, b))
    return replace(bare(edge), points=points, cut_points=points)


# ---------------------------------------------------------------- the elbow


def _cut_at_elbow(back: Piece, still: Seam, moving: Seam) -> tuple[list[list[Edge]], list[Points], Motion]:
    """The back strip cut across at the elbow, its upper part laid from above, its lower part from below.

    Returns both chains, the elbow on the upper sleeve's seam, and the upper part's motion.
    """
    elbow = _elbow(still, moving)
    above = fitted(*_facing(still, moving, 0.0, elbow, from_end=False))
    below = fitted(*_facing(still, moving, elbow, moving.length, from_end=True))
    line = back.edge("underarm seam back")
    level = float(moving.at(np.array([elbow]))[0][1])
    on_line = np.array([line.points[0, 0], np.clip(level, line.points[-1, 1] + 5.0, line.points[0, 1] - 5.0)])
    upper = [back.edge("cap"), _part(line, None, on_line)]
    lower = [_part(line, on_line, None), back.edge("wrist")]
    chains = [
        [replace(edge, points=motion.of(edge.points), cut_points=motion.of(edge.cut_points)) for edge in chain]
        for motion, chain in ((above, upper), (below, lower))
    ]
    longer = still.length - moving.length
    return chains, [still.at(np.array([elbow + longer / 2]))[0]], above


def _elbow(still: Seam, moving: Seam) -> float:
    """Where the elbow is, from the seam's upper end: midway between the notches between which it is eased."""
    pairs = [(0.0, 0.0), *pairs_of(still, moving), (still.length, moving.length)]
    longer = [(a1 - a0) - (b1 - b0) for (a0, b0), (a1, b1) in itertools.pairwise(pairs)]
    k = int(np.argmax(longer))
    if len(pairs) > 2 and longer[k] > 0.5 * sum(longer):
        return (pairs[k][1] + pairs[k + 1][1]) / 2
    return ELBOW_SHARE * moving.length


def _facing(still: Seam, moving: Seam, start: float, end: float, *, from_end: bool) -> tuple[Points, Points]:
    """Points of a stretch of the moving seam, and of the still one as far from its end (or from its beginning)."""
    where = np.linspace(start, end, max(8, int((end - start) / STEP_MM)))
    return moving.at(where), still.at(where + (still.length - moving.length if from_end else 0.0))


# ---------------------------------------------------------------- evidence


def _seam(upper: Piece, under: Piece, name: EdgeName, still: Seam, moving: Seam, motion: Motion) -> SeamLaid:
    along = np.linspace(0.0, still.length, int(still.length / STEP_MM))
    gap = np.abs(gap_along(still, motion.of(moving.at(along * moving.length / still.length)), along))
    most = int(np.argmax(gap))
    pairs = pairs_of(still, moving)
    return SeamLaid(
        seam=name,
        parts=(upper.kind, under.kind),
        lengths_mm=(still.length, moving.length),
        touches_mm=(0.0, still.length),
        gap_mm=float(np.sqrt(np.mean(gap**2))),
        gap_most_mm=float(gap[most]),
        gap_most_at_mm=float(along[most]),
        eased_mm=moving.length - still.length,
        notches=tuple(
            NotchMet(
                apart_mm=float(np.hypot(*(still.at(np.array([a]))[0] - motion.of(moving.at(np.array([b])))[0]))),
                from_end_mm=a,
            )
            for a, b in pairs
        ),
        notches_alone=abs(len(still.notches) - len(moving.notches)),
        line=as_points(still.points),
    )
