"""Block ease in words, against what is published, source by source."""

import pytest

from calibration.ground.errors import InputError
from convert.block.compared.ease import (
    EASE_WORDS,
    block_ease,
    ease_sentence,
    ease_words_sentence,
    eased_levels,
    least_published_mm,
    published_ease,
    published_sentence,
)

MM = 25.4


def test_words() -> None:
    """The agreed block ease in words, mm."""
    assert dict(block_ease("close").mm) == {"bust": 40, "waist": 20, "hip": 50, "upper arm": 45}
    assert dict(block_ease().mm) == {"bust": 60, "waist": 25, "hip": 55, "upper arm": 50}
    assert dict(block_ease("Easy").mm) == {"bust": 90, "waist": 40, "hip": 70, "upper arm": 60}
    assert eased_levels() == ("bust", "waist", "hip", "upper arm")


COSTUME, GUIDE, MAGAZINE = "cwu.edu", "pubs.nmsu.edu", "threadsmagazine.com"


@pytest.mark.parametrize(
    ("level", "figures"),
    [
        ("bust", [(1.5, 2, COSTUME), (3, 4, GUIDE)]),
        ("waist", [(0.75, 1, COSTUME)]),
        ("skirt waist", [(0.5, 0.75, COSTUME)]),
        ("hip", [(2, 2.75, COSTUME)]),
        ("upper arm", [(2, None, MAGAZINE)]),
        ("neck", []),
    ],
)
def test_each_source_is_quoted_by_itself(level: str, figures: list[tuple[float, float | None, str]]) -> None:
    """In inches. http://www.cwu.edu/~robinsos/ppages/resources/costxt/costxt_16.htm: wearing ease at the bust 1 1/2 to
    2, dress waist 3/4 to 1, skirt waist 1/2 to 3/4, hips of all garments 2 to 2 3/4. http://pubs.nmsu.edu/_c/C228,
    table 1: bust 3 to 4 in all. https://www.threadsmagazine.com/2021/09/27/set-in-sleeve-solutions: 2 at least."""
    found = published_ease(level)
    assert len(found) == len(figures)
    for one, (low, high, source) in zip(found, figures, strict=True):
        assert one.low_mm == pytest.approx(low * MM)
        assert one.high_mm == (None if high is None else pytest.approx(high * MM))
        assert source in one.source
    assert least_published_mm(level) == (pytest.approx(min(low for low, _, _ in figures) * MM) if figures else None)


def test_two_sources_are_never_made_one_range() -> None:
    said = published_sentence("bust")
    assert "4 to 5 cm to move in (a university costume text)" in said
    assert "7.5 to 10 cm altogether, on a dress pattern (a university sewing guide)" in said
    assert "4 to 10" not in said
    dress, skirt = published_sentence("waist"), published_sentence("skirt waist")
    assert "on a dress" in dress
    assert "on a skirt" in skirt
    assert dress != skirt


def test_each_word_lies_within_what_is_published_or_is_said_not_to() -> None:
    outside = {
        (word, level): said.rsplit(". ", 1)[-1]
        for word in EASE_WORDS
        for level in eased_levels()
        if "So this is" in (said := ease_sentence(level, block_ease(word).at(level)))
    }
    assert outside == {("easy", "waist"): "So this is roomy.", ("close", "upper arm"): "So this is close."}


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
        ("bust", 60.0, "The block has 6 cm of ease at the bust. Published: 4 to 5 cm to move in"),
        ("bust", 150.0, "So this is roomy."),
        ("bust", 20.0, "So this is close."),
        ("skirt waist", 15.0, "The block has 1.5 cm of ease at the waist. Published: 1.5 to 2 cm on a skirt"),
        ("skirt waist", 40.0, "So this is roomy."),
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
    assert "1 1/2 to 2 in to move in" in said
    assert "cm" not in said


@pytest.mark.parametrize("word", EASE_WORDS)
def test_words_to_choose_by_say_every_level_with_its_unit(word: str) -> None:
    said = ease_words_sentence(word)
    for level in eased_levels():
        assert level in said
    assert said.count(" cm") == len(eased_levels())
    assert ease_words_sentence(word, unit="in").count(" in ") == len(eased_levels())
    assert published_sentence("hip") == "Published: 5 to 7 cm on any garment (a university costume text)."
    assert published_sentence("neck") == ""
