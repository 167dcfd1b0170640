"""Two gores of a skirt laid together at the hip: darts above, flare below, which a block does not have."""

from dataclasses import dataclass, replace

import numpy as np
from shapely import LineString, Point

from calibration.errors import InputError, Note
from calibration.points import Points, length, lengths_along, nearest_on_line
from convert.piece.kinds import KINDS
from convert.piece.meeting import stretch, unit
from convert.piece.offset import spaced
from convert.piece.piece import Edge, Piece
from convert.piece.together.assembled import bare, darts_in, edges_after, piece_of, strung
from convert.piece.together.motion import Motion, carried
from convert.piece.together.panels import Laid, seam_laid
from convert.piece.together.seams import (
    FITS_MM,
    STEP_MM,
    Seam,
    Touching,
    gap_along,
    offset_of,
    pairs_of,
    parts_at,
    point_of_dart,
    seam_of,
    touching,
)

HIP_MM = (120.0, 260.0)
"""Where the hip may lie below the waist, along the seam (a grown person's; common practice)."""
LEAST_TOUCH_MM = 40.0  # a shorter stretch that touches tells the direction less well than the grain
START_MM = 30.0
FLARE_MM = 4.0  # less flare at the hem than this is no flare


def gores_laid(centre: Piece, side: Piece) -> Laid:
    """Both gores upright, the centre to the left: they touch at the hip, grains parallel.

    Where they touch for long enough, that seam gives the direction, being surer than two printed arrows; else the
    grain does. Above, what opens is a dart; below, what lies outside the line carried straight on is flare and dropped.
    """
    still = seam_of(centre, "panel seam", backwards=True)
    moving = seam_of(side, "panel seam", backwards=False)
    laid = _at_hip(still, moving, side)
    there = carried(side, laid.motion)
    parting, point = _dart(still, moving, laid)
    line = _down(still, laid)
    kept, ends = [], []
    for part in (centre, there):
        trimmed, flare = _without_flare(part, line)
        kept.append(trimmed)
        ends.append(flare)
    ring = strung([_above(kept[0]), _above(kept[1])])
    at_waist = [mouth for mouth in ring.mouths if mouth[0] == "waist"]
    if len(at_waist) != len(ring.mouths) or (at_waist and point is None):
        raise InputError(
            "The gores do not meet below the hip.", "Check that both are of one size and lie the right way round."
        )
    new = [] if point is None else darts_in(ring, point)
    piece = piece_of(
        KINDS[centre.kind].whole, ring, (centre, there), (*centre.darts, *there.darts, *new), joined=("panel seam",)
    )
    seam = seam_laid(centre, side, still, moving, _up_to_hip(laid), None, new)
    seam = replace(seam, touches_mm=(parting if parting is not None else 0.0, laid.span[1]))
    flare_mm = sum(ends)
    notes = (_flare_note(piece, flare_mm),) if flare_mm > FLARE_MM else ()
    return Laid(piece=piece, parts=(centre, there), seams=(seam,), notes=notes)


def _above(part: Piece) -> list[Edge]:
    return edges_after(part, "panel seam")


def _flare_note(piece: Piece, flare_mm: float) -> Note:
    return Note(
        "flare-dropped",
        f"The gores of the {piece.kind} flare below the hip by {flare_mm / 10:.1f} cm in all at their seam. A block has "
        "no flare there: it is taken off straight down from the hip.",
    )


def _at_hip(still: Seam, moving: Seam, side: Piece) -> Touching:
    """The gores laid together where they touch; with their grains parallel, where they hardly do."""
    straight = _grain_parallel(still, moving, still.length)
    start = _closest(straight)
    laid = touching(still, moving, start)
    if laid.span[1] - laid.span[0] >= LEAST_TOUCH_MM:
        return laid
    return replace(straight, span=start)


def _grain_parallel(still: Seam, moving: Seam, size: float) -> Touching:
    """Both grains upright: the side gore is only shifted, until it touches at the hip without lying over."""
    along = np.linspace(0.0, size, max(8, int(size / STEP_MM)) + 1)
    offset = offset_of(still, moving, (0.0, size))
    shift = np.zeros(2)
    hip = (along >= HIP_MM[0]) & (along <= min(HIP_MM[1], 0.6 * size))
    shift = np.median(still.at(along[hip]) - moving.at(along[hip] + offset), axis=0)
    for _ in range(4):
        motion = Motion(shift=shift)
        gap = gap_along(still, motion.of(moving.at(along + offset)), along)
        middle = gap[hip]
        shift = shift - np.array([float(np.median(middle[np.abs(middle - np.median(middle)) < 2.0])), 0.0])
    motion = Motion(shift=shift)
    gap = gap_along(still, motion.of(moving.at(along + offset)), along)
    return Touching(motion=motion, span=(0.0, size), offset=offset, along=along, gap=gap)


def _closest(laid: Touching) -> tuple[float, float]:
    """The short stretch about the hip where the gores fit best."""
    best, found = np.inf, (HIP_MM[0], HIP_MM[0] + START_MM)
    for a in np.arange(60.0, HIP_MM[1], 5.0):
        own = (laid.along >= a) & (laid.along <= a + START_MM)
        if own.sum() > 3 and float(np.ptp(laid.gap[own])) < best - 0.05:
            best, found = float(np.ptp(laid.gap[own])), (float(a), float(a) + START_MM)
    return found


def _dart(still: Seam, moving: Seam, laid: Touching) -> tuple[float | None, Points | None]:
    """Where the dart above the hip has its point; None if the gores touch right up to the waist."""
    parting = parts_at(laid, below=False)
    if parting is None:
        return None, None
    one = stretch(still.points, 0.0, max(parting, 10.0))[::-1]
    other = stretch(laid.motion.of(moving.points), 0.0, max(parting + laid.offset, 10.0))[::-1]
    point = point_of_dart(one, other, (one[0] + other[0]) / 2)
    return nearest_on_line(still.points, point)[1], point


def _up_to_hip(laid: Touching) -> Touching:
    return laid


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """A straight line down from the hip: a point on it and its direction."""

    at: Points
    way: Points


def _down(still: Seam, laid: Touching) -> _Line:
    """The line in which the seam runs on below the hip: that of the stretch that touches, near the grain's."""
    part = stretch(still.points, laid.span[0], max(laid.span[1], laid.span[0] + 2.0))
    at = still.at(np.array([laid.span[1]]))[0]
    way = np.array([0.0, -1.0])
    if length(part) >= LEAST_TOUCH_MM:
        middle = part.mean(0)
        axis = np.linalg.svd(part - middle, full_matrices=False)[2][0]
        axis = axis if axis[1] < 0 else -axis
        lean = float(np.degrees(np.arctan2(axis[0], -axis[1])))
        if abs(lean) < STRAIGHT_DOWN_DEG:
            way = unit(axis)
            at = middle
    return _Line(at=at, way=way)


STRAIGHT_DOWN_DEG = 4.0  # a seam that leans more against the grain at the hip is not carried on down


def _without_flare(part: Piece, line: _Line) -> tuple[Piece, float]:
    """A gore whose hem ends on the line down from the hip, and how much of the hem was taken off there."""
    hem, seam = part.edge("hem"), part.edge("panel seam")
    at_end = np.hypot(*(hem.points[-1] - seam.points[0])) < np.hypot(*(hem.points[0] - seam.points[-1]))
    reach = LineString([line.at - 2000.0 * line.way, line.at + 2000.0 * line.way])
    path = LineString(hem.points)
    met = path.intersection(reach)
    if met.is_empty:
        return part, 0.0
    cut = path.project(Point(getattr(met, "geoms", [met])[0].coords[0]))
    size = float(lengths_along(hem.points)[-1])
    points = stretch(hem.points, 0.0, cut) if at_end else stretch(hem.points, cut, size)
    flare = size - cut if at_end else cut
    kept = replace(bare(hem), points=spaced(points), cut_points=spaced(points))
    edges = tuple(kept if edge.name == "hem" else edge for edge in part.edges)
    return replace(part, edges=edges), flare
