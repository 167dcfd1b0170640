"""Slips of the pen: measured on a survey's other half where it is at hand, on invented women otherwise."""

import os
from pathlib import Path

import numpy as np
import pytest

from convert.body.card import BodyMeasurement, Card
from convert.body.charts import charts, row
from convert.body.slip_kinds import what_was_meant
from convert.body.slips import Question, question_notes, questions
from convert.body.survey import (
    SURVEY_COLUMNS,
    Statistics,
    read_survey,
    stored_statistics,
    survey_statistics,
    with_own_rules,
)

SURVEY = Path(os.environ.get("OWNBLOCK_DATA", "nowhere")) / "ansur2" / "female_measures_mm.csv"
NAMES = tuple(SURVEY_COLUMNS)
GIRTHS = ("bust", "waist", "hip", "neck", "upper arm", "wrist")
# An ordinary dressmaker's card, invented.
ORDINARY = {
    "bust": 94,
    "waist": 79,
    "hip": 101,
    "neck": 37,
    "back waist length": 39.5,
    "front waist length": 42.5,
    "shoulder length": 12,
    "across back": 35,
    "across chest": 33,
    "armhole depth": 21,
    "bust point distance": 19,
    "bust height": 26.5,
    "waist to hip": 20.5,
    "arm length": 57,
    "upper arm": 30,
    "wrist": 16,
    "height": 166,
}


def card(rows: dict[str, float], *, unit: str = "cm", answered: tuple[str, ...] = ()) -> Card:
    per = 10.0 if unit == "cm" else 25.4
    return Card(
        name="maker A",
        measurements={name: BodyMeasurement(mm=per * value) for name, value in rows.items()},
        unit=unit,  # type: ignore[arg-type]
        answered=answered,
    )


_INVENTED = 2000  # a share of 97 in 100 is then known to 0.4: with fewer, chance alone would decide


def women(seed: int) -> tuple[Statistics, np.ndarray, bool]:
    """Statistics of one half; the other half's cards (N, 11) in half centimetres, mm; whether they are the survey's."""
    random = np.random.default_rng(seed)
    if SURVEY.is_file():
        every = random.permutation(read_survey(SURVEY))
        return with_own_rules(survey_statistics(every[:993])), np.floor(every[993:] / 5 + 0.5) * 5, True
    stored = stored_statistics()
    invented = np.exp(random.multivariate_normal(stored.mean, stored.covariance, _INVENTED))
    return with_own_rules(stored), np.floor(invented / 5 + 0.5) * 5, False


def asked(values: np.ndarray, statistics: Statistics) -> tuple[Question, ...]:
    return questions(card(dict(zip(NAMES, values / 10, strict=True))), statistics=statistics)


def swapped(mm: float) -> list[float]:
    """All ways two neighbouring digits before the decimal point can be exchanged, 09 read as 9."""
    digits = str(int(mm // 10))
    pairs = [i for i in range(len(digits) - 1) if digits[i] != digits[i + 1]]
    return [10.0 * int(digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]) + mm % 10 for i in pairs]


def is_first_offer(found: tuple[Question, ...], name: str, mm: float, within: float) -> bool:
    first = found[0]
    return first.name == name and first.offered_mm is not None and abs(first.offered_mm - mm) <= within


@pytest.mark.parametrize("seed", [0, 1])
def test_clean_cards_are_left_in_peace_and_swapped_digits_caught(seed: int) -> None:
    """Targets: clean 2 %; caught 95 % overall, 99 % where 18 cm or more are lost, 75 % at 9 cm; first offer 97 %."""
    statistics, cards, _ = women(seed)
    random = np.random.default_rng(seed + 100)
    clean = [bool(asked(values, statistics)) for values in cards]
    assert np.mean(clean) <= 0.02
    rows = []
    for values in cards:
        at = int(random.choice([i for i in range(len(NAMES)) if swapped(values[i])]))
        planted = values.copy()
        planted[at] = random.choice(swapped(values[at]))
        found = asked(planted, statistics)
        right = bool(found) and is_first_offer(found, NAMES[at], values[at], 0.1)
        rows.append((abs(planted[at] - values[at]), bool(found), right))
    change, caught, right = (np.array(column) for column in zip(*rows, strict=True))
    assert np.mean(caught) >= 0.95
    assert np.mean(caught[change >= 179]) >= 0.99
    assert np.mean(caught[np.abs(change - 90) < 1]) >= 0.75
    assert right.sum() / caught.sum() >= 0.97


def test_inches_for_centimetres_are_caught() -> None:
    """Target 99 %, intended value the first offer in 97 %; entries in quarter inches, so within 4 mm."""
    statistics, cards, _ = women(2)
    random = np.random.default_rng(102)
    caught, right = [], []
    for values in cards[:500]:
        at = int(random.integers(len(NAMES)))
        planted = values.copy()
        planted[at] = np.round(values[at] / 25.4 * 4) / 4 * 10
        found = asked(planted, statistics)
        caught.append(bool(found))
        right.append(bool(found) and is_first_offer(found, NAMES[at], values[at], 4.0))
    assert np.mean(caught) >= 0.99
    assert sum(right) / sum(caught) >= 0.97


def test_half_girths_missing_digits_and_exchanged_rows_are_caught() -> None:
    """No target is set for these; a missing digit can be put back in many ways, so only its row is asked for."""
    statistics, cards, _ = women(3)
    random = np.random.default_rng(103)
    half, missing, exchanged = [], [], []
    for values in cards[:300]:
        planted = values.copy()
        at = NAMES.index(str(random.choice(GIRTHS)))
        planted[at] = np.floor(values[at] / 10 + 0.5) * 5
        half.append(NAMES[at] in {one.name for one in asked(planted, statistics)})
        planted = values.copy()
        at = int(random.integers(len(NAMES)))
        planted[at] = 10.0 * int(str(int(values[at] // 10))[1:]) + values[at] % 10
        if planted[at] > 0:
            missing.append(NAMES[at] in {one.name for one in asked(planted, statistics)})
        one, other = (int(i) for i in random.choice(len(NAMES), 2, replace=False))
        planted = values.copy()
        planted[[one, other]] = values[[other, one]]
        if abs(values[one] - values[other]) >= 30:
            exchanged.append(
                {NAMES[one], NAMES[other]} <= {name for q in asked(planted, statistics) for name in (q.name, q.other)}
            )
    assert np.mean(half) >= 0.95
    assert np.mean(missing) >= 0.99
    assert np.mean(exchanged) >= 0.95


def test_an_ordinary_card_is_left_in_peace() -> None:
    assert questions(card(ORDINARY)) == ()
    assert questions(card({name: round(8 * cm / 2.54) / 8 for name, cm in ORDINARY.items()}, unit="in")) == ()


@pytest.mark.parametrize("name", [name for name in ORDINARY if name not in ("hip", "height", "shoulder length")])
def test_swapped_digits_in_any_row_are_offered_back(name: str) -> None:
    if not swapped(10 * ORDINARY[name]):
        pytest.skip("its two digits are the same")
    found = questions(card({**ORDINARY, name: swapped(10 * ORDINARY[name])[0] / 10}))
    assert [one.name for one in found] == [name]
    assert found[0].offered_mm == pytest.approx(10 * ORDINARY[name])
    assert found[0].kind == "digits swapped"


def test_what_is_said() -> None:
    (found,) = questions(card({**ORDINARY, "bust": 49}))
    assert found.sentence == (
        "The card says bust 49 cm. 94 cm would fit your other measurements better. Were two digits swapped?"
    )
    (found,) = questions(card({**ORDINARY, "bust": 37}))
    assert found.sentence.endswith("94 cm would fit your other measurements better. Was it read in inches?")
    (found,) = questions(card({**ORDINARY, "hip": 50.5}))
    assert found.kind == "half girth"
    assert "101 cm" in found.sentence
    (found,) = questions(card({**ORDINARY, "waist": 101, "hip": 79}))
    assert (found.name, found.other, found.kind) == ("waist", "hip", "rows exchanged")
    assert "exchanged" in found.sentence
    (found,) = questions(card({**ORDINARY, "height": 230}))
    assert (found.offered_mm, found.kind) == (None, "no explanation")
    assert found.sentence.endswith("Please measure it once more.")


def test_other_ways_to_put_a_digit_back_are_kept() -> None:
    (found,) = questions(card({**ORDINARY, "bust": 9}))
    assert {900.0, 940.0, 950.0} & {found.offered_mm, *found.also_mm}
    assert found.offered_mm not in found.also_mm
    assert len(found.also_mm) == 3


def test_a_card_in_inches_is_asked_in_inches() -> None:
    inches = {name: round(8 * cm / 2.54) / 8 for name, cm in ORDINARY.items()}
    (found,) = questions(card({**inches, "hip": 101}, unit="in"))
    assert found.kind == "centimetres for inches"
    assert "39 3/4 in" in found.sentence
    assert "Was it read in centimetres?" in found.sentence


def test_it_is_right_is_remembered() -> None:
    assert questions(card({**ORDINARY, "bust": 49}, answered=("bust",))) == ()


def test_a_note_says_how_to_answer() -> None:
    (note,) = question_notes(card({**ORDINARY, "bust": 49}, answered=("hip",)))
    assert note.code == "card-question"
    assert note.text.endswith('If it is right, write answered = ["hip", "bust"] above [measurements].')
    exchanged = {**ORDINARY, "back waist length": ORDINARY["upper arm"], "upper arm": ORDINARY["back waist length"]}
    (both,) = question_notes(card(exchanged))
    assert "If they are right" in both.text
    answered = card({**ORDINARY, "bust": 49}, answered=("hip", "bust"))
    assert question_notes(answered) == ()


def test_nothing_is_applied_and_two_slips_make_two_questions() -> None:
    given = card({**ORDINARY, "bust": 49, "arm length": 75})
    assert {one.name for one in questions(given)} == {"bust", "arm length"}
    assert given.mm("bust") == 490.0


def test_a_short_card_can_be_judged() -> None:
    assert questions(card({})) == ()
    assert questions(card({"bust": 94})) == ()
    (found,) = questions(card({"bust": 37}))
    assert found.offered_mm == pytest.approx(939.8)
    (found,) = questions(card({"bust": 94, "waist": 97, "hip": 101, "upper arm": 30}))
    assert found.offered_mm == 790.0


def test_estimates_and_wishes_are_not_questioned() -> None:
    told = dict(card(ORDINARY).measurements)
    told["bust"] = BodyMeasurement(mm=490.0, source="estimated")
    told["skirt length"] = BodyMeasurement(mm=250.0)
    assert questions(Card(name="x", measurements=told)) == ()


def test_rows_of_size_charts_are_bodies() -> None:
    """The charts that come with the program, all sizes; the largest women's size alone is asked about."""
    questioned = [
        (one.name, size)
        for one in charts().values()
        for size in one.sizes
        if questions(card({name: mm / 10 for name, mm in row(one, size).items()}))
    ]
    assert set(questioned) <= {("women's since 1968", "50")}


def test_what_was_meant() -> None:
    found = {(one.kind, round(one.mm, 1)) for one in what_was_meant(495.0, unit="cm", girth=True)}
    assert {("digits swapped", 945.0), ("half girth", 990.0), ("inches for centimetres", 1257.3)} <= found
    assert ("digit missing", 1495.0) in found
    assert ("digits swapped", 900.0) in {(one.kind, one.mm) for one in what_was_meant(90.0, unit="cm", girth=True)}
    assert not any(one.kind == "half girth" for one in what_was_meant(200.0, unit="cm", girth=False))
