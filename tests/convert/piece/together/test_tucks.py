"""Tucks and pleats folded out: printed and told, and what they take up."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.ground.plane import point_at
from calibration.ground.points import Points, lengths_along
from convert.piece.names.told import Told
from convert.piece.piece import Piece
from convert.piece.read import piece_from
from convert.piece.together.tucks import tucks_folded_out
from convert.trace.tracing import TracedLine
from tests.convert.piece.shapes import Drawn, draw

WIDE_MM, APART_MM, FROM = 12.0, 14.0, 0.35


def front() -> Drawn:
    return draw("bodice front", np.random.default_rng(5), darts=False, noise_mm=0.0)


def tucks_on(line: Points, count: int) -> list[Points]:
    """Both feet (2, 2) of each tuck on a waist line."""
    start = FROM * lengths_along(line)[-1]
    steps = [start + k * (WIDE_MM + APART_MM) for k in range(count)]
    return [np.array([point_at(line, s), point_at(line, s + WIDE_MM)]) for s in steps]


def read(drawn: Drawn, *, tucks: list[Points], lines: list[Points]) -> Piece:
    told = Told(
        fold="centre front",
        allowances={e.name: e.allowance.mm for e in drawn.piece.edges if not e.on_fold},
        tucks=tuple(drawn.laid(tuck) for tuck in tucks),
    )
    printed = tuple(TracedLine(kind="other", points=drawn.laid(line)) for line in lines)
    tracing = replace(drawn.tracing, lines=(*drawn.tracing.lines, *printed))
    return tucks_folded_out(piece_from(tracing, "bodice front", told))


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_told_tucks_become_one_dart_as_wide_as_they_take_up(count: int) -> None:
    drawn = front()
    waist = drawn.piece.edge("waist").points
    found = read(drawn, tucks=tucks_on(waist, count), lines=[])
    (dart,) = found.darts
    assert dart.on == "waist"
    assert dart.intake == pytest.approx(count * WIDE_MM, abs=0.5)
    assert dart.evidence == "deduced"


def test_pleats_printed_as_pairs_of_lines_are_folded_out() -> None:
    drawn = front()
    waist = drawn.piece.edge("waist").points
    lines = [np.array([foot, foot + [0.0, 70.0]]) for pair in tucks_on(waist, 2) for foot in pair]
    (dart,) = read(drawn, tucks=[], lines=lines).darts
    assert dart.intake == pytest.approx(2 * WIDE_MM, abs=0.6)


def test_what_was_told_stands_in_place_of_what_is_printed() -> None:
    drawn = front()
    waist = drawn.piece.edge("waist").points
    lines = [np.array([foot, foot + [0.0, 70.0]]) for pair in tucks_on(waist, 2) for foot in pair]
    (dart,) = read(drawn, tucks=tucks_on(waist, 1), lines=lines).darts
    assert dart.intake == pytest.approx(WIDE_MM, abs=0.5)


def test_a_tuck_off_the_edge_is_said() -> None:
    drawn = front()
    with pytest.raises(InputError, match="Tuck 1 of those told does not lie on one edge"):
        read(drawn, tucks=[np.array([[80.0, 120.0], [92.0, 120.0]])], lines=[])
