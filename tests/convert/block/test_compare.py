"""The comparison: numbers, and sentences that leave nothing to work out."""

import re

import pytest

from convert.block.compare import Comparison, compare
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
