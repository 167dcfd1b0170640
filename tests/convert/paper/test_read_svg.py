"""Outline -> SVG -> outline; and after edits that a drawing program makes."""

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LinearRing

from calibration.ground.errors import InputError
from convert.paper.draw.curves import CURVE_KEEP_MM
from convert.paper.draw.draw_piece import KEEP_MM, draw_piece
from convert.paper.draw.svg import svg_page
from convert.redrawn.read_svg import read_svg
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS


@given(st.floats(-40.0, 120.0))
@settings(max_examples=10, deadline=None)
def test_outline_and_marks_come_back(wider: float) -> None:
    drawing = draw_piece(bodice(wider=wider), WORDS)
    (back,) = read_svg(svg_page([drawing], title="t"))
    assert back.name == "Bodice front"
    shift = back.of_kind("seam")[0].points.min(0) - drawing.of_kind("seam")[0].points.min(0)
    one, other = (LinearRing(each.of_kind("seam")[0].points) for each in (drawing, back))
    moved = LinearRing(np.array(one.coords) + shift)
    assert moved.hausdorff_distance(other) < CURVE_KEEP_MM + KEEP_MM
    for kind in ("dart", "notch", "hole", "fold", "level"):
        assert len(back.of_kind(kind)) == len([p for p in drawing.of_kind(kind) if not p.filled])


def test_two_pieces_keep_their_names() -> None:
    drawings = [draw_piece(bodice(kind), WORDS) for kind in ("bodice front", "bodice back")]
    assert [piece.name for piece in read_svg(svg_page(drawings, title="t"))] == ["Bodice front", "Bodice back"]


def test_a_moved_layer_and_a_curve_are_followed() -> None:
    text = svg_page([draw_piece(bodice(), WORDS)], title="t")
    moved = text.replace('<g id="bodice-front-darts"', '<g id="bodice-front-darts" transform="translate(10,0)"')
    plain, shifted = (read_svg(each)[0].of_kind("dart")[0].points for each in (text, moved))
    assert shifted - plain == pytest.approx(np.tile([10.0, 0.0], (len(plain), 1)), abs=1e-3)
    curved = re.sub(
        r'(<path id="bodice-front-seam-line-outline" d=")[^"]*"', r'\1M10 10C60 0 110 0 160 10L160 200L10 200Z"', text
    )
    ring = read_svg(curved)[0].of_kind("seam")[0].points
    # the curve's top at half its length: y = 10 * (1/8 + 1/8) with handles at 0
    assert ring[:, 1].max() - ring[:, 1].min() == pytest.approx(200.0 - 2.5, abs=0.01)


@pytest.mark.parametrize(
    "outer", ['<g id="g12">', '<g id="layer1" inkscape:label="Ebene 1" transform="translate(5,0)">']
)
def test_pieces_in_an_outer_group_are_read_as_before(outer: str) -> None:
    text = svg_page([draw_piece(bodice(kind), WORDS) for kind in ("bodice front", "bodice back")], title="t")
    first, last = text.index("<g "), text.rindex("</g>") + len("</g>")
    grouped = text[:first] + outer + text[first:last] + "</g>" + text[last:]
    plain, found = read_svg(text), read_svg(grouped)
    assert [piece.name for piece in found] == ["Bodice front", "Bodice back"]
    for one, other in zip(plain, found, strict=True):
        assert [len(one.of_kind(kind)) for kind in ("seam", "dart")] == [
            len(other.of_kind(k)) for k in ("seam", "dart")
        ]
        assert np.ptp(one.outline, axis=0) == pytest.approx(np.ptp(other.outline, axis=0), abs=1e-6)


@pytest.mark.parametrize("text", ["no picture", "<svg xmlns='http://www.w3.org/2000/svg'/>", "<svg"])
def test_other_files_are_refused_with_a_remedy(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_svg(text)
    assert caught.value.remedy
