"""Measurement names, and what is said about one that is not known."""

import pytest

from calibration.ground.errors import InputError
from convert.body.definitions import definitions, measurement_name, needed_for

# The names that other programs rely on, and what practice truth calls them.
NAMES = {
    "bust": "bust",
    "high bust": "high bust",
    "under bust": "under bust",
    "waist": "waist",
    "hip": "hip",
    "waist to hip": "waist_to_hip",
    "neck": "neck",
    "back waist length": "back_length",
    "front waist length": "front_length",
    "shoulder length": "shoulder",
    "across back": "back_width",
    "across chest": "chest_width",
    "armhole depth": "armhole_depth",
    "bust point distance": "bust_points",
    "bust height": "bust_depth",
    "arm length": "arm_length",
    "upper arm": "bicep",
    "elbow": "elbow",
    "wrist": "wrist",
    "skirt length": "skirt length",
    "body rise": "body_rise",
    "outside leg": "outside_leg",
    "inside leg": "inside_leg",
    "crotch length": "crotch seam length",
    "thigh": "thigh girth",
    "knee": "knee girth",
    "ankle": "ankle girth",
    "height": "height",
}


def test_every_agreed_name_is_defined_and_no_other() -> None:
    assert set(definitions()) == set(NAMES)


@pytest.mark.parametrize(("name", "other"), NAMES.items())
def test_other_spellings_mean_the_same(name: str, other: str) -> None:
    assert measurement_name(other) == name
    assert measurement_name(f"  {name.upper().replace(' ', '-')} ") == name


def test_no_spelling_means_two_things() -> None:
    spellings = [word for one in definitions().values() for word in {one.name, *one.aliases}]
    assert len(spellings) == len(set(spellings))


def test_every_definition_says_where_how_and_whence() -> None:
    for one in definitions().values():
        assert one.how.endswith(".")
        assert one.where
        assert one.source
        assert 0 < one.low_mm < one.high_mm
        assert one.parts


@pytest.mark.parametrize(
    ("typed", "meant"), [("bsut", "bust"), ("wiast", "waist"), ("back waist lenght", "back waist length")]
)
def test_a_misspelling_gets_a_guess(typed: str, meant: str) -> None:
    with pytest.raises(InputError) as caught:
        measurement_name(typed)
    assert caught.value.problem == f"unknown measurement “{typed}”: did you mean {meant}?"
    assert caught.value.exit_code == 3


def test_chest_is_asked_about_because_charts_use_it_for_the_high_bust() -> None:
    with pytest.raises(InputError, match="two measurements"):
        measurement_name("chest")


def test_nonsense_gets_the_list() -> None:
    with pytest.raises(InputError) as caught:
        measurement_name("qqqq")
    assert "back waist length" in caught.value.remedy


def test_a_part_needs_its_measurements() -> None:
    assert needed_for(["sleeve"]) == ("arm length", "upper arm", "elbow", "wrist", "height")
    assert "hip" not in needed_for(["bodice"])
    assert {"waist", "hip", "waist to hip", "skirt length"} <= set(needed_for(["skirt"]))
