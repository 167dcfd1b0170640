"""The size of a piece speaks against a wrong pitch."""

import numpy as np
import pytest

from convert.piece.piece import Allowance, Edge, Piece
from convert.piece.plausible import size_doubt


def oblong(kind: str, wide: float, long: float) -> Piece:
    """A piece of four straight sides (mm)."""
    corners = np.array([[0, 0], [wide, 0], [wide, long], [0, long]], float)
    sides = [np.array([a, b]) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    names = ("waist", "side seam", "shoulder", "centre front")
    none = Allowance(mm=0.0, evidence="told")
    edges = tuple(
        Edge(name=name, points=side, cut_points=side, allowance=none)  # type: ignore[arg-type]
        for name, side in zip(names, sides, strict=True)
    )
    return Piece(kind=kind, edges=edges)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("kind", "wide", "long"), [("bodice front", 280, 450), ("sleeve", 380, 600), ("skirt back", 260, 650)]
)
def test_an_inch_mat_called_a_centimetre_mat_and_the_reverse(kind: str, wide: float, long: float) -> None:
    assert size_doubt(oblong(kind, wide, long), pitch_mm=10.0) == ()
    (small,) = size_doubt(oblong(kind, wide / 2.54, long / 2.54), pitch_mm=10.0)
    (large,) = size_doubt(oblong(kind, wide * 2.54, long * 2.54), pitch_mm=25.4)
    assert small.code == large.code == "pitch-doubtful"
    assert "too small" in small.text
    assert "1 cm apart" in small.text
    assert "too large" in large.text
    assert "1 inch apart" in large.text


def test_a_scan_is_asked_for_its_resolution() -> None:
    (note,) = size_doubt(oblong("bodice back", 560, 900), pitch_mm=None)
    assert note.code == "scale-doubtful"
