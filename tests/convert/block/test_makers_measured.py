"""Makers of the survey, measured again from the written points by other means; tests/bench/makers.py takes 500."""

import json

import pytest

from convert.block.compared.ease import block_ease
from convert.block.record import to_record
from convert.block.solved.solve import suggest
from convert.piece.piece import Piece
from tests.bench.makers import faults, pattern, survey_makers, to_record_of
from tests.bench.measuring import Found, measured
from tests.convert.block.makers import card_of
from tests.lab import truth_of


@pytest.fixture(scope="module")
def demo() -> tuple[list[Piece], dict[str, float], Found]:
    pieces, size = pattern(traced=False)
    return pieces, size, measured(to_record_of(pieces), size["waist to hip"])


def test_the_other_measuring_finds_what_the_pattern_was_drawn_with(
    demo: tuple[list[Piece], dict[str, float], Found],
) -> None:
    truth = truth_of("s1_front")["piece"]["garment_measurements"]
    names = {"bust": "bust", "waist": "waist", "neck": "neck", "hip": "hip", "back_length": "back waist length"}
    for theirs, ours in names.items():
        if theirs in truth and ours in demo[2].lengths:
            assert demo[2].lengths[ours] == pytest.approx(truth[theirs], abs=0.2), ours


@pytest.mark.parametrize("maker", survey_makers(8, seed=77))
def test_a_block_has_no_fault_that_other_means_can_find(
    demo: tuple[list[Piece], dict[str, float], Found], maker: dict[str, float]
) -> None:
    pieces, size, before = demo
    block = suggest(pieces, card=card_of(maker), drafted_for=size, ease=block_ease("usual").mm)
    record = json.loads(json.dumps(to_record(block, curves=False)))
    assert faults(record, before, maker["waist to hip"]) == []
    assert not [note.text for note in block.notes if note.code == "target-missed"]


def test_faults_are_found(demo: tuple[list[Piece], dict[str, float], Found]) -> None:
    pieces, size, before = demo
    maker = survey_makers(1, seed=77)[0]
    block = suggest(pieces, card=card_of(maker), drafted_for=size, ease=block_ease("usual").mm)
    record = json.loads(json.dumps(to_record(block, curves=False)))
    waist = next(edge for edge in record["pieces"][0]["edges"] if edge["name"] == "waist")
    waist["points"] = [[x * 1.02, y] for x, y in waist["points"]]
    assert "waist off target" in faults(record, before, maker["waist to hip"])
