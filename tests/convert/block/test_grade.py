"""Grade of the misses chart since 1968, for a few pairs; tests/bench/grade.py takes all."""

import pytest

from tests.bench.grade import demo, off_target, pattern_of, size_row, sizes


def test_the_chart_is_the_published_one() -> None:
    assert sizes() == ("6", "8", "10", "12", "14", "16", "18", "20", "22", "24")
    row = size_row("14")  # inches as printed: 34, 36, 28, 38, 16 1/2
    printed = {"high bust": 34.0, "bust": 36.0, "waist": 28.0, "hip": 38.0, "back waist length": 16.5}
    assert {name: row[name] / 25.4 for name in printed} == pytest.approx(printed)


@pytest.mark.parametrize(("made_for", "size"), [("12", "14"), ("14", "10"), ("8", "20"), ("22", "12"), ("24", "6")])
def test_a_block_for_one_size_from_a_pattern_of_another(made_for: str, size: str) -> None:
    pieces, drafted_for = demo()
    off = off_target(pattern_of(made_for, pieces, drafted_for), made_for, size)
    assert off == pytest.approx(dict.fromkeys(off, 0.0), abs=0.1)
