"""A few of the bench's invented pictures read back: the bench itself works, and so does reading."""

import numpy as np
import pytest

from tests.bench.invented import FAMILIES, family_of, invent
from tests.bench.measured import lay, match
from tests.bench.photographed import photograph
from tests.bench.reading import HARD_OVER_MM, read_one, summary


def test_a_seed_gives_the_same_paper_again_and_every_family_comes() -> None:
    np.testing.assert_array_equal(invent(5)[0].cut, invent(5)[0].cut)
    assert {family_of(seed) for seed in range(100)} == {name for name, _ in FAMILIES}


def test_the_measure_finds_what_was_done_to_a_ring() -> None:
    """A ring turned and shifted fits without a rest; one made larger by 0.2 % is told so; one 0.3 mm out all round."""
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    ring = np.column_stack([150 * np.cos(turn) + 20 * np.cos(3 * turn), 90 * np.sin(turn)])
    spin = np.array([[np.cos(0.01), -np.sin(0.01)], [np.sin(0.01), np.cos(0.01)]])
    laid = lay(ring @ spin.T + [1.0, -2.0], ring, np.eye(3))
    assert laid.rms < 0.01
    assert lay(ring * 1.002, ring, np.eye(3)).scale_percent == pytest.approx(0.2, abs=0.02)
    counts = match(np.array([[0, 0], [9, 9]]), np.array([[1, 0], [50, 50]]))
    assert (counts.wanted, counts.right, counts.false) == (2, 1, 1)


@pytest.mark.parametrize("seed", [9, 8])
def test_an_invented_piece_is_read(seed: int) -> None:
    """An uncut sheet; printed tissue seen at 25 degrees, a blue mat shining through."""
    one = read_one(photograph(seed), baselines=False)[0]
    assert not one.problem, one.problem
    assert one.over < HARD_OVER_MM
    assert one.notches.recall == one.darts.recall == 1.0
    assert np.abs(one.allowances).max() < 0.4
    assert "1 pieces" in summary([one])[0]
