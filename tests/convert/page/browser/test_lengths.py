"""Lengths read on the page exactly as on paper."""

from typing import Any

import pytest

from convert.body.wording import format_body_mm, format_paper_mm

LENGTHS = [
    -40.0,
    -12.7,
    0.0,
    0.4,
    1.0,
    3.175,
    4.9,
    9.5,
    15.0,
    15.875,
    15.9,
    99.95,
    254.0,
    943.0,
    942.5,
    1003.3,
    1234.56,
]


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_same_words_as_on_paper(modules: Any, unit: str) -> None:
    shown = modules.evaluate(
        """async ([lengths, unit]) => {
            const { ofBody, ofPaper } = await import("/static/lengths.js");
            return lengths.map((mm) => [ofBody(mm, unit), ofPaper(mm, unit)]);
        }""",
        [LENGTHS, unit],
    )
    plain = [[text.replace("\u00a0", " ") for text in pair] for pair in shown]
    assert plain == [[format_body_mm(mm, unit), format_paper_mm(mm, unit)] for mm in LENGTHS]


def test_a_bare_number_gets_the_unit(modules: Any) -> None:
    shown = modules.evaluate(
        """async () => {
            const { withUnit } = await import("/static/lengths.js");
            return [withUnit("94", "cm"), withUnit("37 1/2", "in"), withUnit("15 mm", "in"), withUnit('5/8"', "cm")];
        }"""
    )
    assert shown == ["94 cm", "37 1/2 in", "15 mm", '5/8"']
