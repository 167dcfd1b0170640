"""What the page says: no word of files and programs, no co-ordinates, no second unit."""

import re

import pytest

from convert.page.server import words

NO_WORD_OF_HERS = re.compile(
    r"job\.toml|\[\[|\]\]|\[pattern\]|--[a-z]|\btold\b|\bsize = |\bat = |\bISO\b|\bASTM\b|mm on the mat|-?\d+\.\d{4}"
)


@pytest.mark.parametrize(
    "said",
    [
        "The outline as told crosses itself (ring self-intersection[-583.487787466 196.64592019], mm on the mat).",
        'Say which one: at = "left", "right", or its number from the left.',
        'size = 3 is line 3 of 5, counted from the inside; for the line beside which 3 is printed write size = "3".',
        "Name the edges of this piece in job.toml; a block needs them all.",
        "Look on the envelope, and write it under [pattern] in job.toml.",
        "print.pdf in /home/maker/jobs/a/out was changed or put there since the last run.",
        "Move or rename what you want to keep, or add --overwrite to replace it.",
        "Check that each change is still wanted, or take it back with --undo.",
        "The lattice points told do not make a flat grid: one is 21.2 squares off.",
        "Say which to follow with size = 1 (the innermost) to size = 5 (the outermost), or by the number printed.",
    ],
)
def test_what_other_rooms_say_is_said_in_her_words(said: str) -> None:
    plain = words.plainly(said)
    assert len(plain) > 20
    assert not NO_WORD_OF_HERS.search(plain), plain
    assert "/home" not in plain


def test_one_unit_at_a_time() -> None:
    said = "The grid was said to be 1 cm. It would be right if the grid were 1 inch (25.4 mm)."
    assert words.plainly(said) == "The lines were said to be 1 cm. It would be right if the grid were 1 inch."
