"""Trousers: what a leg measures, what its moves do, and blocks that meet the maker's measurements."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from calibration.ground.errors import InputError
from convert.block.compared.compare import compare
from convert.block.measured.measure import measure
from convert.block.moves.trousers import trousers_rules
from convert.block.shape.landmarks import net
from convert.block.shape.shape import Shape, shape_of
from convert.block.shape.trousers import hip_level, knee_level, measure_trousers, require_pair, thigh_level
from convert.block.solved.solve import suggest
from convert.body.card import BodyMeasurement, Card
from convert.body.fill import complete_body
from tests.convert.block.trousers_draft import Drafted, drafted_trousers

SIZE = {
    "waist": 700.0, "hip": 955.0, "waist to hip": 205.0, "body rise": 262.0, "outside leg": 1015.0,
    "inside leg": 753.0, "knee": 366.0, "ankle": 232.0, "thigh": 560.0, "height": 1660.0,
}  # fmt: skip
EASE = {"bust": 60.0, "waist": 25.0, "hip": 55.0, "upper arm": 50.0}
EXACT_MM = 0.5  # what a block's measurement may miss its target by: half of what a tape shows


def card_of(**mm: float) -> Card:
    known = {**SIZE, **{name.replace("_", " "): value for name, value in mm.items()}}
    return Card(name="maker A", measurements={name: BodyMeasurement(mm=value) for name, value in known.items()})


def test_what_was_drafted_is_measured():
    drafted = Drafted()
    found = {one.name: one.mm for one in measure(drafted_trousers(drafted), waist_to_hip=205.0)}
    assert found["hip"] == pytest.approx(drafted.hip, abs=2.0)  # the crotch seam leans a little at hip level
    assert found["body rise"] == pytest.approx(drafted.rise + 8.0, abs=0.01)
    assert found["knee"] == pytest.approx(drafted.knee, abs=1.0)  # read a little above where it was drafted
    assert found["ankle"] == pytest.approx(drafted.hem, abs=0.01)
    assert found["trousers waist"] == pytest.approx(drafted.waist, abs=3.0)  # a drafted waist line is a shallow curve


def test_widths_and_lengths_are_those_that_shapely_finds():
    """An independent library cuts the outline straight across and measures its edges."""
    shapes = {piece.kind: shape_of(piece) for piece in drafted_trousers()}
    found = measure_trousers(shapes, 205.0)
    legs = [Polygon(shape.ring) for shape in shapes.values()]

    def across(level_of: Callable[[Shape], float]) -> float:
        cuts = zip(legs, shapes.values(), strict=True)
        return sum(
            leg.intersection(LineString([(-900.0, level_of(shape)), (900.0, level_of(shape))])).length
            for leg, shape in cuts
        )

    assert found["thigh"] == pytest.approx(across(thigh_level), abs=1e-6)
    assert found["knee"] == pytest.approx(across(knee_level), abs=1e-6)
    assert found["hip"] == pytest.approx(2.0 * across(lambda shape: hip_level(shape, shapes, 205.0)), abs=1e-6)
    front = drafted_trousers()[0]
    assert found["outside leg"] == pytest.approx(LineString(front.edge("side seam").points).length, abs=1e-6)
    assert found["inside leg"] == pytest.approx(LineString(front.edge("inseam").points).length, abs=1e-6)


def test_rise_and_legs_are_filled_so_that_they_agree():
    """Two of the three make the third; from hip and height alone they agree with one another."""
    told = complete_body({"hip": 1000.0, "body rise": 275.0, "outside leg": 1040.0})
    assert told["inside leg"] == pytest.approx(765.0)
    guessed = complete_body({"hip": 1000.0, "height": 1680.0})
    assert guessed["body rise"] + guessed["inside leg"] == pytest.approx(guessed["outside leg"])


def test_shorts_have_no_knee_and_no_ankle():
    shorts = drafted_trousers(Drafted(length=480.0, knee=560.0, hem=540.0))
    names = {one.name for one in measure(shorts, waist_to_hip=205.0)}
    assert "leg hem" in names
    assert not names & {"knee", "ankle", "outside leg", "inside leg"}


@pytest.mark.parametrize(
    ("serves", "name", "least"),
    [
        ("crotch depth", "body rise", 9.9),
        ("leg length", "outside leg", 9.5),
        ("trousers hip side", "hip", 19.0),
        ("leg", "knee", 9.9),
        ("leg hem", "ankle", 9.9),
        ("fork", "thigh", 8.0),
        ("tilt", "crotch length", 8.0),
    ],
)
def test_a_move_changes_what_it_serves(serves: str, name: str, least: float):
    shapes = {piece.kind: shape_of(piece) for piece in drafted_trousers()}
    before = measure_trousers(shapes, 205.0)
    moved = {kind: trousers_rules(205.0)[serves].make(shape, 10.0).after for kind, shape in shapes.items()}
    after = measure_trousers(moved, 205.0)
    assert after[name] - before[name] >= least


def test_no_move_leaves_the_leg_as_it_was():
    for piece in drafted_trousers():
        shape = shape_of(piece)
        for rule in trousers_rules(205.0).values():
            assert np.abs(rule.make(shape, 0.0).after.ring - shape.ring).max() < 1e-9


def test_the_block_meets_every_measurement_told_and_its_seams_pair():
    card = card_of(waist=776.0, hip=1004.0, body_rise=271.0, outside_leg=1004.0, inside_leg=733.0, knee=372.0)
    block = suggest(drafted_trousers(), card=card, drafted_for=SIZE, ease=EASE)
    for level in block.levels:
        if level.target_mm is not None:
            assert level.block_mm == pytest.approx(level.target_mm, abs=EXACT_MM), level.name
    front, back = (shape_of(piece) for piece in block.pieces)
    assert net(front, "side seam") == pytest.approx(net(back, "side seam"), abs=0.1)
    assert not [(check.check, check.value) for check in block.checks if not check.sound]
    assert {"trousers waist", "hip", "body rise", "outside leg", "knee", "ankle"} <= {
        level.name for level in block.levels if level.target_mm is not None
    }


@pytest.mark.parametrize(
    "cut", [Drafted(length=480.0, knee=560.0, hem=556.0), Drafted(knee=520.0, hem=620.0), Drafted(darts=2, waist=700.0)]
)
def test_shorts_flares_and_more_darts_are_drawn_soundly(cut: Drafted):
    block = suggest(drafted_trousers(cut), card=card_of(hip=1000.0, waist=740.0), drafted_for=SIZE, ease=EASE)
    assert not [(check.check, check.value) for check in block.checks if not check.sound]
    assert not any(note.code == "lines-kept" for note in block.notes)


def test_a_flared_leg_comes_down_to_a_straight_one_and_that_is_said():
    block = suggest(drafted_trousers(Drafted(hem=620.0)), card=card_of(), drafted_for=SIZE, ease=EASE)
    ankle = next(level for level in block.levels if level.name == "ankle")
    assert ankle.block_mm == pytest.approx(232.0 + 190.0, abs=EXACT_MM)
    assert any(note.code == "ease-limited" and "ankle" in note.text for note in block.notes)


def test_front_and_back_exchanged_are_refused_and_so_are_two_fronts():
    front, back = drafted_trousers()
    with pytest.raises(InputError, match="exchanged"):
        require_pair([replace(front, kind="trousers back"), replace(back, kind="trousers front")])
    with pytest.raises(InputError, match="two fronts"):
        require_pair([front, replace(front, kind="trousers back")])
    require_pair([front, back])


def test_one_leg_alone_is_made_and_the_other_is_not_made_up():
    front, _ = drafted_trousers()
    comparison = compare([front], card=card_of(), drafted_for=SIZE, ease=EASE)
    assert any("not made up" in note.text for note in comparison.notes)
    block = suggest([front], card=card_of(hip=1004.0), drafted_for=SIZE, ease=EASE)
    assert [piece.kind for piece in block.pieces] == ["trousers front"]


def test_rise_and_legs_that_contradict_are_said_or_refused():
    pieces = drafted_trousers()
    said = suggest(pieces, card=card_of(inside_leg=790.0), drafted_for=SIZE, ease=EASE)
    assert any(note.code == "leg-differs" and "3.5 cm" in note.text for note in said.notes)
    with pytest.raises(InputError, match="no leg is like that"):
        suggest(pieces, card=card_of(inside_leg=900.0), drafted_for=SIZE, ease=EASE)
