"""The measurement card at the door."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calibration.ground.errors import InputError, OutputError
from convert.body.card import BodyMeasurement, Card
from convert.body.definitions import definitions
from convert.body.read_card import card_from_toml, card_text, read_card, write_card
from convert.body.typed import read_toml, typed_length_mm


def read(tmp_path: Path, text: str) -> Card:
    file = tmp_path / "maker.toml"
    file.write_text(text, encoding="utf-8")
    return read_card(file)


def test_the_agreed_card(tmp_path: Path) -> None:
    card = read(
        tmp_path,
        'name = "maker A"\nunit = "cm"\n[measurements]\nbust = 94\nwaist = 79\n"back waist length" = 39.5\n',
    )
    assert card.name == "maker A"
    assert card.unit == "cm"
    assert card.told() == {"bust": 940.0, "waist": 790.0, "back waist length": 395.0}


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("94", 940.0),
        ("94.5", 945.0),
        ('"94,5"', 945.0),
        ("94,5", 945.0),
        ('" 94.5 cm "', 945.0),
        ('"37 in"', 939.8),
        ("37 1/8 in", 37.125 * 25.4),
        ('"37⅛ in"', 37.125 * 25.4),
        ('"37½″"', 37.5 * 25.4),
        ('"940 mm"', 940.0),
        ("“94,5”", 945.0),
    ],
)
def test_lengths_as_people_write_them(tmp_path: Path, typed: str, mm: float) -> None:
    card = read(tmp_path, f"[measurements]\nbust = {typed}\n")
    assert card.mm("bust") == pytest.approx(mm, abs=1e-6)


def test_inches(tmp_path: Path) -> None:
    card = read(tmp_path, 'unit = "inches"\n[measurements]\nbust = 39 1/2\nwaist = "31 3/8"\nheight = "5 ft 5 in"\n')
    assert card.unit == "in"
    assert card.told() == pytest.approx({"bust": 1003.3, "waist": 796.925, "height": 1651.0})


def test_quotation_marks_may_be_left_out(tmp_path: Path) -> None:
    card = read(tmp_path, "name = maker B\n[measurements]\nback waist length = 39,5 # twice\nbust = 94\n")
    assert card.name == "maker B"
    assert card.told() == {"bust": 940.0, "back waist length": 395.0}


def test_rows_above_the_heading_count(tmp_path: Path) -> None:
    assert read(tmp_path, "bust = 94\n").mm("bust") == 940.0


def test_toile_tables_are_left_for_later(tmp_path: Path) -> None:
    assert read(tmp_path, "[measurements]\nbust = 94\n[toile]\nwaist = 'tight'\n").mm("bust") == 940.0


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("bust = -94", "bust is below zero (-94)", "what the tape shows"),
        ("bust = 0", "bust is zero", "what the tape shows"),
        ('bust = ""', "bust: nothing is written there", "take the row out"),
        ("bust =", "“bust” is empty", "take the line out"),
        ("back waist length =", "“back waist length” is empty", "take the line out"),
        ("bust = 9400", "bust is 9400 cm", "Measure again"),
        ("bust = 940", "bust is 940 cm", "write “940 mm”: that is 94 cm"),
        ("bust = 9.4", "bust is 9.5 cm", "94 cm would be likely (decimal point misplaced)"),
        ("bust = 37", "bust is 37 cm", "inches, write “37 in”: that is 94 cm"),
        ("bust = 49\nwaist = 79\nhip = 101", "bust is 49 cm", "94 cm would be likely (digits swapped)"),
        ("bust = nan", "bust: “nan” is not a length", "39.5"),
        ("bust = inf", "bust: “inf” is not a length", "39.5"),
        ("bust = 1e300", "bust: “1e+300” is not a length", "39.5"),
        ("bust = true", "bust: “True” is not a length", "39.5"),
        ("bust = [94]", "bust: “[94]” is not a length", "39.5"),
        ('bust = "ninety"', "bust: “ninety” is not a length", "39.5"),
        ('bust = "9 4"', "bust: “9 4” is not a length", "39.5"),
        ('bust = "94.5.2"', "bust: “94.5.2” is not a number", "39.5"),
        ('bust = "94 kg"', "bust: “94 kg” is not a length", "15 mm"),
        ("bsut = 94", "unknown measurement “bsut”: did you mean bust?", "Write bust"),
        ("bust = 94\n'full bust' = 95", "bust is there twice", "take the other out"),
        ("bust = 94\nbust = 95", "line 3 can't be read", "each name once"),
    ],
)
def test_a_bad_row_is_named_with_its_remedy(tmp_path: Path, text: str, problem: str, remedy: str) -> None:
    with pytest.raises(InputError) as caught:
        read(tmp_path, f"[measurements]\n{text}\n")
    assert problem in caught.value.problem
    assert remedy in caught.value.remedy
    assert "maker.toml" in caught.value.problem
    assert caught.value.exit_code == 3


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('unit = "ell"', "the unit “ell” is not known"),
        ("unit = 3", "“unit” is not written as it should be"),
        ("measurements = 94", "“measurements” is not written as it should be"),
        ('nmae = "x"', "unknown entry “nmae”: did you mean name?"),
        ("[measurements\nbust = 94", "can't be read"),
        ('answered = ["bsut"]', "unknown measurement “bsut”"),
    ],
)
def test_a_bad_card_is_said_in_one_sentence(tmp_path: Path, text: str, problem: str) -> None:
    with pytest.raises(InputError) as caught:
        read(tmp_path, text + "\n")
    assert problem in caught.value.problem


def test_a_card_that_is_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no file"):
        read_card(tmp_path / "maker.toml")
    (tmp_path / "maker.toml").write_bytes(b"\xff\xfe\x00\x01")
    with pytest.raises(InputError, match="UTF-8"):
        read_card(tmp_path / "maker.toml")


def test_without_limits_the_value_is_let_in_for_whoever_asks() -> None:
    assert card_from_toml({"measurements": {"bust": 37}}, limits=False).mm("bust") == 370.0
    with pytest.raises(InputError):
        card_from_toml({"measurements": {"bust": -37}}, limits=False)


def test_an_unusual_body_can_be_confirmed() -> None:
    rows = {"bust": 215}
    with pytest.raises(InputError, match="answered"):
        card_from_toml({"measurements": rows})
    card = card_from_toml({"measurements": rows, "answered": ["bust"]})
    assert card.mm("bust") == 2150.0
    assert card.answered == ("bust",)


def test_an_empty_card_reads_back_and_has_a_row_for_each_measurement(tmp_path: Path) -> None:
    file = tmp_path / "maker.toml"
    write_card(file, name='a "quoted" \\ name')
    card = read_card(file)
    assert card.name == 'a "quoted" \\ name'
    assert card.told() == {}
    text = file.read_text(encoding="utf-8")
    for one in definitions().values():
        assert one.how in text
    filled = text.replace("# bust =", "bust = 94.5")
    file.write_text(filled, encoding="utf-8")
    assert read_card(file).told() == {"bust": 945.0}


def test_a_card_is_never_overwritten_unasked(tmp_path: Path) -> None:
    file = tmp_path / "maker.toml"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError):
        write_card(file)
    assert file.read_text(encoding="utf-8") == "mine"
    write_card(file, overwrite=True)
    assert read_card(file).name == "maker"


def test_estimates_stay_open_on_a_written_card() -> None:
    card = Card(name="maker A", measurements={"bust": BodyMeasurement(mm=900.0, source="estimated")})
    assert "# bust =" in card_text(card)


@given(
    st.sampled_from(["cm", "in"]),
    st.dictionaries(st.sampled_from(sorted(definitions())), st.floats(0.05, 0.95), max_size=8),
    st.text(max_size=20),
)
def test_a_written_card_reads_back_the_same(unit: str, rows: dict[str, float], name: str) -> None:
    told = {
        key: BodyMeasurement(mm=definitions()[key].low_mm * (1 - f) + definitions()[key].high_mm * f)
        for key, f in rows.items()
    }
    card = Card(name=name, measurements=told, unit=unit, answered=tuple(rows))
    back = card_from_toml(tomllib.loads(card_text(card)))
    assert back.told() == pytest.approx(card.told(), abs=1e-3)
    assert back.unit == unit
    assert set(back.answered) == set(rows)


def test_an_unreadable_line_is_shown(tmp_path: Path) -> None:
    file = tmp_path / "x.toml"
    file.write_text("a = 1\n!!\n", encoding="utf-8")
    with pytest.raises(InputError, match="line 2 can't be read: !!"):
        read_toml(file)
    file.write_text('a = [1,\n"x"', encoding="utf-8")
    with pytest.raises(InputError):
        read_toml(file)


def test_feet_alone() -> None:
    assert typed_length_mm("6 ft", unit="in") == pytest.approx(1828.8)
    assert typed_length_mm("5' 4 1/2\"", unit="in") == pytest.approx(64.5 * 25.4)


@pytest.mark.parametrize(
    ("card", "remedy"),
    [
        ('unit = "cm"\n[measurements]\nbust = 37\nwaist = 31\nhip = 40\n"back waist length" = 16\n', 'unit = "in"'),
        ('unit = "in"\n[measurements]\nbust = 94\nwaist = 79\nhip = 101\n', 'unit = "cm"'),
        ('unit = "cm"\n[measurements]\nbust = 37\nwaist = 79\nhip = 101\n', "37 in"),
    ],
)
def test_a_whole_card_in_the_other_unit_is_told_from_one_row(tmp_path: Path, card: str, remedy: str) -> None:
    with pytest.raises(InputError) as refused:
        read(tmp_path, f'name = "maker A"\n{card}')
    assert remedy in refused.value.remedy
