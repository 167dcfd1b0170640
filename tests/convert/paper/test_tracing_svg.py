"""What was read, drawn in layers over the flat picture: sizes in mm, each kind in a layer of its own."""

from dataclasses import replace
from pathlib import Path as Path_

import numpy as np
from svgelements import SVG, Image, Path

from calibration.ground.points import closed
from convert.paper.report.tracing_svg import tracing_svg
from convert.trace.told.corrected import Corrections, corrected
from convert.trace.trace import trace
from tests.render_sheet import Drawn, Scene, draw

RING = np.array([[43.0, 44.0], [183.0, 44.0], [183.0, 154.0], [43.0, 154.0]])
SHEET = draw(Scene(pieces=(Drawn(cut_line=RING),)))


def test_the_cut_line_is_drawn_at_full_size_over_the_picture(tmp_path: Path_) -> None:
    tracing = trace(SHEET)[0]
    text = tracing_svg(SHEET, tracing, title="a sheet")
    (tmp_path / "t.svg").write_text(text)
    svg = SVG.parse(str(tmp_path / "t.svg"), ppi=25.4)
    longest = max((one for one in svg.elements() if isinstance(one, Path)), key=lambda one: len(one))
    left, top, right, bottom = longest.bbox()
    assert abs((right - left) - 140.0) < 0.3
    assert abs((bottom - top) - 110.0) < 0.3
    picture = next(one for one in svg.elements() if isinstance(one, Image))
    assert abs(picture.width - (140 + 30)) < 1.0


def test_what_is_told_and_what_is_inferred_have_layers_of_their_own() -> None:
    read = trace(SHEET)[0]
    hidden = np.hypot(*(read.outline - [183.0, 80.0]).T) < 10.0
    told = corrected(replace(read, inferred=hidden), Corrections(parts=([[43, 120], [39, 105], [43, 90]],)))
    text = tracing_svg(SHEET, told, seam_line=closed(RING), title="told")
    for name in ("cut line", "inferred cut line", "told cut line", "seam line", "corners"):
        assert f'inkscape:label="{name}"' in text, name
    assert 'inkscape:label="told cut line"' not in tracing_svg(SHEET, read, title="read")
