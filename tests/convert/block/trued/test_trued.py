"""The lines of a set drawn anew: darts folded, seams laid together; held against limits from outside the pattern."""

import numpy as np
import pytest
from shapely.geometry import LineString

from calibration.ground.points import lengths_along
from convert.block.block import Block
from convert.block.shape.shape import shape_of
from convert.block.solved.checks import check_block
from convert.block.solved.solve import suggest
from convert.block.trued.curve import curvatures, lengths, points_at
from convert.block.trued.folded import Fold, line_through
from convert.block.trued.laid import corner_deg, folded
from convert.piece.piece import Piece
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.lab import truth_of
from tests.lab_pieces import body, lab_piece

EASE = {"bust": 60.0, "waist": 25.0, "hip": 55.0, "upper arm": 50.0}


@pytest.fixture(scope="module")
def pattern() -> list[Piece]:
    return [lab_piece(scene) for scene in SET]


@pytest.fixture(scope="module")
def block(pattern: list[Piece]) -> Block:
    inputs = truth_of("s1_front")["inputs"]
    size, maker = body(inputs["pattern_size_body"]), body(inputs["maker_body"])
    return suggest(pattern, card=card_of(maker), drafted_for=size, ease=EASE)


def test_length_and_bend_of_a_cubic_agree_with_shapely_and_a_circle() -> None:
    k = 4.0 / 3.0 * np.tan(np.pi / 8) * 100.0
    quarter = np.array([[100 + 0j, 100 + 1j * k, k + 100j, 100j]])
    points = points_at(quarter, np.linspace(0, 1, 2001))[0]
    assert lengths(quarter)[0] == pytest.approx(
        LineString(np.column_stack([points.real, points.imag])).length, abs=1e-3
    )
    assert curvatures(quarter)[0] == pytest.approx(np.full(33, 0.01), rel=0.03)


def test_a_line_over_a_fold_has_equal_legs_and_no_corner() -> None:
    fold = Fold(apex=np.array([80 + 0j]), axis=np.array([-1j]), half=np.array([0.15]), sense=1)
    line = line_through(
        np.array([-100j]),
        np.array([1 + 0j]),
        np.array([170 - 95j]),
        np.array([1 + 0j]),
        (np.array([60.0]),) * 2,
        [fold],
    )
    near = line.open_points(line.crossings[0][:, None], 0)[0, 0]
    far = line.open_points(line.crossings[0][:, None], 1)[0, 0]
    assert abs(near - 80) == pytest.approx(abs(far - 80), abs=1e-9)
    assert line.intake(0)[0] == pytest.approx(abs(far - near), abs=1e-6)


def test_joined_lines_run_on_where_the_pattern_had_corners(pattern: list[Piece], block: Block) -> None:
    def bend(pieces: tuple[Piece, ...] | list[Piece], what: str) -> float:
        by = {piece.kind: shape_of(piece) for piece in pieces}
        return sum(corner_deg(by[f"{what} {side}"], "waist", "side seam", 15.0) for side in ("front", "back")) - 180.0

    for what in ("bodice", "skirt"):
        assert abs(bend(pattern, what)) > 5.0
        assert abs(bend(block.pieces, what)) < 5.0


def test_folded_darts_leave_one_line_and_the_mouth_a_cap(block: Block) -> None:
    for piece in block.pieces:
        shape = shape_of(piece)
        for dart in piece.darts:
            assert dart.cap is not None
            assert np.ptp(np.hypot(*(dart.legs - dart.apexes[0]).T)) < 0.01
        if shape.darts_on("waist"):
            line = folded(shape, "waist", shape.centre)
            step = np.diff(line, axis=0)[np.hypot(*np.diff(line, axis=0).T) > 0.05]
            turn = np.degrees(np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))))
            assert turn.max() < 2.0
            assert lengths_along(line)[-1] > 100.0


def test_the_checks_refuse_the_pattern_and_hold_on_the_block(pattern: list[Piece], block: Block) -> None:
    refused = {check.check for check in check_block(pattern, waist_to_hip=205.0) if not check.sound}
    assert {"waist smooth across the side seam", "edge runs on over the closed dart"} <= refused
    assert block.sound, [check for check in block.checks if not check.sound]
