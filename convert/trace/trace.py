"""Reading a flat sheet: each piece of paper on it, with its outline and its marks."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.ground.errors import InputError, Note
from calibration.sheet.flatten import FlatSheet
from convert.trace.cuts.holes import find_holes
from convert.trace.cuts.notch_shapes import read_notches
from convert.trace.cuts.slits import find_slits
from convert.trace.ink.printing import Printing, find_printing
from convert.trace.nest.nest import LineLost, PrintedCut, drawn_round, printed_cut_line
from convert.trace.paper.paper import Paper, find_papers
from convert.trace.paper.squares import is_square_of_mat
from convert.trace.paper.weights import Weight, find_weights, under_weights
from convert.trace.printed.with_print import with_print
from convert.trace.tracing import TracedLine, TracedMark, Tracing
from convert.trace.unseen.damage import find_damage
from convert.trace.unseen.follow import follow_edge
from convert.trace.unseen.soundness import doubts
from convert.trace.unseen.unseen import (
    at_rim,
    at_tape,
    in_the_open,
    less_sure_on_ink,
    mended,
    notes_on,
    whole_edge_only,
)

_FEW = 0.05  # of an outline, that may be inferred without making 95 of 100 points of it less sure
_BUNDLE_MM = 0.6  # from the middle of sizes' lines that run as one to the one that was asked for: their width


def trace(sheet: FlatSheet, *, size: int | str | None = None) -> tuple[Tracing, ...]:
    """Every piece of paper on a sheet, left to right as it lies.

    Parameters
    ----------
    size : int or str, optional
        Of nested sizes, 1 being the innermost, or the number printed beside the line.

    Raises
    ------
    InputError
        If there is no paper, or it can't be told from the mat.
    """
    return tuple(tracing for tracing, _ in _traced(sheet, size))


def trace_with_print(sheet: FlatSheet, *, size: int | str | None = None) -> tuple[Tracing, ...]:
    """As :func:`trace`, with what is printed on each piece read as well; its ink is looked for only once."""
    return tuple(with_print(sheet, tracing, printing=printing) for tracing, printing in _traced(sheet, size))


def _traced(sheet: FlatSheet, size: int | str | None) -> list[tuple[Tracing, Printing | None]]:
    """Each piece with its printing, where that is the same inside the outline as on all the paper."""
    papers = find_papers(sheet)
    found = [piece for paper in papers for piece in _traced_on(sheet, paper, size)]
    pieces = [piece for piece in found if not is_square_of_mat(piece[0].outline, sheet)]
    if not pieces:
        raise InputError(
            "No paper can be told from the mat: what was found is a square of the mat itself.",
            "Lay the piece on a mat or a table cloth of another colour, or a sheet of dark paper under thin tissue.",
        )
    pieces.sort(key=lambda piece: float((piece[0].outline.min(0) + piece[0].outline.max(0))[0]))
    return [(replace(cut, label=_label(index, len(pieces))), printing) for index, (cut, printing) in enumerate(pieces)]


def _traced_on(sheet: FlatSheet, paper: Paper, size: int | str | None) -> list[tuple[Tracing, Printing | None]]:
    """The pieces of one kind of paper."""
    pieces: list[tuple[Tracing, Printing | None]] = []
    with ThreadPoolExecutor(max_workers=1) as beside:  # ink and holes are looked for while the edge is followed
        found = [beside.submit(_printing, sheet, mask) for mask in paper.masks]
        holes = [beside.submit(find_holes, sheet, paper, mask) for mask in paper.masks]
        weights = find_weights(paper.work, paper.masks, paper.share)
        for index in range(len(found)):
            cut, rim_mm = _trace_piece(sheet, paper, weights, index, holes[index].result)
            mask, (full, printing) = paper.masks[index], found[index].result()
            if rim_mm == 0 or size is not None or drawn_round(printing, cut.outline):
                printed, lost = _cut_line(sheet, full, printing, size, edge_printed=rim_mm > 0)
                if printed is not None:
                    pieces.append((_on_uncut(paper, weights, mask, printed, cut), None))
                    continue
                cut = replace(cut, notes=(*cut.notes, *lost))
            pieces.append((less_sure_on_ink(cut, paper, mask, printing) if rim_mm == 0 else cut, printing))
    return pieces


def _printing(sheet: FlatSheet, mask: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.bool_], Printing]:
    """A piece's mask on the sheet's own raster, and what is printed there."""
    height, width = sheet.pixels.shape[:2]
    full = cv2.resize(mask.astype(np.uint8), (width, height), interpolation=cv2.INTER_NEAREST) > 0
    return full, find_printing(sheet, full)


def _cut_line(
    sheet: FlatSheet,
    full: npt.NDArray[np.bool_],
    printing: Printing,
    size: int | str | None,
    *,
    edge_printed: bool,
) -> tuple[PrintedCut | None, tuple[Note, ...]]:
    """The printed cut line of an uncut sheet, None where none is printed; and what is to be said where it is lost.

    ``edge_printed``: the paper's edge looks as if it was cut along a printed line, so that other lines may be anything.
    """
    try:
        return printed_cut_line(sheet, full, size, printing=printing), ()
    except InputError as err:
        if size is None and edge_printed:
            return None, ()
        if size is None and isinstance(err, LineLost):
            return None, (_line_lost(err),)
        raise


def _on_uncut(
    paper: Paper,
    weights: tuple[Weight, ...],
    mask: npt.NDArray[np.bool_],
    printed: PrintedCut,
    cut: Tracing,
) -> Tracing:
    """The printed cut line of an uncut sheet in place of the paper's edge.

    Of what could not be seen, only what lies on that line matters: the sheet may run off the mat and be cut roughly.
    """
    ring = printed.outline
    beyond = at_rim(paper, ring)
    doubtful = doubts(ring, printed.corners, mask, paper.work)
    unsure = printed.inferred.mean() > _FEW
    return replace(
        cut,
        outline=ring,
        uncertainty_mm=float(np.hypot(cut.uncertainty_mm, _BUNDLE_MM if unsure else 0.0)),
        corners=printed.corners,
        inferred=printed.inferred | under_weights(ring, weights) | beyond,
        lines=printed.lines,
        nested=printed.sizes > 1,
        marks=printed.notches,
        complete=not beyond.any() and not doubtful,
        notes=notes_on(paper, ring, weights) + doubtful + printed.notes,
    )


def _line_lost(err: LineLost) -> Note:
    """That a line was seen which may be the cut line, but not read."""
    return Note(
        "printed-line-lost",
        f"{err.problem} So the paper's own edge is taken for the cut line. If the paper was not cut along the line, "
        "photograph it nearer and sharper, or tell the outline by hand.",
    )


def _trace_piece(
    sheet: FlatSheet,
    paper: Paper,
    weights: tuple[Weight, ...],
    index: int,
    holes: Callable[[], tuple[TracedMark, ...]],
) -> tuple[Tracing, float]:
    """One piece of paper as it is cut, and the width of the printed line's remainder along its edge."""
    edge = follow_edge(sheet, paper, index, weights)
    ring, mask = edge.ring, paper.masks[index]
    hidden = under_weights(ring.points, weights) | at_rim(paper, ring.points) | at_tape(paper, ring.points)
    damage = find_damage(ring.points, ring.corners, mask, paper.work)
    outline, corners, inferred = mended(ring, damage.torn & ~hidden, hidden)
    notches = read_notches(sheet, ring, edge.rim_mm)
    notches += find_slits(sheet, ring, edge.rim_mm, notches)
    notches = whole_edge_only(notches, ring, damage)
    marks = notches + holes()
    doubtful = doubts(outline, corners, mask, paper.work)
    tracing = Tracing(
        outline=outline,
        corners=corners,
        inferred=inferred,
        lines=tuple(TracedLine(kind="bare edge", points=run) for run in edge.bare),
        marks=in_the_open(marks, paper, weights),
        uncertainty_mm=edge.uncertainty_mm,
        complete=not edge.cut_off and not doubtful,
        notes=notes_on(paper, ring.points, weights, damage.places) + doubtful,
    )
    return tracing, edge.rim_mm


def _label(index: int, count: int) -> str:
    """A piece's place among several, for messages."""
    if count == 1:
        return ""
    return ("left", "right")[index] if count == 2 else str(index + 1)
