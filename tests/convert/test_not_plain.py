"""Cuts that can't be made plain are said in a sentence, with what else to try; no plain piece is taken for one."""

from typing import get_args

import pytest

from calibration.ground.errors import InputError
from convert.job.told import piece_kind
from convert.piece.piece import PieceKind


@pytest.mark.parametrize(
    ("said", "why", "instead"),
    [
        ("raglan sleeve", "no plain armhole", "set-in sleeves"),
        ("Front, kimono", "cut in one", "set-in sleeves"),
        ("dolman front", "cut in one", "set-in sleeves"),
        ("cowl front", "folds and darts look alike", "lining"),
        ("bias skirt front", "longer and narrower", "straight grain"),
        ("waistband", "waistband above the waist", "reaches the waist"),
        ("skirt yoke", "hip yoke", "reaches the waist"),
        ("dress front, centre", "right through a dress", "waist seam"),
    ],
)
def test_what_cannot_be_made_plain_is_said_with_what_else_to_try(said: str, why: str, instead: str) -> None:
    with pytest.raises(InputError) as err:
        piece_kind(said, where="job.toml")
    assert why in err.value.problem
    assert instead in err.value.remedy
    assert err.value.problem.count(". ") == 0  # one sentence


def test_every_piece_that_can_be_made_plain_is_taken() -> None:
    for kind in get_args(PieceKind):
        assert piece_kind(kind, where="job.toml") == kind
