"""Buttonholes and lines to lengthen or shorten at are read as what they are."""

import numpy as np
import pytest

from convert.trace.printed.lines import Print, read_print
from tests.convert.trace.test_lines import APEX, CUT, DASHES, GRAIN, LEGS, inset
from tests.render_lines import Drawing, paper_of

PLACES = [np.array([36.0, y]) for y in (36.0, 56.0, 90.0)]


def _drawn(turn_deg: float, *, ticks: bool = True) -> Print:
    drawing = Drawing(180, 140)
    drawing.line(inset(), 0.7, DASHES)
    for leg in LEGS:
        drawing.line([leg, APEX], 0.6, DASHES)
    drawing.arrow(*GRAIN)
    drawing.word("HIT FRONT", [52, 96])
    for y in (68.0, 74.0):
        drawing.line([[14, y], [166, y]], 0.4)
    way = np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    across = np.array([-way[1], way[0]])
    for at in PLACES if ticks else []:
        ends = [at - 9.0 * way, at + 9.0 * way]
        drawing.line(ends, 0.5)
        for end in ends:
            drawing.line([end - 2.5 * across, end + 2.5 * across], 0.5)
    sheet = drawing.sheet()
    return read_print(sheet, paper_of(sheet, CUT), CUT)


@pytest.mark.parametrize("turn_deg", [0.0, 90.0, 25.0])
def test_a_row_of_buttonholes_is_read_and_nothing_else_is_made_of_it(turn_deg: float) -> None:
    read, without = _drawn(turn_deg), _drawn(turn_deg, ticks=False)
    holes = [line.points for line in read.lines if line.kind == "buttonhole"]
    assert len(holes) == len(PLACES)
    for at in PLACES:
        ends = min(holes, key=lambda points: np.hypot(*(points.mean(0) - at)))
        assert np.hypot(*(ends.mean(0) - at)) < 0.3
        assert np.hypot(*(ends[1] - ends[0])) == pytest.approx(18.5, abs=0.8)
    assert not [line for line in without.lines if line.kind == "buttonhole"]
    for kind in ("dart", "stitching", "grainline", "fold", "lengthen", "other"):
        count = [sum(line.kind == kind for line in one.lines) for one in (read, without)]
        assert count[0] == count[1], kind
    assert sum(line.kind == "dart" for line in read.lines) == 2
    assert sum(line.kind == "grainline" for line in read.lines) == 1
    assert sum(line.kind == "lengthen" for line in read.lines) == 2
