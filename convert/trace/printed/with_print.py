"""A tracing with what is printed inside its outline added to it."""

from dataclasses import replace

import numpy as np

from calibration.sheet.flatten import FlatSheet
from convert.trace.ink.printing import Printing
from convert.trace.printed.lines import read_print
from convert.trace.tracing import Tracing


def with_print(sheet: FlatSheet, tracing: Tracing, *, printing: Printing | None = None) -> Tracing:
    """The same tracing, its printed lines and dots read from the sheet; as it is where its lines were read already.

    ``printing`` is what is printed inside the outline, where it has been found.
    """
    if tracing.lines:  # of nested sizes, whose darts only the size's own way of breaking lines tells apart
        return tracing
    everywhere = np.ones(sheet.pixels.shape[:2], bool)  # read_print looks inside the outline only
    found = read_print(sheet, everywhere, tracing.outline, printing=printing)
    # punched holes stand in place of printing: on a printed piece, a hole is a stain or a worn spot
    punched = found.pricked or not any(line.kind == "stitching" for line in found.lines)
    marks = tuple(mark for mark in tracing.marks if punched or mark.kind != "hole")
    return replace(tracing, lines=found.lines, marks=(*marks, *found.marks), mirrored=found.mirrored)
