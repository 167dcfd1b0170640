"""A dress in one piece becomes a block: bust, waist and hip at its own levels, lengths, double-pointed darts."""

import json

import numpy as np
import pytest
from shapely.geometry import LineString

from calibration.ground.errors import InputError
from convert.block.block import Block
from convert.block.measured.measure import measure
from convert.block.moves import dress as dress_moves
from convert.block.moves.change import Rule, perform, undo
from convert.block.record import to_record
from convert.block.shape.dress import double_darts, waist_level
from convert.block.shape.shape import shape_of
from convert.block.solved.solve import suggest
from convert.piece.piece import Piece
from tests.convert.block.drafts import drafted
from tests.convert.block.makers import card_of
from tests.convert.block.test_dress import dress

EASE = {"bust": 60.0, "waist": 25.0, "hip": 55.0}
BODY = {
    "bust": 960.0,
    "waist": 760.0,
    "hip": 1040.0,
    "back waist length": 392.0,
    "front waist length": 415.0,
    "waist to hip": 200.0,
    "skirt length": 600.0,
    "shoulder length": 128.0,
    "upper arm": 300.0,
    "arm length": 570.0,
    "wrist": 160.0,
}
RULES = [dress_moves.LENGTHEN_ABOVE_WAIST, dress_moves.WIDEN_AT_UNDERARM, dress_moves.TAKE_IN_DOUBLE_DARTS]
RULES += dress_moves.dress_rules(200.0)


def pair(turn_deg: float = 0.0) -> list[Piece]:
    return [
        dress("dress front", intake=30.0, turn_deg=turn_deg),
        dress("dress back", intake=24.0, turn_deg=turn_deg),
    ]


@pytest.fixture(scope="module", params=[0.0, 77.0])
def block(request: pytest.FixtureRequest) -> Block:
    return suggest(pair(request.param), card=card_of(BODY), drafted_for=None, ease=EASE)


def test_a_dress_is_the_makers_measurement_and_ease(block: Block) -> None:
    levels = {level.name: level for level in block.levels}
    for name, ease in EASE.items():
        assert levels[name].block_mm == pytest.approx(BODY[name] + ease, abs=0.1)
    for name in ("back waist length", "front waist length", "skirt length", "shoulder length"):
        assert levels[name].block_mm == pytest.approx(BODY[name], abs=0.3), name
    assert not [note for note in block.notes if note.code == "target-missed"]


def test_its_points_alone_say_the_same(block: Block) -> None:
    """Measured with shapely from what is written: lines across at underarm, waist and hip."""
    found = {"bust": 0.0, "waist": 0.0, "hip": 0.0}
    for one in json.loads(json.dumps(to_record(block)))["pieces"]:
        if not one["piece"].startswith("dress"):
            continue
        edges = {edge["name"]: np.array(edge["points"]) for edge in one["edges"]}
        name = next(key for key in edges if key.startswith("centre"))
        top, low = edges[name][0], edges[name][-1]
        up = (top - low) / np.hypot(*(top - low))
        across = np.array([up[1], -up[0]])
        side = np.column_stack([(edges["side seam"] - low) @ across, (edges["side seam"] - low) @ up])
        if side[:, 0].mean() < 0:
            side[:, 0] *= -1.0
        (dart,) = one["darts"]
        legs = (np.array(dart["legs"]) - low) @ np.column_stack([across, up])
        waist = float(legs[:, 1].mean())
        line = LineString(side)
        for level, height in (("waist", waist), ("hip", waist - BODY["waist to hip"])):
            cut = LineString([(0.0, height), (2000.0, height)])
            found[level] += 2 * line.intersection(cut).bounds[2]
        found["waist"] -= 2 * float(np.hypot(*(legs[1] - legs[0])))
        found["bust"] += 2 * side[np.argmax(side[:, 1]), 0]
    for level, mm in found.items():
        assert mm == pytest.approx(BODY[level] + EASE[level], abs=0.2), level


def test_it_sews_and_a_sleeve_is_drafted_for_it(block: Block) -> None:
    # the drawn dress has kinks of its own at the joins; the lines of a dress are not drawn anew: they are refused, and
    # said, while everything that is sewn or measured holds
    failed = [check for check in block.checks if not check.sound]
    assert {check.unit for check in failed} == {"degrees"}, failed
    assert {check.where.split()[0] for check in failed} == {"dress"}, failed
    assert [note for note in block.notes if note.code == "lines-kept" and "dress" in note.text]
    assert [piece.kind for piece in block.pieces] == ["dress front", "dress back", "sleeve"]
    front, back = (shape_of(piece) for piece in block.pieces[:2])
    for name in ("side seam", "shoulder"):
        gap = LineString(front.ring[front.run(name, "armhole")]).length
        assert gap == pytest.approx(LineString(back.ring[back.run(name, "armhole")]).length, abs=0.1)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
@pytest.mark.parametrize("amount", [8.0, -6.0])
def test_a_move_on_a_dress_is_taken_back(rule: Rule, amount: float) -> None:
    piece = pair()[0]
    after, move = perform(piece, rule, amount)
    back = undo(after, move)
    assert np.abs(back.seam_line - piece.seam_line).max() < 1e-6
    for one, old in zip(back.darts, piece.darts, strict=True):
        assert np.abs(one.legs - old.legs).max() < 1e-6
        assert np.abs(one.apexes - old.apexes).max() < 1e-6
    assert np.abs(shape_of(after).ring[:, 0].min()) < 1e-9  # the centre line stays straight


@pytest.mark.parametrize(
    ("rule", "level", "times"),
    [
        (RULES[1], "bust", 2.0),
        (RULES[2], "waist", -2.0),
        (RULES[3], "waist", 2.0),
        (RULES[4], "hip", 2.0),
        (RULES[0], "front waist length", 1.0),
        (RULES[5], "skirt length", 1.0),
    ],
)
def test_a_move_does_what_it_says_and_nothing_else(rule: Rule, level: str, times: float) -> None:
    front, back = pair()
    old = {one.name: one.mm for one in measure([front, back], waist_to_hip=200.0)}
    after, _ = perform(front, rule, 9.0)
    new = {one.name: one.mm for one in measure([after, back], waist_to_hip=200.0)}
    assert new[level] - old[level] == pytest.approx(times * 9.0, abs=0.2)
    for name in {"bust", "waist", "hip", "front waist length", "skirt length", "neck"} - {level}:
        assert new[name] == pytest.approx(old[name], abs=0.2), name


def test_double_darts_stay_where_the_waist_is(block: Block) -> None:
    for piece in block.pieces[:2]:
        shape = shape_of(piece)
        (dart,) = double_darts(shape)
        assert dart.legs[:, 1] == pytest.approx(waist_level(shape), abs=0.01)
        assert dart.apexes[0, 1] > dart.legs[0, 1] > dart.apexes[1, 1]


def test_a_dress_and_a_skirt_in_one_job_are_refused() -> None:
    skirt = drafted(
        "skirt front",
        {
            "hem": [(0, -600), (260, -600)],
            "side seam": [(260, -600), (230, 0)],
            "waist": [(230, 0), (0, 0)],
            "centre front": [(0, 0), (0, -600)],
        },
    )
    with pytest.raises(InputError, match="in one job"):
        suggest([*pair(), skirt], card=card_of(BODY), drafted_for=None, ease=EASE)


def test_half_a_dress_takes_its_share() -> None:
    front = pair()[0]
    size = {**BODY, "bust": 920.0, "waist": 715.0, "hip": 1000.0}
    block = suggest([front], card=card_of(BODY), drafted_for=size, ease=EASE)
    old, new = shape_of(front), shape_of(block.pieces[0])
    assert new.ring[:, 0].max() - old.ring[:, 0].max() == pytest.approx(10.0, abs=0.5)
