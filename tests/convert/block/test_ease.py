"""Block ease in words, against published bands."""

import pytest

from calibration.ground.errors import InputError
from convert.block.compared.ease import (
    EASE_WORDS,
    block_ease,
    ease_sentence,
    ease_words_sentence,
    eased_levels,
    published_band,
    published_sentence,
)

MM = 25.4


def test_words() -> None:
    """The agreed block ease in words, mm."""
    assert dict(block_ease("close").mm) == {"bust": 40, "waist": 20, "hip": 50, "upper arm": 45}
    assert dict(block_ease().mm) == {"bust": 60, "waist": 25, "hip": 55, "upper arm": 50}
    assert dict(block_ease("Easy").mm) == {"bust": 90, "waist": 40, "hip": 70, "upper arm": 60}
    assert eased_levels() == ("bust", "waist", "hip", "upper arm")


def test_published_bands() -> None:
    """Bust 1 1/2 in to 4 in, waist 1/2 to 1 in, hip 2 to 2 3/4 in (cwu.edu costume text chapter 16; NMSU C-228);
    upper arm at least 2 in (threadsmagazine.com, 2021/09/27)."""
    inch = {"bust": (1.5, 4), "waist": (0.5, 1), "hip": (2, 2.75)}
    for level, (low, high) in inch.items():
        band = published_band(level)
        assert band is not None
        assert (band.low_mm, band.high_mm) == pytest.approx((low * MM, high * MM))
        assert "http" in band.source
    arm = published_band("upper arm")
    assert arm is not None
    assert (arm.low_mm, arm.high_mm) == (50.8, None)
    assert published_band("neck") is None


def test_each_word_lies_in_the_bands_or_is_said_not_to() -> None:
    outside = {
        (word, level): ease_sentence(level, block_ease(word).at(level)).rsplit(", ", 1)[-1]
        for word in EASE_WORDS
        for level in eased_levels()
        if "so this is" in ease_sentence(level, block_ease(word).at(level))
    }
    assert outside == {("easy", "waist"): "so this is roomy.", ("close", "upper arm"): "so this is close."}


def test_levels_told_win() -> None:
    ease = block_ease("close", {"bust": 80.0, "wrist": 30.0})
    assert (ease.at("bust"), ease.at("waist"), ease.at("wrist"), ease.at("neck")) == (80.0, 20.0, 30.0, 0.0)
    assert set(ease.overridden) == {"bust", "wrist"}


def test_unknown_words() -> None:
    with pytest.raises(InputError, match="did you mean usual"):
        block_ease("usaul")
    with pytest.raises(InputError, match="did you mean bust"):
        block_ease("usual", {"bsut": 60.0})


@pytest.mark.parametrize(
    ("level", "mm", "words"),
    [
        ("bust", 60.0, "The block has 6 cm of ease at the bust. Published figures for a fitted garment: 4 to 10 cm."),
        ("bust", 150.0, "so this is roomy."),
        ("bust", 20.0, "so this is close."),
        ("bust", 0.0, "The block has no ease at the bust."),
        ("bust", -30.0, "The block is 3 cm smaller than the body at the bust."),
        ("neck", 10.0, "The block has 1 cm of ease at the neck."),
    ],
)
def test_sentences(level: str, mm: float, words: str) -> None:
    assert words in ease_sentence(level, mm)


def test_negative_ease_says_what_probably_caused_it() -> None:
    said = ease_sentence("hip", -40.0, what="The pattern")
    assert "wrong size" in said
    assert "wrong grid pitch" in said


def test_inches_throughout() -> None:
    said = ease_sentence("bust", 60.0, unit="in")
    assert "2 3/8 in" in said
    assert "1 1/2 to 4 in" in said
    assert "cm" not in said


@pytest.mark.parametrize("word", EASE_WORDS)
def test_words_to_choose_by_say_every_level_with_its_unit(word: str) -> None:
    said = ease_words_sentence(word)
    for level in eased_levels():
        assert level in said
    assert said.count(" cm") == len(eased_levels())
    assert ease_words_sentence(word, unit="in").count(" in ") == len(eased_levels())
    assert published_sentence("hip") == "Published figures for a fitted garment: 5 to 7 cm."
    assert published_sentence("neck") == ""
