"""Pieces of one pattern speak for each other's seam allowances; nothing of it is called measured."""

from dataclasses import replace

import pytest

from convert.piece.allowance.alike import alike_of, seams_apart
from convert.piece.piece import Allowance, Evidence, Piece
from tests.lab_pieces import lab_piece

ASSUMED = Allowance(mm=15.0, evidence="assumed", uncertainty_mm=5.0, why="nothing was read")


def with_allowances(scene: str, evidence: Evidence = "measured", **mm: float) -> Piece:
    """A piece of the lab with these allowances read, all others assumed."""
    piece = lab_piece(scene)
    said = {name.replace("_", " "): Allowance(mm=value, evidence=evidence) for name, value in mm.items()}
    return replace(piece, edges=tuple(replace(edge, allowance=said.get(edge.name, ASSUMED)) for edge in piece.edges))


def test_the_other_side_of_a_seam_tells() -> None:
    front = with_allowances("s1_front")
    back = with_allowances("s2_back", side_seam=19.0, shoulder=16.0)
    found = alike_of(front, [front, back])
    assert found["side seam"].mm == 19.0
    assert found["side seam"].evidence == "deduced"
    assert "side seam of the bodice back" in found["side seam"].why
    assert "1.9 cm" in found["side seam"].why
    assert found["shoulder"].mm == 16.0


def test_what_was_read_on_the_piece_itself_stands() -> None:
    front = with_allowances("s1_front", side_seam=12.0)
    back = with_allowances("s2_back", side_seam=19.0)
    assert "side seam" not in alike_of(front, [front, back])


def test_like_edges_are_likely_treated_alike() -> None:
    front = with_allowances("s1_front", neckline=10.0)
    back = with_allowances("s2_back")
    found = alike_of(back, [front, back])["neckline"]
    assert (found.mm, found.evidence) == (10.0, "assumed")
    sleeve = with_allowances("s3_sleeve", cap=13.0, underarm_seam_front=19.0)
    assert alike_of(sleeve, [sleeve])["underarm seam back"].mm == 19.0
    assert alike_of(front, [front, sleeve])["armhole"].mm == 13.0


def test_a_hem_or_a_neckline_follows_no_seam() -> None:
    """Published hems and neck edges differ from the seams (C3 and C4 of the sources: 1/4 to 4 in)."""
    front = with_allowances("s4_skirt-front", side_seam=15.0, waist=15.0)
    back = with_allowances("s5_skirt-back")
    found = alike_of(back, [front, back])
    assert "hem" not in found
    assert found["side seam"].mm == 15.0


def test_sides_that_may_be_let_out_do_not_follow_the_other_seams() -> None:
    """1923 and 1942: 3/4 in at the side where other edges have 3/8 or 1/2 in (blacktulipsewing, 2019/04)."""
    front = with_allowances("s1_front", shoulder=12.7, armhole=12.7)
    back = with_allowances("s2_back")
    found = alike_of(back, [front, back])
    assert "side seam" not in found
    assert found["waist"].mm == pytest.approx(12.7)


@pytest.mark.parametrize("evidence", ["measured", "told"])
def test_two_sides_that_differ_are_noted(evidence: Evidence) -> None:
    front = with_allowances("s1_front", evidence, side_seam=15.0)
    back = with_allowances("s2_back", evidence, side_seam=19.0)
    (note,) = seams_apart([front, back])
    assert note.code == "allowances-apart"
    assert "1.5 cm" in note.text
    assert "1.9 cm" in note.text
    (inches,) = seams_apart([front, back], unit="in")
    assert "5/8 in" in inches.text
    assert "3/4 in" in inches.text
    assert not seams_apart([with_allowances("s1_front", side_seam=15.0), with_allowances("s2_back", side_seam=15.9)])
