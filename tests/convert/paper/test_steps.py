"""The steps by hand: flat paper, joined by place, slashed paper as a cutter lays it; read back by another library."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pypdfium2 as pdfium
import pytest
from shapely import LineString, Point, Polygon

from calibration.ground.errors import InputError
from convert.block.block import Move
from convert.block.compared.ease import block_ease
from convert.block.moves import bodice, posture, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import perform
from convert.block.moves.skirt import skirt_rules
from convert.block.solved.solve import suggest
from convert.body.card import LengthUnit
from convert.paper.steps.by_hand import steps_by_hand
from convert.paper.steps.hand_pictures import step_picture
from convert.paper.steps.pictures import move_picture
from convert.paper.steps.slashed import Opening, slashed
from convert.paper.steps.steps import write_steps
from convert.paper.steps.words import cut_words, move_title
from tests.bench.makers import pattern
from tests.convert.block.makers import card_of, random_makers
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


def words_of(data: bytes) -> list[str]:
    return [" ".join(page.get_textpage().get_text_range().split()) for page in pdfium.PdfDocument(data)]


def test_steps_stand_piece_by_piece_and_each_piece_ends_with_truing(moves: list[Move]) -> None:
    data = write_steps(moves, title="Block of maker A", date="25 November 2026")
    said = " ".join(words_of(data))
    assert len(words_of(data)) <= 4
    assert [step.piece for step in steps_by_hand(moves)] == [
        "bodice front",
        "bodice front",
        "bodice front",
        "bodice back",
        "bodice back",
        "sleeve",
        "sleeve",
    ]
    assert [step.closing for step in steps_by_hand(moves)] == [False, False, True, False, True, False, True]
    for words in ("1. Lengthen above the waist", "overlap by 1.5 cm", "Waist at the side: 1 cm out", "Fold the darts"):
        assert words in said, words
    assert pdfium.PdfDocument(data)[0].get_size() == pytest.approx((595.28, 841.89), abs=0.1)
    with pytest.raises(ValueError, match="needs a step"):
        write_steps([], title="", date="")


def test_what_happens_at_one_place_is_one_step_and_the_last_state_is_the_block() -> None:
    piece, moves = lab_piece("s1_front"), []
    for rule, amount in (
        (bodice.BROADEN_ACROSS, 6.0),
        (bodice.WIDEN_NECK, 1.5),
        (bodice.LENGTHEN_SHOULDER, -4.0),
        (bodice.WIDEN_AT_UNDERARM, 5.0),
        (bodice.LENGTHEN_BELOW, 12.0),
        (bodice.WIDEN_AT_WAIST, 9.0),
    ):
        piece, move = perform(piece, rule, amount)
        moves.append(move)
    steps = steps_by_hand(moves)
    assert [step.title for step in steps] == [
        "Lengthen above the waist",
        "Draw anew: shoulder and armhole",
        "Draw anew: side seam",
        "Redraw and true",
    ]
    assert steps[-1].after is piece
    for one, following in pairwise(steps):
        assert np.allclose(one.after.seam_line, following.before.seam_line)
    # a millimetre and a half at the neck waits for the end, and is the difference between the last two states
    assert [shift.name for shift in steps[-1].marked] == ["side neck point", "neckline at the centre front"]


def test_a_sleeve_is_widened_about_four_hinges() -> None:
    step = steps_by_hand([made("s3_sleeve", sleeve.WIDEN_UPPER_ARM, 22.0)])[0]
    assert step.laid is not None
    assert step.laid.flat
    assert len(step.laid.parts) == 4
    assert "narrow strips" not in " ".join(step.sentences)
    before, after = Polygon(step.before.seam_line), step.laid.parts
    assert sum(part.area for part in after) == pytest.approx(before.area, rel=1e-3)
    # every cut opens by 22 mm where both cuts cross, or by what turning about an end hinge makes of it
    assert sorted(round(max(one.gaps)) for one in step.laid.openings)[2:] == [22, 23]
    assert all(min(one.gaps) < 0.5 for one in step.laid.openings)


@pytest.mark.parametrize("amount", [60.0, 120.0])
def test_a_very_wide_arm_is_cut_through_and_turned_about_the_wrist(amount: float) -> None:
    step = steps_by_hand([made("s3_sleeve", sleeve.WIDEN_UPPER_ARM, amount)])[0]
    assert step.laid is not None
    assert step.laid.flat
    assert len(step.laid.parts) == 2


@pytest.mark.parametrize("amount", [12.49, 12.5, 12.51])
def test_a_cuts_picture_says_what_its_sentence_says(amount: float) -> None:
    """A tenth of a centimetre more or less in the picture than in the words would be a question."""
    step = steps_by_hand([made("s3_sleeve", sleeve.LENGTHEN_SLEEVE, -amount)])[0]
    (said,) = re.findall(r"[\d.]+ cm", step.sentences[0])
    assert said in step_picture(step, "cm")


def test_a_dart_struck_as_told_is_the_blocks() -> None:
    """Two lengths from the two ends meet in the point: done here with the printed figures alone."""
    pieces, size = pattern(traced=False)
    block = suggest(pieces, card=card_of(random_makers(20, 4)[0]), drafted_for=size, ease=block_ease("usual").mm)
    (skirt,) = (piece for piece in block.pieces if piece.kind == "skirt back")
    told = [
        [float(one) for one in re.findall(r"([\d.]+) cm", text)]
        for step in steps_by_hand(block.moves)
        if step.piece == "skirt back" and step.title == "Draw the darts"
        for text in step.sentences[:-1]
    ]
    darts = sorted(skirt.darts, key=lambda dart: float(dart.legs[:, 0].mean()))
    waist = LineString(skirt.edge("waist").points)
    side = Point(skirt.edge("waist").points[0])  # counter-clockwise: the waist runs from the side to the centre
    assert len(told) == len(darts) == 2
    for k, (begins, wide, leg) in enumerate(told):
        ends = sorted(waist.project(Point(end)) for end in darts[k].legs)
        begun = waist.length - ends[1] if k == 0 else ends[0] - waist.project(side)
        assert 10 * begins == pytest.approx(begun, abs=1.0)
        one, other = (Point(end).buffer(10 * leg, 256).exterior for end in darts[k].legs)
        point = Point(darts[k].apexes[0])
        assert 10 * wide == pytest.approx(float(np.hypot(*np.diff(darts[k].legs, axis=0)[0])), abs=0.6)
        assert one.intersection(other).distance(point) < 1.5


def test_two_amounts_without_a_hinge_are_not_flat() -> None:
    ends = np.array([[0.0, 0.0], [0.0, 100.0]])
    assert Opening(ends=ends, gaps=(6.0, 6.5)).flat
    assert Opening(ends=ends, gaps=(0.4, 12.0)).flat
    assert not Opening(ends=ends, gaps=(6.0, 12.0)).flat


@pytest.mark.parametrize("number", range(20))
def test_every_step_of_twenty_makers_lies_flat(number: int) -> None:
    pieces, size = pattern(traced=False)
    unit: LengthUnit = "in" if number % 2 else "cm"
    card = replace(card_of(random_makers(20, 4)[number]), unit=unit)
    try:
        block = suggest(pieces, card=card, drafted_for=size, ease=block_ease("usual").mm)
    except InputError:
        pytest.skip("no block for this body")
    steps = steps_by_hand(block.moves, unit)
    assert all(step.laid.flat for step in steps if step.laid is not None)
    words = " ".join(text for step in steps for text in step.sentences)
    assert "together" not in words
    assert "strips" not in words
    if unit == "in":
        assert not re.search(r"(?<![\d/])0 in|\d (cm|mm)\b", words)
    data = write_steps(block.moves, title="Block", date="25 November 2026", unit=unit)
    assert len(pdfium.PdfDocument(data)) <= 10
    for kind in {step.piece for step in steps}:
        own = [step for step in steps if step.piece == kind]
        assert own[-1].closing
        drawn = [step for step in own if step.title.startswith("Draw the outline")]
        assert len(drawn) <= 1, "no line is drawn twice"
        for step in own[own.index(drawn[0]) :] if drawn else []:
            assert step.laid is None, "no paper is cut once lines are drawn on it"


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
