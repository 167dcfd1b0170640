"""The comparison: numbers, and sentences that leave nothing to work out."""

import re
from dataclasses import replace

import pytest

from calibration.ground.errors import Note
from convert.block.compared.compare import Comparison, compare
from convert.block.compared.words import sentence
from convert.piece.piece import Allowance, Piece
from tests.convert.block.makers import card_of
from tests.convert.block.test_solve import EASE, bodies
from tests.lab_pieces import lab_piece


def compared(**change: float) -> Comparison:
    pieces = [lab_piece("s1_front"), lab_piece("s2_back")]
    maker = {**bodies("maker_body"), **change}
    return compare(pieces, card=card_of(maker), drafted_for=bodies("pattern_size_body"), ease=EASE)


def test_ease_now_is_what_the_pattern_was_drawn_with() -> None:
    """The lab's truth: 90 mm at the bust, 60 mm at the waist."""
    found = compared()
    assert found.level("bust").ease_now_mm == pytest.approx(90.0, abs=0.1)
    assert found.level("waist").ease_now_mm == pytest.approx(60.0, abs=0.1)
    assert found.level("bust").wearing_mm == pytest.approx(60.0)
    assert found.level("bust").style_mm == pytest.approx(30.0, abs=0.1)


def test_sentences_say_how_much_and_which_way() -> None:
    found = compared(waist=685.0)
    assert found.level("waist").sentence == (
        "The pattern is 6 cm bigger round the waist than you need: most of it is style."
    )
    assert compared().level("waist").sentence == "The pattern is 4.5 cm smaller round the waist than you need."


def test_small_differences_are_too_close_to_call() -> None:
    level = compared(waist=745.0).level("waist")
    assert level.too_close
    assert "too close to call" in level.sentence


def test_every_number_has_its_unit_and_no_finer_than_a_tape() -> None:
    for level in compared().levels:
        for number in re.findall(r"\d[\d.]*", level.sentence):
            assert f"{number} cm" in level.sentence
            assert float(number) * 2 == int(float(number) * 2)


def test_negative_ease_is_said_with_its_probable_cause() -> None:
    pieces = [lab_piece("s1_front"), lab_piece("s2_back")]
    size, card = bodies("pattern_size_body"), card_of(bodies("maker_body"))
    other_size = {**size, **{name: size[name] * 1.15 for name in ("bust", "waist", "hip")}}
    notes = compare(pieces, card=card, drafted_for=other_size, ease=EASE).notes
    assert any(note.code == "ease-negative" and "another size" in note.text for note in notes)
    wrong_pitch = {name: mm * 1.15 for name, mm in size.items()}
    notes = compare(pieces, card=card, drafted_for=wrong_pitch, ease=EASE).notes
    assert any(note.code == "ease-negative" and "pitch" in note.text for note in notes)


@pytest.mark.parametrize(
    ("mm", "words"),
    [
        (25.4, "2.5 cm longer than the armhole: about right. Usual is 2 to 4 cm."),  # 1 in, the usual textbook figure
        (38.1, "4 cm longer than the armhole: about right."),
        (12.7, "1.5 cm longer than the armhole: little."),  # 1/2 in, knitwear
        (-19.05, "2 cm shorter than the armhole: it can't be sewn in."),  # the fault of a sold pattern: 3/4 in shorter
        (60.0, "a lot"),
    ],
)
def test_cap_ease_beside_published_figures(mm: float, words: str) -> None:
    """Sources beside :func:`convert.block.compare_words.sentence`'s band."""
    assert words in sentence("cap ease", mm, None, None, "cm", too_close=False)


def test_a_waist_that_the_skirt_does_not_share_is_noted() -> None:
    pieces = [lab_piece(scene) for scene in ("s1_front", "s2_back", "s4_skirt-front", "s5_skirt-back")]
    assert not any(note.code == "waists-apart" for note in notes_of(pieces))
    without = [replace(piece, darts=()) if piece.kind == "skirt back" else piece for piece in pieces]
    (note,) = [note for note in notes_of(without) if note.code == "waists-apart"]
    assert "dart or pleat that was not seen" in note.text


def notes_of(pieces: list[Piece]) -> tuple[Note, ...]:
    return compare(pieces, card=card_of(bodies("maker_body")), drafted_for=None, ease=EASE).notes


def test_an_allowance_that_was_assumed_is_named_as_a_cause() -> None:
    doubt = Allowance(mm=15.0, evidence="assumed", uncertainty_mm=5.0)
    pieces = [
        replace(piece, edges=tuple(replace(edge, allowance=doubt) for edge in piece.edges))
        for piece in (lab_piece("s1_front"), lab_piece("s2_back"))
    ]
    size = {**bodies("pattern_size_body"), "bust": 1040.0, "waist": 830.0}
    notes = compare(pieces, card=card_of(bodies("maker_body")), drafted_for=size, ease=EASE).notes
    assert any(note.code == "ease-negative" and "1.5 cm of seam allowance were assumed" in note.text for note in notes)
    (unsure,) = [note.text for note in notes if note.code == "allowance-assumed"]
    assert "seam allowance of the side seam" in unsure
    assert "up to 2 cm bigger or smaller" in unsure  # four side seams, 5 mm each


def test_a_guessed_size_is_not_said_as_a_fact_and_raises_no_doubts() -> None:
    pieces = [lab_piece("s1_front"), lab_piece("s2_back")]
    size = {**bodies("pattern_size_body"), "waist": 900.0}
    card = card_of({**bodies("maker_body"), "bust": 850.0})
    found = compare(pieces, card=card, drafted_for=size, ease=EASE, assumed=("bust", "waist"))
    assert found.level("bust").drafted_is_assumed
    assert found.level("bust").ease_sentence.startswith("If the size is guessed right, the pattern has 9 cm of ease")
    assert "style" not in found.level("bust").sentence
    assert not any(note.code.startswith("ease-negative") for note in found.notes)


def test_a_piece_that_is_missing_is_said() -> None:
    (note,) = [note for note in notes_of([lab_piece("s1_front")]) if note.code == "piece-missing"]
    assert note.text.startswith("There is no bodice back, so bust, waist and neck can't be compared")
    assert not any(note.code == "piece-missing" for note in notes_of([lab_piece("s1_front"), lab_piece("s2_back")]))


def test_a_body_is_known_no_better_than_skilled_hands_agree() -> None:
    """ISO 20685: 9 mm for a large girth, 5 mm for a segment length, 4 mm for a small girth or a breadth."""
    found = compared()
    for name, mm in (("waist", 9.0), ("back waist length", 5.0), ("neck", 4.0), ("across back", 4.0)):
        assert found.level(name).uncertainty_mm == pytest.approx(mm, abs=0.1)
    close = compared(waist=745.0 + 8.0).level("waist")
    assert close.too_close
    assert close.sentence == "The pattern fits you round the waist: the difference is too close to call."
    assert not compared(waist=745.0 + 12.0).level("waist").too_close
