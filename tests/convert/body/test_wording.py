"""Numbers as a maker reads them."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from convert.body.wording import format_body_mm, format_paper_mm, format_range_mm, listed


@pytest.mark.parametrize(
    ("mm", "cm", "inches"),
    [
        (0.0, "0 cm", "0 in"),
        (940.0, "94 cm", "37 in"),
        (942.5, "94.5 cm", "37 1/8 in"),
        (914.4, "91.5 cm", "36 in"),
        (5.0, "0.5 cm", "1/4 in"),
        (-15.0, "−1.5 cm", "−5/8 in"),
        (999.9, "100 cm", "39 3/8 in"),
        (12.7, "1.5 cm", "1/2 in"),
    ],
)
def test_body(mm: float, cm: str, inches: str) -> None:
    assert format_body_mm(mm) == cm
    assert format_body_mm(mm, "in") == inches


@pytest.mark.parametrize(
    ("mm", "cm", "inches"), [(15.0, "1.5 cm", "5/8 in"), (15.875, "1.6 cm", "5/8 in"), (9.525, "1 cm", "3/8 in")]
)
def test_paper(mm: float, cm: str, inches: str) -> None:
    assert format_paper_mm(mm) == cm
    assert format_paper_mm(mm, "in") == inches


@given(st.floats(-3000, 3000))
def test_what_is_written_is_within_half_a_step(mm: float) -> None:
    number = float(format_body_mm(mm).removesuffix(" cm").replace("−", "-"))
    assert abs(10 * number - mm) <= 2.5 + 1e-6
    assert re.fullmatch(r"−?\d+(\.5)? cm", format_body_mm(mm))
    assert re.fullmatch(r"−?(\d+|\d+ [1357]/[248]|[1357]/[248]) in", format_body_mm(mm, "in"))


def test_range_says_the_unit_once() -> None:
    assert format_range_mm(38.1, 101.6) == "4 to 10 cm"
    assert format_range_mm(38.1, 101.6, "in") == "1 1/2 to 4 in"
    assert format_range_mm(50.0, 51.0) == "5 cm"


def test_listed() -> None:
    assert listed(["bust"]) == "bust"
    assert listed(["bust", "waist", "hip"]) == "bust, waist and hip"
    assert listed([]) == ""
