"""Reading a flat sheet: each piece of paper on it, with its outline and its marks."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from calibration.sheet.flatten import FlatSheet
from convert.trace.cuts.holes import find_holes
from convert.trace.cuts.notch_shapes import read_notches
from convert.trace.cuts.slits import find_slits
from convert.trace.ink.printing import Printing, find_printing
from convert.trace.nest.nest import printed_cut_line
from convert.trace.paper.paper import Paper, find_paper
from convert.trace.paper.weights import Weight, find_weights, under_weights
from convert.trace.printed.with_print import with_print
from convert.trace.tracing import TracedMark, Tracing
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
    paper = find_paper(sheet)
    pieces: list[tuple[Tracing, Printing | None]] = []
    with ThreadPoolExecutor(max_workers=1) as beside:  # ink and holes are looked for while the edge is followed
        found = [beside.submit(_printing, sheet, mask) for mask in paper.masks]
        holes = [beside.submit(find_holes, sheet, paper, mask) for mask in paper.masks]
        weights = find_weights(paper.work, paper.masks, paper.share)
        for index in range(len(found)):
            cut, rim_mm = _trace_piece(sheet, paper, weights, index, holes[index].result)
            uncut = None
            if rim_mm == 0 or size is not None:
                uncut = _on_uncut(sheet, paper, weights, paper.masks[index], found[index].result(), cut, size)
            printing = found[index].result()[1]
            if rim_mm == 0:
                cut = less_sure_on_ink(cut, paper, paper.masks[index], printing)
            pieces.append((cut, printing) if uncut is None else (uncut, None))
    return pieces


def _printing(sheet: FlatSheet, mask: npt.NDArray[np.bool_]) -> tuple[npt.NDArray[np.bool_], Printing]:
    """A piece's mask on the sheet's own raster, and what is printed there."""
    height, width = sheet.pixels.shape[:2]
    full = cv2.resize(mask.astype(np.uint8), (width, height), interpolation=cv2.INTER_NEAREST) > 0
    return full, find_printing(sheet, full)


def _on_uncut(
    sheet: FlatSheet,
    paper: Paper,
    weights: tuple[Weight, ...],
    mask: npt.NDArray[np.bool_],
    looked_at: tuple[npt.NDArray[np.bool_], Printing],
    cut: Tracing,
    size: int | str | None,
) -> Tracing | None:
    """The printed cut line of an uncut sheet in place of the paper's edge, or None where none is printed.

    Of what could not be seen, only what lies on that line matters: the sheet may run off the mat and be cut roughly.
    """
    full, printing = looked_at
    printed = printed_cut_line(sheet, full, size, printing=printing)
    if printed is None:
        return None
    ring = printed.outline
    beyond = at_rim(paper, ring)
    doubtful = doubts(ring, printed.corners, mask, paper.work)
    return replace(
        cut,
        outline=ring,
        corners=printed.corners,
        inferred=printed.inferred | under_weights(ring, weights) | beyond,
        lines=printed.lines,
        nested=printed.sizes > 1,
        marks=printed.notches,
        complete=not beyond.any() and not doubtful,
        notes=notes_on(paper, ring, weights) + doubtful + printed.notes,
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
        marks=in_the_open(marks, paper, weights),
        uncertainty_mm=edge.uncertainty_mm,
        complete=not edge.cut_off and not doubtful,
        label=_label(index, len(paper.masks)),
        notes=notes_on(paper, ring.points, weights, damage.places) + doubtful,
    )
    return tracing, edge.rim_mm


def _label(index: int, count: int) -> str:
    """A piece's place among several, for messages."""
    if count == 1:
        return ""
    return ("left", "right")[index] if count == 2 else str(index + 1)
