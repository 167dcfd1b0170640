"""Which size to start from is said where there is a choice, with the reason."""

from convert.body.card import BodyMeasurement, Card
from convert.body.charts import chart
from convert.body.size_notes import chart_notes, size_notes, start_size

MM = 25.4


def card(**mm: float) -> Card:
    rows = {name.replace("_", " "): BodyMeasurement(mm=value) for name, value in mm.items()}
    return Card(name="maker B", unit="in", measurements=rows)


def test_the_size_by_high_bust_is_named_with_what_the_bust_then_lacks() -> None:
    """High bust 34, full bust 38 in: size 14, 1 in on each half (computed from the misses chart since 1968)."""
    (note,) = size_notes(card(high_bust=34 * MM, bust=38 * MM), chart("misses"), "16", several=False)
    assert note.text.startswith("Which size to start from: size 14 is nearest: high bust 34 in.")
    assert "1 in is added on each half front" in note.text


def test_nothing_is_said_where_there_is_no_choice_or_it_is_the_right_one() -> None:
    maker = card(high_bust=34 * MM, bust=38 * MM)
    assert size_notes(maker, chart("misses"), "14", several=True) == ()
    assert size_notes(maker, None, None, several=False) == ()
    assert size_notes(card(waist=700.0), chart("misses"), "14", several=True) == ()
    assert start_size(card(waist=700.0)) is None


def test_a_nested_pattern_without_a_chart_is_judged_by_the_usual_one_and_that_is_said() -> None:
    (note,) = size_notes(card(high_bust=32 * MM), None, None, several=True)
    assert "size 12" in note.text
    assert "“misses since 1968”" in note.text


def test_a_chart_from_memory_is_said_wherever_it_is_used() -> None:
    (note,) = chart_notes(chart("misses 1956-67"))
    assert "“misses 1956-67” are from memory" in note.text
    assert chart_notes(chart("misses")) == ()
    assert chart_notes(None) == ()
