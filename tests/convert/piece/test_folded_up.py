"""A hem that is folded up: said, and no allowance invented for it."""

from dataclasses import replace

import numpy as np
import pytest

from convert.piece.names.told import Told
from convert.piece.read import piece_from
from convert.trace.tracing import TracedLine
from tests.convert.piece.shapes import draw


@pytest.mark.parametrize("bare", [True, False])
def test_a_hem_without_print_is_measured_to_its_fold(*, bare: bool) -> None:
    drawn = draw("skirt front", np.random.default_rng(7), corners=True)
    plain = piece_from(drawn.tracing, "skirt front", Told())
    hem = plain.edge("hem")
    assert plain.placement is not None
    on_mat = plain.placement.to_mat(hem.cut_points if bare else plain.edge("waist").cut_points)
    line = TracedLine(kind="bare edge", points=on_mat)
    piece = piece_from(replace(drawn.tracing, lines=(*drawn.tracing.lines, line)), "skirt front", Told())
    folded = [note for note in piece.notes if note.code == "hem-folded-up"]
    assert len(folded) == bare
    assert (piece.edge("hem").allowance.mm == 0.0) == bare


def test_a_hem_that_was_told_is_as_told() -> None:
    drawn = draw("skirt front", np.random.default_rng(7))
    plain = piece_from(drawn.tracing, "skirt front", Told())
    assert plain.placement is not None
    line = TracedLine(kind="bare edge", points=plain.placement.to_mat(plain.edge("hem").cut_points))
    tracing = replace(drawn.tracing, lines=(*drawn.tracing.lines, line))
    piece = piece_from(tracing, "skirt front", Told(allowances={"hem": 30.0}))
    assert piece.edge("hem").allowance.mm == 30.0
