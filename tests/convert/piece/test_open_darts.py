"""Darts cut out of the paper: found, closed over, legs that differ told."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.points import Points, closed, nearest_on_line, resample, signed_area
from convert.piece.darts.open_darts import without_open_darts
from convert.piece.names.told import Told
from convert.piece.read import piece_from
from convert.trace.trace import trace
from convert.trace.tracing import Tracing
from tests import render_sheet as render
from tests.convert.piece.shapes import draw


def cut_out(ring: Points, at: Points, mouth: float, deep: float, *, lean: float = 0.0) -> tuple[Points, Points, Points]:
    """The ring with a wedge cut into it where it passes nearest to a place: ring, the dart's point, the leg ends."""
    if signed_area(ring) < 0:
        ring = ring[::-1]
    k = int(np.hypot(*(ring - at).T).argmin())
    ring = np.roll(ring, len(ring) // 2 - k, axis=0)
    gaps = np.hypot(*(ring - ring[len(ring) // 2]).T)
    inside = np.flatnonzero(gaps < mouth / 2)
    a, b = ring[inside[0] - 1], ring[inside[-1] + 1]
    way = (b - a) / np.hypot(*(b - a))
    apex = (a + b) / 2 + deep * np.array([-way[1], way[0]]) + lean * way
    legs = np.vstack([resample(np.array([a, apex]), 0.5), resample(np.array([apex, b]), 0.5)[1:]])
    return np.vstack([ring[: inside[0] - 1], legs, ring[inside[-1] + 2 :]]), apex, np.array([a, b])


@pytest.mark.parametrize(("lean", "said"), [(0.0, False), (12.0, True)])
def test_a_wedge_cut_out_of_the_waist_is_a_dart(lean: float, said: bool) -> None:
    drawn = draw("bodice front", np.random.default_rng(2), darts=False, printed=False)
    waist = drawn.piece.edge("waist").cut_points
    middle = drawn.laid(waist[len(waist) // 2][None] - [0.0, 15.0])[0]
    ring, apex, legs = cut_out(drawn.tracing.outline, middle, 32.0, 120.0, lean=lean)
    tracing = replace(drawn.tracing, outline=ring, corners=np.zeros(0, np.int64), inferred=np.zeros(len(ring), bool))
    piece = piece_from(tracing, "bodice front", Told(no_allowance=True))
    (dart,) = piece.darts
    assert piece.placement is not None
    assert (dart.on, dart.evidence) == ("waist", "measured")
    assert np.hypot(*(dart.apexes[0] - piece.placement.to_piece(apex[None])[0])) < 0.6
    assert dart.intake == pytest.approx(np.hypot(*(legs[1] - legs[0])), abs=1.0)
    codes = [note.code for note in piece.notes]
    assert "dart-cut-out" in codes
    assert ("dart-legs-unequal" in codes) == said


def test_a_plain_outline_keeps_its_corners() -> None:
    tracing = draw("bodice front", np.random.default_rng(4)).tracing
    assert without_open_darts(tracing).tracing is tracing


def test_a_wedge_in_a_picture_of_paper() -> None:
    ring = resample(closed(np.array([[30.0, 25.0], [230.0, 25.0], [230.0, 170.0], [30.0, 170.0]])), 0.5)[:-1]
    ring, _, _ = cut_out(ring, np.array([170.0, 170.0]), 20.0, 52.0)  # two of them don't make it two pieces
    ring, apex, legs = cut_out(ring, np.array([100.0, 25.0]), 26.0, 90.0)
    (traced,) = trace(render.draw(render.Scene(pieces=(render.Drawn(cut_line=ring),))))
    opened = without_open_darts(traced)
    assert len(opened.wedges) == 2
    wedge = min(opened.wedges, key=lambda one: np.hypot(*(one.apex - apex)))
    assert traced.complete
    assert np.hypot(*(wedge.apex - apex)) < 1.0
    assert max(np.hypot(*(wedge.ends - leg).T).min() for leg in legs) < 1.0
    assert isinstance(opened.tracing, Tracing)
    assert nearest_on_line(closed(opened.tracing.outline), legs.mean(0))[2] < 0.3
    assert not [mark for mark in opened.tracing.marks if mark.kind == "notch"]
