"""Two panels of a bodice, or two gores of a skirt, laid together along the seam between them."""

from collections.abc import Sequence

import numpy as np

from calibration.ground.errors import InputError
from calibration.ground.points import Points, nearest_on_line
from convert.piece.names.kinds import KINDS
from convert.piece.outline.meeting import stretch
from convert.piece.piece import Dart, Piece
from convert.piece.together.assembled import darts_in, edges_after, piece_of, strung
from convert.piece.together.evidence import NotchMet, SeamLaid
from convert.piece.together.laid import Laid
from convert.piece.together.motion import Motion, about, carried
from convert.piece.together.seams import (
    Seam,
    Touching,
    pairs_of,
    parts_at,
    point_of_dart,
    seam_of,
    touching,
)
from convert.piece.width_words import Unit

ABOVE_SHARE = 0.3  # without notches, the upper part of a panel seam that is laid together first (our choice)
LEAST_START_MM = 25.0  # two seams shorter than this tell no direction


def panels_laid(centre: Piece, side: Piece, _unit: Unit = "cm", *, opens_above_mm: float = 0.0) -> Laid:
    """A centre and a side panel, touching from the notch above the bust upward; where they part below is a dart.

    Both are upright, the centre to the left. ``opens_above_mm`` (told) opens the seam's upper end by so much about the
    dart's point, which leaves a dart above as well and takes it from the one below.

    Raises
    ------
    InputError
        If the two seams don't touch anywhere.
    """
    still = seam_of(centre, "panel seam", backwards=True)
    moving = seam_of(side, "panel seam", backwards=False)
    laid = touching(still, moving, _start(still, moving))
    parting = parts_at(laid, below=True)
    motion, point = laid.motion, None
    if parting is not None:
        point = _point(still, moving, laid, parting)
        parting = nearest_on_line(still.points, point)[1]
        if opens_above_mm > 0:
            far = float(np.hypot(*(still.points[0] - point)))
            motion = _then(motion, about(point, -2.0 * float(np.arcsin(min(1.0, opens_above_mm / 2.0 / far)))))
    there = carried(side, motion)
    ring = strung([edges_after(centre, "panel seam"), edges_after(there, "panel seam")])
    new = darts_in(ring, point) if point is not None else _without_point(ring.mouths)
    piece = piece_of(
        KINDS[centre.kind].whole, ring, (centre, there), (*centre.darts, *there.darts, *new), joined=("panel seam",)
    )
    seam = seam_laid(centre, side, still, moving, laid, parting, new)
    return Laid(piece=piece, parts=(centre, there), seams=(seam,))


def _without_point(mouths: Sequence[object]) -> list[Dart]:
    if mouths:
        raise InputError(
            "The two panels lie apart at one end of their seam, and do not meet as a dart does.",
            "Check that both are of one size, and their panel seams' ends.",
        )
    return []


def _then(first: Motion, second: Motion) -> Motion:
    return Motion(turn=first.turn + second.turn, shift=second.of(first.shift))


def _start(still: Seam, moving: Seam) -> tuple[float, float]:
    """The stretch laid together first: from the notch above the bust to the upper end."""
    pairs = [a for a, _ in pairs_of(still, moving)]
    above = [a for a in pairs if LEAST_START_MM < a < 0.62 * still.length]
    return (0.0, max(above[0] if above else ABOVE_SHARE * still.length, LEAST_START_MM))


def _point(still: Seam, moving: Seam, laid: Touching, parting: float) -> Points:
    """The dart's point, from both legs."""
    one = stretch(still.points, parting, still.length)
    there = laid.motion.of(moving.points)
    other = stretch(there, min(parting + laid.offset, moving.length - 1.0), moving.length)
    near = (one[0] + other[0]) / 2
    return point_of_dart(one, other, near)


def seam_laid(
    first: Piece,
    second: Piece,
    still: Seam,
    moving: Seam,
    laid: Touching,
    parting: float | None,
    darts: Sequence[Dart],
) -> SeamLaid:
    """What laying two seams together showed."""
    end = min(laid.span[1] if parting is None else parting, still.length)
    own = laid.inside
    gap, along = np.abs(laid.gap[own]), laid.along[own]
    pairs = pairs_of(still, moving)
    met = tuple(_met(still, moving, laid, a, b, a > end + 1.0) for a, b in pairs)
    most = int(np.argmax(gap)) if len(gap) else 0
    return SeamLaid(
        seam="panel seam",
        parts=(first.kind, second.kind),
        lengths_mm=(still.length, moving.length),
        touches_mm=(laid.span[0], end),
        gap_mm=float(np.sqrt(np.mean(gap**2))) if len(gap) else 0.0,
        gap_most_mm=float(gap[most]) if len(gap) else 0.0,
        gap_most_at_mm=float(along[most]) if len(gap) else 0.0,
        eased_mm=_eased(still, moving, laid, end),
        notches=met,
        notches_alone=abs(len(still.notches) - len(moving.notches)),
        becomes=tuple((f"dart at the {dart.on}", dart.intake) for dart in darts),
        line=stretch(still.points, laid.span[0], max(end, laid.span[0] + 1.0)),
    )


def _met(still: Seam, moving: Seam, laid: Touching, a: float, b: float, beyond: bool) -> NotchMet:
    """How near two notches come; beyond where the parts touch, by how much they lie at other places of their seams."""
    apart = still.at(np.array([a]))[0] - laid.motion.of(moving.at(np.array([b])))[0]
    mm = abs(b - a - laid.offset) if beyond else float(np.hypot(*apart))
    return NotchMet(apart_mm=mm, from_end_mm=a, in_dart=beyond)


def _eased(still: Seam, moving: Seam, laid: Touching, end: float) -> float:
    """How much longer the moving seam is than the other where they touch, from the first to the last pair there."""
    pairs = [(a, b) for a, b in pairs_of(still, moving) if laid.span[0] - 1.0 <= a <= end + 1.0]
    if laid.span[0] < 1.0:
        pairs = [(0.0, 0.0), *pairs]
    return float((pairs[-1][1] - pairs[0][1]) - (pairs[-1][0] - pairs[0][0])) if len(pairs) > 1 else 0.0
