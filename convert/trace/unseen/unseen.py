"""What a picture does not show of a piece: beyond the mat, out of the picture, under weights, torn off."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from calibration.ground.errors import Note
from calibration.ground.points import Points, resample
from convert.trace.edge.carry_on import carried_on
from convert.trace.edge.fairing import FairRing
from convert.trace.edge.ring import STEP_MM, sharp_turns
from convert.trace.ink.printing import Printing
from convert.trace.paper.mat_colour import LOG_OFFSET
from convert.trace.paper.paper import Paper
from convert.trace.paper.weights import Weight, under_weights
from convert.trace.tracing import TracedMark, Tracing
from convert.trace.unseen.damage import Damage

_BY_TAPE_MM = 1.0
_TEAR_BY_TAPE_MM = 10.0  # so near to tape, what runs into the edge is the tear for which the tape is there
_PRINTED_MM = 60.0  # of a line, by which a piece is printed and not only punched
_LIKE_INK = 0.3  # of the way from mat to paper: ink so near to the mat's colour
_HALF_A_LINE_MM = 0.35  # what is left of a printed cut line along the edge it was cut at
_MAT_LIKE_INK = Note(
    "mat-like-ink",
    "The print has much the same colour as the mat. If half of a printed cut line was left along the paper's edge, it "
    "does not show, and the outline lies up to half a millimetre too far in. To be sure, take the piece on a mat of "
    "another colour, and in colour.",
)
_RIM_MM = 1.6  # from where the mat or the picture ends


def at_rim(paper: Paper, points: Points) -> npt.NDArray[np.bool_]:
    """Which points (N, 2) lie where the mat or the picture ends: the paper goes on beyond, unseen."""
    height, width = paper.depth_mm.shape
    px = np.clip(np.rint(paper.work.to_px(points)).astype(int), 0, [width - 1, height - 1])
    return np.asarray(paper.depth_mm[px[:, 1], px[:, 0]] < _RIM_MM)


def at_tape(paper: Paper, points: Points, *, around_mm: float = _BY_TAPE_MM) -> npt.NDArray[np.bool_]:
    """Which points (N, 2) lie by clear tape that sticks out beyond the paper's edge."""
    if not paper.tape.any():
        return np.zeros(len(points), bool)
    beside = cv2.dilate(paper.tape.astype(np.uint8), paper.work.disc(around_mm))
    height, width = beside.shape
    px = np.clip(np.rint(paper.work.to_px(points)).astype(int), 0, [width - 1, height - 1])
    return np.asarray(beside[px[:, 1], px[:, 0]] > 0)


def mended(
    ring: FairRing, torn: npt.NDArray[np.bool_], hidden: npt.NDArray[np.bool_]
) -> tuple[Points, npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """Outline, corners and what is inferred of it, torn stretches drawn as they were before."""
    if not torn.any():
        return ring.points, ring.corners, hidden
    loose, new = carried_on(ring.points, torn)
    kept = ring.points[ring.corners][~torn[ring.corners]]
    fresh = [place for place in sharp_turns(loose) if new[np.argmin(((loose - place) ** 2).sum(1))]]
    places = np.vstack([kept, *[place[None] for place in fresh]])
    order = np.unique(cKDTree(loose).query(places)[1])
    pieces = np.split(np.roll(loose, -order[0], axis=0), order[1:] - order[0]) if len(order) else [loose]
    runs = [
        resample(np.vstack([a, b[:1]]), STEP_MM)[:-1] for a, b in zip(pieces, [*pieces[1:], pieces[0]], strict=True)
    ]
    outline = np.vstack(runs)
    corners = np.cumsum([0, *[len(run) for run in runs[:-1]]]).astype(np.int64)
    inferred = new[cKDTree(loose).query(outline)[1]] | hidden[cKDTree(ring.points).query(outline)[1]]
    return outline, corners, inferred


def in_the_open(marks: tuple[TracedMark, ...], paper: Paper, weights: tuple[Weight, ...]) -> tuple[TracedMark, ...]:
    """The marks that lie neither by a weight or tape nor where the picture or the mat ends."""
    at = np.array([mark.at for mark in marks]).reshape(-1, 2)
    hidden = under_weights(at, weights) | at_rim(paper, at) | at_tape(paper, at, around_mm=_TEAR_BY_TAPE_MM)
    return tuple(mark for mark, out in zip(marks, hidden, strict=True) if not out)


def whole_edge_only(notches: tuple[TracedMark, ...], ring: FairRing, damage: Damage) -> tuple[TracedMark, ...]:
    """The notches that do not lie on a torn stretch of the edge: a tear's teeth are none."""
    if not notches or not damage.torn.any():
        return notches
    near = cKDTree(ring.points).query(np.array([notch.at for notch in notches]))[1]
    return tuple(notch for notch, torn in zip(notches, damage.torn[near], strict=True) if not torn)


def less_sure_on_ink(tracing: Tracing, paper: Paper, mask: npt.NDArray[np.bool_], printing: Printing) -> Tracing:
    """The tracing of an edge without a printed rim, less sure of itself where the mat would hide one, with a note."""
    if not _looks_like_ink(paper, mask, printing):
        return tracing
    return replace(
        tracing,
        uncertainty_mm=float(np.hypot(tracing.uncertainty_mm, _HALF_A_LINE_MM)),
        notes=(*tracing.notes, _MAT_LIKE_INK),
    )


def _looks_like_ink(paper: Paper, mask: npt.NDArray[np.bool_], printing: Printing) -> bool:
    """Whether the mat has the colour of what is printed on a piece: half a cut line left on its edge would not show."""
    if not any(chain.drawn and chain.length > _PRINTED_MM for chain in printing.chains):
        return False
    mat, bare = (np.exp(np.median(field[mask], axis=0)) - LOG_OFFSET for field in (paper.mat, paper.paper))
    inked = bare * (1.0 - printing.ink.colour)
    return bool(np.abs(inked - mat).max() < _LIKE_INK * np.abs(bare - mat).max())


def notes_on(paper: Paper, ring: Points, weights: tuple[Weight, ...], tears: Points | None = None) -> tuple[Note, ...]:
    """What could not be seen of an outline, and where; ``tears`` (K, 2) are where it is torn."""
    notes = []
    rim = ring[at_rim(paper, ring)]
    if len(rim):
        off = rim.mean(0) - ring.mean(0)
        across = np.ptp(rim[:, 0]) < np.ptp(rim[:, 1])
        side = ("left", "right")[int(off[0] > 0)] if across else ("bottom", "top")[int(off[1] > 0)]
        notes.append(
            Note(
                "runs-off",
                f"The paper runs off the mat or out of the picture on the {side}; what lies beyond was not read. "
                "Lay the whole piece on the mat, or take overlapping pictures.",
            )
        )
    taped = ring[at_tape(paper, ring)]
    if len(taped):
        x, y = taped.mean(0) / 10
        text = (
            f"Tape sticks out beyond the paper near {x:.0f} cm across, {y:.0f} cm up; the edge under it is less sure."
        )
        notes.append(Note("tape-at-edge", text))
    for weight in weights:
        if np.hypot(*(ring - weight.centre).T).min() < weight.radius_mm:
            x, y = weight.centre / 10
            notes.append(
                Note(
                    "under-weight",
                    f"A weight hides the edge near {x:.0f} cm across, {y:.0f} cm up; it is inferred there.",
                )
            )
    for place in () if tears is None else tears:
        x, y = place / 10
        notes.append(
            Note("torn", f"The paper is torn near {x:.0f} cm across, {y:.0f} cm up; the edge is inferred there.")
        )
    return tuple(notes)
