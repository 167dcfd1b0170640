"""What the maker decides herself is kept, and the block still measures what it shall."""

import numpy as np
import pytest

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.block.measured.measure import measure
from convert.block.record import to_record
from convert.block.solved.choices import (
    BACK_DART_PLACES,
    DART_PLACES,
    Choices,
    ToldMove,
    back_dart_place,
    dart_place,
    decided_levels,
    known_moves,
    told_move,
    told_moves,
)
from convert.block.solved.solve import suggest
from convert.piece.piece import Piece
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import EASE, bodies, from_points
from tests.lab import LAB
from tests.lab_pieces import lab_piece

pytestmark = pytest.mark.skipif(LAB is None, reason="OWNBLOCK_LAB names no folder")


@pytest.fixture(scope="module")
def pieces() -> list[Piece]:
    return [lab_piece(scene) for scene in SET]


def made(pieces: list[Piece], choices: Choices) -> Block:
    return suggest(
        pieces,
        card=card_of(bodies("maker_body")),
        drafted_for=bodies("pattern_size_body"),
        ease=EASE,
        choices=choices,
    )


def assert_fits(block: Block, *, sound: bool = True) -> None:
    found = from_points(to_record(block))
    assert found["bust"] == pytest.approx(1000.0, abs=0.5)
    assert found["waist"] == pytest.approx(815.0, abs=0.5)
    assert found["back waist length"] == pytest.approx(396.0, abs=0.5)
    for pair in ("side seams", "shoulders", "skirt sides"):
        assert found[pair] == pytest.approx(0.0, abs=0.5)
    assert block.sound or not sound


@pytest.mark.parametrize("place", DART_PLACES)
def test_all_fullness_goes_where_it_is_wanted(pieces: list[Piece], place: str) -> None:
    block = made(pieces, Choices(darts=dart_place(place)))
    assert_fits(block)
    (front,) = (piece for piece in block.pieces if piece.kind == "bodice front")
    there = {dart.on or "" for dart in front.darts}
    if len(front.darts) > len(place.split(" and ")):
        # nobody sews one dart of over 18 degrees or 4 cm into a waist; a bust dart may take 2 1/2 in (Ingalls): shared
        assert there <= {*place.split(" and "), "waist"}
        assert [move for move in block.moves if move.move in ("split the dart", "pivot the dart")]
        assert sum(dart.intake for dart in front.darts) > 40.0
    else:
        assert there == set(place.split(" and "))
    for dart in front.darts:
        legs = np.hypot(*(dart.legs - dart.apexes[0]).T)
        assert abs(legs[1] - legs[0]) < 0.2


def test_one_dart_at_the_side_is_shared_with_the_waist(pieces: list[Piece]) -> None:
    one = [piece for piece in made(pieces, Choices(darts="side seam")).pieces if piece.kind != "sleeve"]
    (front,) = (p for p in made([*one], Choices(darts="waist and side seam")).pieces if p.kind == "bodice front")
    assert {dart.on for dart in front.darts} == {"waist", "side seam"}


@pytest.mark.parametrize(
    ("move", "piece", "amount"),
    [
        ("widen or narrow at the waist", "bodice front", 9.0),
        ("widen or narrow at the waist", "bodice back", 0.0),
        ("bust alteration", "bodice front", 12.0),
        ("widen or narrow the skirt at the hip", "skirt back", 20.0),
    ],
)
def test_an_amount_told_is_kept_and_the_rest_is_solved_round_it(
    pieces: list[Piece], move: str, piece: str, amount: float
) -> None:
    block = made(pieces, Choices(moves=(ToldMove(move=move, piece=piece, amount_mm=amount),)))  # type: ignore[arg-type]
    assert_fits(block)
    own = [one for one in block.moves if (one.move, one.piece) == (move, piece)]
    assert [one.amount_mm for one in own] == ([pytest.approx(amount, abs=1e-6)] if amount else [])
    assert all(one.told for one in own)


def test_a_level_decided_on_one_piece_leaves_the_others_alone(pieces: list[Piece]) -> None:
    longer = ToldMove(move="lengthen or shorten the sleeve", piece="sleeve", amount_mm=25.0)
    plain, told = made(pieces, Choices()), made(pieces, Choices(moves=(longer,)))
    before, after = ({one.kind: one for one in block.pieces} for block in (plain, told))
    for kind in ("bodice front", "bodice back", "skirt front", "skirt back"):
        # the rounds stop at 0.01 mm of a move; several moves lie on a piece
        assert np.abs(after[kind].seam_line - before[kind].seam_line).max() < 0.03
    usual = sum(move.amount_mm for move in plain.moves if move.move == longer.move)
    short, long = (next(one.block_mm for one in block.levels if one.name == "arm length") for block in (plain, told))
    assert long - short == pytest.approx(25.0 - usual, abs=0.5)


@pytest.mark.parametrize("said", ["round back", "straight back", "sway back", "square shoulder", "lower armhole"])
def test_what_only_the_mirror_tells(pieces: list[Piece], said: str) -> None:
    told = told_move(said, "bodice back", 8.0)
    block = made(pieces, Choices(moves=(told,)))
    assert_fits(block)
    (own,) = (one for one in block.moves if one.move == told.move)
    assert abs(own.amount_mm) == pytest.approx(8.0, abs=1e-6)
    plain = {one.name: one.mm for one in measure(made(pieces, Choices()).pieces)}
    assert {one.name: one.mm for one in measure(block.pieces)}["bust"] == pytest.approx(plain["bust"], abs=0.5)


@pytest.mark.parametrize(
    "said",
    [
        "forward shoulder",
        "broad back",
        "narrow chest",
        "shorter shoulder",
        "higher neck",
        "higher armhole",
        "fuller hip",
    ],
)
def test_every_figure_can_be_told(pieces: list[Piece], said: str) -> None:
    told = told_moves(said, None, 6.0)
    block = made(pieces, Choices(moves=told))
    assert_fits(block, sound=False)
    off = {check.where for check in block.checks if not check.sound}
    assert off <= decided_levels(Choices(moves=told))
    assert all(any(name in note.text for note in block.notes) for name in off)
    assert max(abs(move.amount_mm) for move in block.moves) < 35.0  # nothing is bent to make up for what was told
    for one in told:
        own = [move for move in block.moves if (move.move, move.piece) == (one.move, one.piece)]
        assert [move.amount_mm for move in own] == [pytest.approx(one.amount_mm, abs=1e-6)]


@pytest.mark.parametrize("place", BACK_DART_PLACES)
def test_the_back_dart_goes_where_it_is_wanted(pieces: list[Piece], place: str) -> None:
    block = made(pieces, Choices(back_darts=back_dart_place(place)))
    assert_fits(block)
    (back,) = (piece for piece in block.pieces if piece.kind == "bodice back")
    assert sorted(dart.on or "" for dart in back.darts) == sorted(["waist", place])


def test_what_cannot_be_told() -> None:
    with pytest.raises(InputError, match="did you mean round back") as refused:
        told_move("rond back", "bodice back", 5.0)
    assert "lengthen or shorten the sleeve" in refused.value.remedy
    with pytest.raises(InputError, match="can't go to"):
        dart_place("hem")
    assert len(set(known_moves())) == len(known_moves())


def test_a_move_on_a_piece_that_cannot_have_it(pieces: list[Piece]) -> None:
    with pytest.raises(InputError, match="can't be made on a sleeve"):
        made(pieces, Choices(moves=(ToldMove(move="sway back", piece="sleeve", amount_mm=5.0),)))
