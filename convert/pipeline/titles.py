"""The printed title of a piece, offered as its kind."""

import numpy as np

from convert.piece.names.naming import straightened
from convert.piece.names.title import Title, title_of
from convert.pipeline.look import SheetRead
from convert.trace.ink.wording import printed_lines
from convert.trace.tracing import Tracing


def printed_title(tracing: Tracing, read: SheetRead) -> Title | None:
    """What a piece is called in its own print; None where nothing of it could be read.

    Raises
    ------
    InputError
        If what reads print is not whole on this machine.
    """
    grains = [line.points for line in tracing.lines if line.kind == "grainline" and len(line.points) >= 2]
    up_deg = 90.0
    if grains:
        ends = straightened(max(grains, key=len))
        up_deg = float(np.degrees(np.arctan2(*(ends[1] - ends[0])[::-1])))
    lines = printed_lines(read.sheet, tracing.outline, up_deg=up_deg, mirrored=tracing.mirrored > 0)
    return title_of([(line.text, line.high_mm) for line in lines], tracing)
