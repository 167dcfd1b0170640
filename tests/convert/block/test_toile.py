"""The toile's corrections go into the block, and can be taken back."""

import numpy as np
import pytest

from calibration.errors import InputError
from convert.block.block import Block
from convert.block.solve import suggest
from convert.block.toile import Correction, correct, places, take_back
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import EASE, bodies
from tests.lab_pieces import lab_piece


@pytest.fixture(scope="module")
def block() -> Block:
    pieces = [lab_piece(scene) for scene in SET]
    return suggest(pieces, card=card_of(bodies("maker_body")), drafted_for=bodies("pattern_size_body"), ease=EASE)


def mm(block: Block, name: str) -> float:
    return next(level.block_mm for level in block.levels if level.name == name)


@pytest.mark.parametrize("place", places())
def test_every_place_can_be_corrected_and_taken_back(block: Block, place: str) -> None:
    fitted = correct(block, [Correction(place=place, amount_mm=6.0)])
    added = len(fitted.moves) - len(block.moves)
    assert added >= 1
    assert all(not check.check.startswith("dart") or check.sound for check in fitted.checks)
    for _ in range(added):
        fitted = take_back(fitted)
    for one, old in zip(fitted.pieces, block.pieces, strict=True):
        assert one.seam_line == pytest.approx(old.seam_line, abs=1e-6)
    assert len(fitted.moves) == len(block.moves)


def test_what_was_pinned_shows_in_the_measurements(block: Block) -> None:
    fitted = correct(
        block,
        [
            Correction(place="side seam at the waist", amount_mm=5.0),
            Correction(place="sway back", amount_mm=8.0),
            Correction(place="sleeve length", amount_mm=-12.0),
        ],
    )
    assert mm(fitted, "waist") == pytest.approx(mm(block, "waist") + 20.0, abs=2.0)
    assert mm(fitted, "back waist length") == pytest.approx(mm(block, "back waist length") - 8.0, abs=0.1)
    assert mm(fitted, "arm length") == pytest.approx(mm(block, "arm length") - 12.0, abs=0.5)


def test_a_round_back_gets_longer_at_the_centre_alone(block: Block) -> None:
    fitted = correct(block, [Correction(place="round back", amount_mm=10.0)])
    assert mm(fitted, "back waist length") == pytest.approx(mm(block, "back waist length") + 10.0, abs=0.1)
    old, new = (next(p for p in b.pieces if p.kind == "bodice back").edge("side seam").points for b in (block, fitted))
    assert np.abs(new - old).max() < 1e-9


def test_an_unknown_place_is_named(block: Block) -> None:
    with pytest.raises(InputError, match="elbow"):
        correct(block, [Correction(place="elbow", amount_mm=5.0)])
