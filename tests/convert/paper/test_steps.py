"""The step-by-step sheet: a page a step, read back by another library; slashed paper lies as a cutter lays it."""

import numpy as np
import pypdfium2 as pdfium
import pytest
from shapely import Polygon

from convert.block.block import Move
from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import perform
from convert.block.moves.skirt import skirt_rules
from convert.paper.steps.pictures import move_picture, move_title, start_picture
from convert.paper.steps.slashed import slashed
from convert.paper.steps.steps import by_piece, cut_words, write_steps
from tests.lab_pieces import lab_piece


def made(scene: str, rule: object, amount: float) -> Move:
    return perform(lab_piece(scene), rule, amount)[1]  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def moves() -> list[Move]:
    return [
        made("s1_front", bodice.LENGTHEN_BELOW, 15.0),
        made("s2_back", bodice.LENGTHEN_BELOW, -15.0),
        made("s1_front", bodice.WIDEN_AT_WAIST, 10.0),
        made("s3_sleeve", sleeve.LENGTHEN_SLEEVE, 20.0),
    ]


def test_a_page_for_each_step_piece_by_piece(moves: list[Move]) -> None:
    document = pdfium.PdfDocument(write_steps(moves, title="Block of maker A", date="25 November 2026"))
    words = [page.get_textpage().get_text_range() for page in document]
    assert len(words) == 2 + len(moves)
    assert "lengthen above the waist" in words[1]
    assert [text.split("\r\n")[0] for text in words[2:]] == [f"Step {n} of 4" for n in (1, 2, 3, 4)]
    assert "Bodice front, 2 of 2" in words[3]  # both steps of the front before the back's
    assert "overlap by 1.5 cm" in " ".join(words[4].split())
    assert document[0].get_size() == pytest.approx((595.28, 841.89), abs=0.1)
    assert [move.piece for move in by_piece(moves)] == ["bodice front", "bodice front", "bodice back", "sleeve"]
    with pytest.raises(ValueError, match="needs a step"):
        write_steps([], title="", date="")


def test_the_words_go_the_way_of_the_move(moves: list[Move]) -> None:
    assert [move_title(move) for move in moves[:3]] == [
        "lengthen above the waist",
        "shorten above the waist",
        "widen at the waist",
    ]


def test_a_cut_is_measured_from_corners(moves: list[Move]) -> None:
    found = cut_words(moves[0])
    assert found.startswith("The cut runs from the centre front, ")
    assert "to the side seam, " in found
    front = moves[0].before
    top = front.edge("centre front").points
    level = moves[0].cuts[0][0]
    from_waist = float(np.hypot(*(top - level).T).min())
    assert from_waist < 1.0
    assert cut_words(moves[2]) == ""  # the side seam is drawn anew, nothing is slashed


@pytest.mark.parametrize("amount", [15.0, -15.0])
@pytest.mark.parametrize(
    ("scene", "rule"),
    [
        ("s1_front", bodice.LENGTHEN_BELOW),
        ("s2_back", bodice.LENGTHEN_ABOVE),
        ("s3_sleeve", sleeve.LENGTHEN_SLEEVE),
        ("s4_skirt-front", skirt_rules(205.0)[2]),
    ],
)
def test_slashed_paper_gapes_or_laps_by_the_amount(scene: str, rule: object, amount: float) -> None:
    move = made(scene, rule, amount)
    laid = slashed(move)
    assert laid is not None
    assert len(laid.parts) == 2
    assert sum(part.area for part in laid.parts) == pytest.approx(Polygon(move.before.seam_line).area, rel=1e-3)
    shifts = sorted(float(np.hypot(*shift)) for shift in laid.shifts)
    assert shifts == pytest.approx([0.0, 15.0], abs=0.3)
    opened = laid.added if amount > 0 else laid.lapped
    across = float(np.hypot(*(move.cuts[0][-1] - move.cuts[0][0])))
    assert opened.area == pytest.approx(15.0 * across, rel=0.25)


def test_a_sway_back_laps_to_nothing() -> None:
    laid = slashed(made("s2_back", posture.SWAY_BACK, 10.0))
    assert laid is None or laid.lapped.area > laid.added.area


@pytest.mark.parametrize("amount", [25.0, -12.0])
def test_a_bust_alteration_opens_or_laps_four_parts(amount: float) -> None:
    laid = slashed(made("s1_front", ALTER_BUST, amount))
    assert laid is not None
    assert len(laid.parts) == 4
    across = sorted(float(shift[0]) for shift in laid.shifts)
    still = min(float(np.hypot(*shift)) for shift in laid.shifts)
    assert still == pytest.approx(0.0, abs=0.01)  # the part with the shoulder and the neck
    assert max(np.abs(across)) == pytest.approx(abs(amount), abs=0.1)  # below, the slash gapes by the amount
    assert (laid.added.area > laid.lapped.area) == (amount > 0)


def test_an_edge_drawn_anew_is_not_slashed(moves: list[Move]) -> None:
    assert slashed(moves[2]) is None
    for move in moves:
        assert move_picture(move).startswith("<svg")
        assert "stroke-dasharray" in start_picture(move)
