"""Two gores of a skirt laid together at the hip: darts above, flare below, which a block does not have."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from shapely import LineString, Point

from calibration.ground.errors import InputError, Note
from calibration.ground.points import Points, lengths_along, nearest_on_line
from convert.piece.allowance.offset import spaced
from convert.piece.names.kinds import KINDS
from convert.piece.outline.meeting import stretch
from convert.piece.piece import Edge, Piece
from convert.piece.together.assembled import bare, darts_in, edges_after, piece_of, strung
from convert.piece.together.laid import Laid
from convert.piece.together.motion import Motion, carried, fitted
from convert.piece.together.panels import seam_laid
from convert.piece.together.seams import (
    FITS_MM,
    STEP_MM,
    Seam,
    Touching,
    gap_along,
    offset_of,
    parts_at,
    point_of_dart,
    seam_of,
)
from convert.piece.width_words import Unit, format_paper_mm

HIP_MM = (90.0, 270.0)
"""Where the gores may touch, from a little above the hip to a little below, along the seam (common practice)."""
USUAL_HIP_MM = 205.0  # waist to hip, of a grown person (common practice)
START_MM = 30.0
FLAT = 0.05  # of gap for each millimetre of seam: seams that part faster do not run together
FLARE_MM = 4.0  # less flare at the hem than this is no flare


def gores_laid(centre: Piece, side: Piece, unit: Unit = "cm") -> Laid:
    """Both gores upright, the centre to the left: they touch at the hip, grains parallel.

    The seam where they touch is short and rounded at both ends, so the printed grains give the direction. Above, what
    opens is a dart; below, what lies beyond the line straight down is flare and dropped.
    """
    still = seam_of(centre, "panel seam", backwards=True)
    moving = seam_of(side, "panel seam", backwards=False)
    printed = not any(note.code == "grain-deduced" for note in (*centre.notes, *side.notes))
    laid = _at_hip(still, moving, grain=printed)
    there = carried(side, laid.motion)
    parting, point = _dart(still, moving, laid)
    hip = _touching_point(still, laid)
    kept, ends = [], []
    for part in (centre, there):
        trimmed, flare = _without_flare(part, hip)
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
    seam = seam_laid(centre, side, still, moving, laid, None, new)
    seam = replace(seam, touches_mm=(parting if parting is not None else 0.0, laid.span[1]))
    flare_mm = sum(ends)
    notes = (_flare_note(piece, flare_mm, unit),) if flare_mm > FLARE_MM else ()
    return Laid(piece=piece, parts=(centre, there), seams=(seam,), notes=notes)


def _above(part: Piece) -> list[Edge]:
    return edges_after(part, "panel seam")


def _flare_note(piece: Piece, flare_mm: float, unit: Unit) -> Note:
    return Note(
        "flare-dropped",
        f"The gores of the {piece.kind} flare below the hip by {format_paper_mm(flare_mm, unit)} in all at their seam. "
        "A block has no flare there: it is taken off straight down from the hip.",
    )


def _at_hip(still: Seam, moving: Seam, *, grain: bool) -> Touching:
    """The gores laid together at the hip, grains parallel; by their seams alone where one has no printed grain."""
    size = min(still.length, moving.length)
    along = np.linspace(0.0, size, max(8, int(size / STEP_MM)) + 1)
    offset = offset_of(still, moving, (0.0, HIP_MM[1]))
    motion, span = Motion(), (HIP_MM[0], HIP_MM[1])
    for _ in range(4):  # shifting sideways changes where the seams are compared a little
        gap = gap_along(still, motion.of(moving.at(along + offset)), along)
        span = _flattest(along, gap)
        own = (along >= span[0]) & (along <= span[1])
        if grain:
            apart = still.at(along[own]) - motion.of(moving.at(along[own] + offset))
            motion = Motion(shift=motion.shift + apart.mean(0))
        else:
            motion = fitted(moving.at(along[own] + offset), still.at(along[own]))
    gap = gap_along(still, motion.of(moving.at(along + offset)), along)
    fits = np.flatnonzero(np.abs(gap) > FITS_MM)
    above, below = fits[along[fits] < span[0]], fits[along[fits] > span[1]]
    span = (
        float(along[above[-1] + 1]) if len(above) else 0.0,
        float(along[below[0] - 1]) if len(below) else size,
    )
    return Touching(motion=motion, span=span, offset=offset, along=along, gap=gap)


def _flattest(along: npt.NDArray[np.float64], gap: npt.NDArray[np.float64]) -> tuple[float, float]:
    """The short stretch about the hip over which the gap between two gores changes least: there they run together."""
    best, found = np.inf, (USUAL_HIP_MM - START_MM / 2, USUAL_HIP_MM + START_MM / 2)
    for a in np.arange(HIP_MM[0], HIP_MM[1] - START_MM, 5.0):
        own = (along >= a) & (along <= a + START_MM)
        if own.sum() < 4:
            continue
        slope = abs(float(np.polyfit(along[own], gap[own], 1)[0]))
        if slope < min(best - 1e-3, FLAT):
            best, found = slope, (float(a), float(a) + START_MM)
    return found


def _touching_point(still: Seam, laid: Touching) -> Points:
    """Where the gores touch at the hip: the middle of where the gap is least."""
    span = _flattest(laid.along, laid.gap)
    found: Points = still.at(np.array([sum(span) / 2]))[0]
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


def _without_flare(part: Piece, hip: Points) -> tuple[Piece, float]:
    """A gore whose hem ends straight below the hip point (2,), and how much of the hem was taken off there."""
    hem, seam = part.edge("hem"), part.edge("panel seam")
    at_end = np.hypot(*(hem.points[-1] - seam.points[0])) < np.hypot(*(hem.points[0] - seam.points[-1]))
    reach = LineString([hip, hip - [0.0, 3000.0]])
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
