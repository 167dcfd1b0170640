"""All printing on one piece of paper, found once and then read in several ways."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from calibration.sheet.flatten import FlatSheet
from convert.trace.ink.chains import Chain, chain_strokes
from convert.trace.ink.ink import Ink, find_ink
from convert.trace.ink.strokes import Stroke, find_strokes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Printing:
    """The ink on a piece, its strokes, and the lines into which they string."""

    ink: Ink
    strokes: tuple[Stroke, ...]
    chains: tuple[Chain, ...]


def find_printing(sheet: FlatSheet, paper: npt.NDArray[np.bool_]) -> Printing:
    """What is printed on the paper that ``paper`` (height, width) marks on the sheet's raster."""
    ink = find_ink(sheet, paper)
    strokes = find_strokes(ink)
    return Printing(ink=ink, strokes=strokes, chains=chain_strokes(strokes))
