"""What a pattern was drafted for when nobody tells, against size charts and published ease."""

import numpy as np
import pytest

from calibration.ground.units import MM_PER_INCH
from convert.block.block import Measured
from convert.block.compared.drafted import Hints, drafted_for
from convert.body.charts import chart, row


def measured(**mm: float) -> list[Measured]:
    return [Measured(name=name.replace("_", " "), mm=value, uncertainty_mm=1.5) for name, value in mm.items()]


def test_what_was_told_is_the_answer() -> None:
    found = drafted_for(measured(bust=1000.0), told={"bust": 900.0})
    assert (found.evidence, dict(found.body), found.sentence) == ("told", {"bust": 900.0}, "")


@pytest.mark.parametrize("size", ["8", "12", "16", "20"])
def test_a_pattern_with_published_ease_finds_its_row(size: str) -> None:
    """Ease in the bands of a university costume text (waist) and the NMSU guide (bust, 3 to 4 in)."""
    body = row(chart("misses since 1968"), size)
    found = drafted_for(
        measured(
            bust=body["bust"] + 3.25 * MM_PER_INCH,
            waist=body["waist"] + MM_PER_INCH,
            hip=body["hip"] + 2.5 * MM_PER_INCH,
            back_waist_length=body["back waist length"],
        )
    )
    assert found.guess is not None
    assert (found.guess.chart, found.guess.size) == ("misses since 1968", size)
    assert found.evidence == "assumed"
    assert found.guess.ease["bust"] == pytest.approx(3.25 * MM_PER_INCH)
    assert f"size {size} of “misses since 1968”" in found.sentence
    assert "cm" in found.sentence


def test_the_right_row_is_the_guess_or_an_alternative() -> None:
    rng = np.random.default_rng(7)
    sizes = chart("misses since 1968")
    right = named = 0
    for _ in range(60):
        size = str(rng.choice(sizes.sizes))
        body = row(sizes, size)
        style = rng.uniform(0, 1)
        ease = {"bust": 40 + 65 * style, "waist": 18 + 50 * style, "hip": 50 + 25 * style}
        found = drafted_for(
            [Measured(name=n, mm=body[n] + mm + rng.normal(0, 6), uncertainty_mm=2.0) for n, mm in ease.items()]
        )
        assert found.guess is not None
        right += abs(found.body["bust"] - body["bust"]) < 13
        named += any(abs(one.body["bust"] - body["bust"]) < 13 for one in (found.guess, *found.alternatives))
        if found.sure == "fairly sure":
            assert abs(found.body["bust"] - body["bust"]) < 13
    assert right >= 40
    assert named >= 57


@pytest.mark.parametrize(("year", "bust_in"), [(1952, 32), (1963, 34), (1970, 36)])
def test_a_size_14_means_another_bust_in_each_era(year: int, bust_in: int) -> None:
    """Bust of size 14 by year: https://blacktulipsewing.blogspot.com/2020/08/all-change.html."""
    pattern = measured(bust=bust_in * MM_PER_INCH + 80.0)
    found = drafted_for(pattern, hints=Hints(size="14", year=year))
    assert found.body["bust"] == pytest.approx(bust_in * MM_PER_INCH)


def test_pieces_that_tell_nothing_are_said_so() -> None:
    found = drafted_for(measured(cap_ease=25.0))
    assert not found.body
    assert found.guess is None


def test_what_was_not_told_is_taken_from_the_nearest_row_and_said_so() -> None:
    """An envelope that states the bust alone: size 14 of the misses chart since 1968 has bust 36, waist 28 in."""
    found = drafted_for(measured(bust=1000.0, waist=780.0), told={"bust": 914.4})
    assert dict(found.body) == pytest.approx({"bust": 914.4, "waist": 711.2})
    assert found.assumed == ("waist",)
    assert "size 14 of “misses since 1968”" in found.sentence
    old = drafted_for(measured(bust=1000.0, waist=780.0), told={"bust": 32 * MM_PER_INCH}, hints=Hints(year=1952))
    assert old.body["waist"] == pytest.approx(26.5 * MM_PER_INCH)  # size 14 of 1945-56: 32, 26 1/2, 35
    odd = drafted_for(measured(bust=1000.0, waist=780.0), told={"bust": 2000.0})
    assert dict(odd.body) == {"bust": 2000.0}
