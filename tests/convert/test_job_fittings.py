"""``toile.toml``: typed by hand or added to, never rewritten."""

import datetime
import tomllib
from pathlib import Path

import pytest

from calibration.ground.errors import InputError
from convert.job.fittings import TOILE_FILE, fittings_of, read_fittings, with_fitting, with_undone

DAY = datetime.date(2026, 11, 25)
TYPED = """# mine
[[fitting]]
date = 2026-11-20   # the first
changes = ["side seam: in 1 cm"]

[[ fitting ]]
change = '''
waist: out 2 cm
sleeve: lengthen 2 cm
'''
"""


def test_what_a_person_types(tmp_path: Path) -> None:
    (tmp_path / TOILE_FILE).write_text(TYPED)
    first, second = read_fittings(tmp_path)
    assert (first.date, first.changes) == (datetime.date(2026, 11, 20), ("side seam: in 1 cm",))
    assert second.changes == ("waist: out 2 cm", "sleeve: lengthen 2 cm")
    assert read_fittings(tmp_path / "elsewhere") == ()


def test_a_fitting_is_added_below_what_stands_there() -> None:
    text = with_fitting(TYPED, changes=('hem: up 1"', "hip: in 1 cm"), date=DAY, note="new shoes")
    assert text.startswith(TYPED.rstrip())
    last = fittings_of(tomllib.loads(text))[2]
    assert (last.number, last.changes, last.date, last.note) == (3, ('hem: up 1"', "hip: in 1 cm"), DAY, "new shoes")
    assert len(fittings_of(tomllib.loads(with_fitting("", changes=("hem: up 1 cm",), date=DAY)))) == 1


@pytest.mark.parametrize("number", [1, 2])
def test_undone_and_done_again_leaves_every_letter(number: int) -> None:
    undone = with_undone(TYPED, number, fittings=2)
    assert [one.undone for one in fittings_of(tomllib.loads(undone))] == [number == 1, number == 2]
    assert with_undone(undone, number, fittings=2, undone=False) == TYPED


def test_a_file_written_in_another_way_is_left_to_its_owner() -> None:
    inline = 'fitting = [{ changes = ["side seam: in 1 cm"] }]\n'
    assert len(fittings_of(tomllib.loads(inline))) == 1
    with pytest.raises(InputError, match="can't be marked"):
        with_undone(inline, 1, fittings=1)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('changes = ["side seam: in 1 cm"]', "above the first fitting"),
        ('[[fitting]]\nchnages = ["x"]', "did you mean changes"),
        ('[[fitting]]\ndate = "yesterday"', "date"),
        ("[[fitting]]\nchanges = 3", "changes"),
        ("fitting = 3", "can't be read"),
    ],
)
def test_mistakes_are_named(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        fittings_of(tomllib.loads(text))
