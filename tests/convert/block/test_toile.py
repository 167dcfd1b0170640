"""The toile's corrections go into the block, partner seams follow, and every state can be had again."""

import datetime
from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.block.shape.landmarks import net
from convert.block.shape.shape import shape_of
from convert.block.solved.solve import suggest
from convert.block.toile.fittings import Fitting, after_fitting, state_numbered, states
from convert.block.toile.following import pair_differences
from convert.block.toile.places import toile_places
from convert.block.toile.toile import Correction, correct, places, take_back, tried
from convert.block.toile.words import understand
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import EASE, bodies
from tests.convert.block.test_trousers import EASE as LEG_EASE
from tests.convert.block.test_trousers import SIZE
from tests.convert.block.test_trousers import card_of as legs_card
from tests.convert.block.trousers_draft import drafted_trousers
from tests.lab_pieces import lab_piece


@pytest.fixture(scope="module")
def block() -> Block:
    pieces = [lab_piece(scene) for scene in SET]
    return suggest(pieces, card=card_of(bodies("maker_body")), drafted_for=bodies("pattern_size_body"), ease=EASE)


@pytest.fixture(scope="module")
def legs() -> Block:
    """Trousers: places of the legs are on these."""
    return suggest(drafted_trousers(), card=legs_card(), drafted_for=SIZE, ease=LEG_EASE)


def mm(block: Block, name: str) -> float:
    return next(level.block_mm for level in block.levels if level.name == name)


def change(block: Block, text: str) -> Block:
    kinds = [piece.kind for piece in block.pieces]
    return correct(block, [understand(text, kinds=kinds).correction])


def pairs(block: Block) -> dict[str, float]:
    return pair_differences({piece.kind: shape_of(piece) for piece in block.pieces})


LEG_PLACES = {
    name for name, place in toile_places(200.0).items() if all(kind.startswith("trousers") for kind in place.kinds)
}


@pytest.mark.parametrize("place", places())
def test_every_place_can_be_corrected_and_taken_back(block: Block, legs: Block, place: str) -> None:
    block = legs if place in LEG_PLACES else block
    fitted = correct(block, [Correction(place=place, amount_mm=6.0)])
    added = len(fitted.moves) - len(block.moves)
    assert added >= 1
    assert all(not check.check.startswith("dart") or check.sound for check in fitted.checks)
    kept = {pair: value for pair, value in pairs(fitted).items() if place != "crown" or pair != "cap and armhole"}
    for pair, value in kept.items():
        assert value == pytest.approx(pairs(block)[pair], abs=0.05), pair
    for _ in range(added):
        fitted = take_back(fitted)
    for one, old in zip(fitted.pieces, block.pieces, strict=True):
        assert one.seam_line == pytest.approx(old.seam_line, abs=1e-6)
    assert len(fitted.moves) == len(block.moves)


@pytest.mark.parametrize(
    ("text", "name", "by"),
    [
        ("side seam, bodice back: in 1 cm", "bust", -20.0),  # one seam on each side of the body
        ("side seam, bodice back: in 1 cm", "skirt waist", -20.0),  # sewn to the bodice: follows
        ("side seam at the waist: out 1 cm", "waist", 40.0),  # front and back, left and right
        ("waist: out 2 cm", "waist", 20.0),  # a level counts once
        ("skirt waist: out 2 cm", "waist", 20.0),
        ("hip: in 2 cm", "hip", -20.0),
        ("across back: wider 1 cm", "across back", 10.0),
        ("across back: wider 1 cm", "shoulder length", 0.0),
        ("upper arm: out 2 cm", "upper arm", 20.0),
        ("upper arm: out 2 cm", "arm length", 0.0),
        ("armhole: lower 1 cm", "cap ease", 0.0),
        ("armhole: lower 1 cm", "arm length", 0.0),
        ("above the waist: shorten 1.5 cm", "back waist length", -15.0),
        ("centre back at the waist: shorten 1 cm", "back waist length", -10.0),
        ("round back: 1 cm", "shoulder length", 0.0),
        ("sleeve: lengthen 2 cm", "arm length", 20.0),
        ("hem: up 3 cm", "skirt length", -30.0),
        ("waist darts, back: in 1/4 inch", "waist", -2 * 6.35),  # one dart in each half back
    ],
)
def test_what_was_pinned_shows_in_the_measurements(block: Block, text: str, name: str, by: float) -> None:
    # a third of 1/16 in, to which patterns are trued: curved edges shorten a little as they are moved
    assert mm(change(block, text), name) == pytest.approx(mm(block, name) + by, abs=0.5)


def test_a_round_back_leaves_the_side_alone(block: Block) -> None:
    fitted = correct(block, [Correction(place="round back", amount_mm=10.0)])
    assert mm(fitted, "back waist length") == pytest.approx(mm(block, "back waist length") + 10.0, abs=0.1)
    old, new = (next(p for p in b.pieces if p.kind == "bodice back").edge("side seam").points for b in (block, fitted))
    assert np.abs(new - old).max() < 0.5  # a third of 1/16 in, to which patterns are trued


def test_a_longer_side_seam_is_followed_by_its_partner(block: Block) -> None:
    fitted = change(block, "bodice back: lengthen above the waist 1 cm")
    followed = [move for move in fitted.moves[len(block.moves) :] if move.piece == "bodice front"]
    assert round(followed[0].amount_mm) == 10
    assert {move.move for move in followed[1:]} <= {"true the seams"}  # lines drawn smooth again, lengths kept
    assert "follows its partner" in followed[0].sentence


def test_a_partner_that_is_to_be_left_is_left_and_said(block: Block) -> None:
    fitted = change(block, "bodice back only: lengthen above the waist 1 cm")
    assert not [move for move in fitted.moves[len(block.moves) :] if move.piece == "bodice front"]
    assert any(note.code == "partner-left" and "bodice side seams" in note.text for note in fitted.notes)
    assert any(not check.sound and check.check == "side seams equal" for check in fitted.checks)


def test_an_unknown_place_is_named(block: Block) -> None:
    with pytest.raises(InputError, match="elbow"):
        correct(block, [Correction(place="elbow", amount_mm=5.0)])


def test_a_move_that_no_outline_bears_is_refused(block: Block) -> None:
    with pytest.raises(InputError, match=r"crosses itself|can.t be"):
        correct(block, [Correction(place="across back", amount_mm=-400.0)])


FIRST = Fitting(number=1, changes=("side seam: in 1 cm", "sleeve: lengthen 2 cm"), date=datetime.date(2026, 11, 24))
SECOND = Fitting(number=2, changes=("centre back at the waist: shorten 1 cm",))


def test_each_state_follows_from_the_block_as_made(block: Block) -> None:
    history = states(block, [FIRST, SECOND])
    assert [state.number for state in history] == [0, 1, 2]
    assert {effect.name for effect in history[1].effects} >= {"bust", "waist", "hip", "arm length"}
    assert [effect.name for effect in history[2].effects] == ["back waist length"]
    again = states(block, [FIRST, SECOND])[2]
    for one, other in zip(history[2].block.pieces, again.block.pieces, strict=True):
        assert (one.seam_line == other.seam_line).all()


def test_an_undone_fitting_counts_for_nothing(block: Block) -> None:
    history = states(block, [FIRST, replace(SECOND, undone=True)])
    assert [state.number for state in history] == [0, 1]
    alone = after_fitting(states(block, [])[0], FIRST).block
    for one, other in zip(history[-1].block.pieces, alone.pieces, strict=True):
        assert (one.seam_line == other.seam_line).all()
    with pytest.raises(InputError, match="after fitting 2"):
        state_numbered(history, 2)


def test_a_fitting_that_cannot_be_followed_is_named(block: Block) -> None:
    with pytest.raises(InputError, match=r"Fitting 2.*elbow"):
        states(block, [FIRST, replace(SECOND, changes=("elbow: out 1 cm",))])
    with pytest.raises(InputError, match="no change"):
        states(block, [replace(FIRST, changes=())])


def test_many_fittings_stay_sound(block: Block) -> None:
    sound = [
        "side seam at the underarm: in 0.5 cm",
        "armhole: lower 0.5 cm",
        "shoulder point: down 0.5 cm",
        "waist darts: out 0.2 cm",  # more, and the skirt's sides would take in over 70 % of hip less waist
        "hip: out 2 cm",
        "crown: raise 0.2 cm",
        "front neck: lower 0.5 cm",
    ]
    history = states(block, [Fitting(number=i, changes=(one,)) for i, one in enumerate(sound, 1)])
    assert [check for check in history[-1].block.checks if not check.sound] == []


@pytest.mark.parametrize(("edge", "kind"), [("neckline", "bodice front"), ("armhole", "bodice front")])
def test_what_is_pinched_out_of_an_edge_goes_into_a_dart(block: Block, edge: str, kind: str) -> None:
    old = next(piece for piece in block.pieces if piece.kind == kind)
    (move,) = tried(block, Correction(place=f"{edge} pinched", amount_mm=8.0))
    before, after = shape_of(old), shape_of(move.after)
    assert net(after, edge) == pytest.approx(net(before, edge) - 8.0, abs=0.01)
    for name in {"shoulder", "side seam", "waist", "centre front"} - {edge}:
        assert net(after, name) == pytest.approx(net(before, name), abs=0.3), name
    wider = [new.intake - dart.intake for new, dart in zip(move.after.darts, old.darts, strict=True)]
    assert max(wider) > 4.0
    assert sum(abs(one) > 0.5 for one in wider) == 1, "one dart takes it up"
