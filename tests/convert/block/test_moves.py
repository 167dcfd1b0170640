"""Moves: what they must keep, what they must change, and that they can be taken back."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import LineString

from calibration.ground.errors import InputError
from calibration.ground.plane import turned
from convert.block.moves import bodice, sleeve
from convert.block.moves.bust import ALTER_BUST
from convert.block.moves.change import Rule, outline_is_simple, perform, undo
from convert.block.moves.darts import dart_angle, move_dart
from convert.block.moves.skirt import skirt_rules
from convert.block.shape.landmarks import across, across_level, armhole_width, bust_point, net, underarm
from convert.block.shape.shape import Shape, shape_of
from convert.piece.piece import Piece
from tests.lab_pieces import lab_piece

BODICE = [getattr(bodice, name) for name in dir(bodice) if isinstance(getattr(bodice, name), Rule)]
SLEEVE = [getattr(sleeve, name) for name in dir(sleeve) if isinstance(getattr(sleeve, name), Rule)]
CASES = (
    [("s1_front", rule) for rule in [*BODICE, ALTER_BUST]]
    + [("s2_back", rule) for rule in BODICE if "bust point" not in rule.name]
    + [("s3_sleeve", rule) for rule in SLEEVE]
    + [(scene, rule) for scene in ("s4_skirt-front", "s5_skirt-back") for rule in skirt_rules(205.0)]
)
CENTRED = [(scene, rule) for scene, rule in CASES if scene != "s3_sleeve"]  # a sleeve has no centre edge


def outline(piece: Piece) -> np.ndarray:
    return np.vstack([edge.points for edge in piece.edges])


def test_points_that_lie_on_one_another_are_no_crossing_and_a_loop_is_one() -> None:
    """Where a dart was closed, its mouth's points are left in one place, a millionth of a micron apart, in no order."""
    piece = lab_piece("s1_front")
    edge = piece.edges[0]
    middle = len(edge.points) // 2
    jitter = np.random.default_rng(3).normal(0.0, 1e-9, (30, 2))
    loop = np.array([[0.0, 0.0], [3.0, 3.0], [3.0, -3.0], [0.2, 1.0], [0.4, 0.0]])
    for spot, simple in ((jitter, True), (loop, False)):
        points = np.insert(edge.points, middle, edge.points[middle] + spot, axis=0)
        assert outline_is_simple(replace(piece, edges=(replace(edge, points=points), *piece.edges[1:]))) is simple


@pytest.mark.parametrize(("scene", "rule"), CASES, ids=lambda value: getattr(value, "name", value))
@pytest.mark.parametrize("amount", [7.0, -6.0])
def test_a_move_taken_back_returns_the_piece(scene: str, rule: Rule, amount: float) -> None:
    piece = lab_piece(scene)
    after, move = perform(piece, rule, amount)
    assert np.abs(outline(after) - outline(move.before)).max() > 1.0
    back = undo(after, move)
    whole = np.vstack([back.seam_line, back.seam_line[:1]])
    assert LineString(whole).hausdorff_distance(LineString(np.vstack([piece.seam_line, piece.seam_line[:1]]))) < 1e-6
    for dart, old in zip(back.darts, piece.darts, strict=True):
        assert dart.apexes == pytest.approx(old.apexes, abs=1e-6)


@pytest.mark.parametrize(("scene", "rule"), CENTRED, ids=lambda value: getattr(value, "name", value))
def test_a_centre_line_stays_straight_and_in_its_place(scene: str, rule: Rule) -> None:
    shape = shape_of(lab_piece(scene))
    after = rule.make(shape, 9.0).after
    assert np.abs(after.ring[after.run(after.centre, "waist"), 0]).max() < 1e-9


def test_turning_agrees_with_shapely() -> None:
    points = np.array([[3.0, 4.0], [-20.0, 7.5], [0.1, -9.0]])
    theirs = affinity.rotate(LineString(points), 0.3, origin=(5.0, -2.0), use_radians=True)
    assert turned(points, np.array([5.0, -2.0]), 0.3) == pytest.approx(np.array(theirs.coords), abs=1e-12)


def test_a_slash_moves_the_far_side_rigidly() -> None:
    """Above the blend the paper is the old one shifted; below it is the old one: an independent construction."""
    shape = shape_of(lab_piece("s1_front"))
    after = bodice.LENGTHEN_ABOVE.make(shape, 12.0).after
    shoulder = shape.run("shoulder", "neckline")
    theirs = affinity.translate(LineString(shape.ring[shoulder]), 0.0, 12.0)
    assert after.ring[shoulder] == pytest.approx(np.array(theirs.coords), abs=1e-12)
    below = np.concatenate([shape.run("side seam", "waist"), shape.run("waist", "side seam")])
    assert after.ring[below] == pytest.approx(shape.ring[below], abs=1e-12)
    assert net(after, "shoulder") == pytest.approx(net(shape, "shoulder"), abs=1e-9)


@pytest.mark.parametrize(
    ("rule", "taker"),
    [
        (bodice.WIDEN_AT_UNDERARM, lambda s: across(s, underarm(s))),
        (bodice.WIDEN_AT_WAIST, lambda s: net(s, "waist")),
        (bodice.LENGTHEN_SHOULDER, lambda s: net(s, "shoulder")),
        (bodice.BROADEN_ACROSS, lambda s: armhole_width(s, across_level(s))),
        (bodice.BUST_POINT_OUT, lambda s: bust_point(s)[0]),
        (bodice.BUST_POINT_DOWN, lambda s: -bust_point(s)[1]),
    ],
)
def test_a_move_does_what_its_sentence_says(rule: Rule, taker: Callable[[Shape], float]) -> None:
    shape = shape_of(lab_piece("s1_front"))
    assert taker(rule.make(shape, 8.0).after) - taker(shape) == pytest.approx(8.0, abs=0.4)
    assert "0.8 cm" in rule.sentence(8.0)


@pytest.mark.parametrize("scene", ["s1_front", "p04_vintage_front"])
@pytest.mark.parametrize("cup_difference", [-40.0, -20.0, 0.0, 20.0, 50.0, 80.0, 120.0])
def test_a_bust_alteration_keeps_armhole_and_side_seam(scene: str, cup_difference: float) -> None:
    shape = shape_of(lab_piece(scene))
    amount = cup_difference / 2
    after = ALTER_BUST.make(shape, amount).after
    assert net(after, "armhole") == pytest.approx(net(shape, "armhole"), abs=1e-6)
    assert net(after, "side seam") == pytest.approx(net(shape, "side seam"), abs=0.1)
    assert net(after, "shoulder") == pytest.approx(net(shape, "shoulder"), abs=1e-9)
    assert net(after, "neckline") == pytest.approx(net(shape, "neckline"), abs=1e-9)
    if amount > 0:
        assert _gape(after, shape) == pytest.approx(amount, abs=0.5 + 0.05 * amount)
        assert after.ring[after.run(after.centre, "waist")[0], 1] < shape.ring[shape.run(shape.centre, "waist")[0], 1]


def _gape(after: Shape, before: Shape) -> float:
    """How much the waist dart nearest to the bust point has grown at its mouth."""

    def intake(shape: Shape) -> float:
        mouths = [shape.ring[shape.legs[i]] for i in shape.darts_on("waist")]
        return max(float(np.hypot(*(legs[1] - legs[0]))) for legs in mouths)

    return intake(after) - intake(before)


def test_a_bust_that_no_front_can_hold_is_refused() -> None:
    with pytest.raises(InputError, match="can't be altered"):
        perform(lab_piece("s1_front"), ALTER_BUST, 400.0)


@pytest.mark.parametrize(
    ("dart", "to", "part"),
    [(1, "waist", 1.0), (0, "side seam", 1.0), (1, "shoulder", 1.0), (0, "armhole", 0.5), (0, "neckline", 1.0)],
)
def test_a_pivoted_dart_keeps_the_sewn_shape(dart: int, to: str, part: float) -> None:
    piece = lab_piece("s1_front")
    after, move = move_dart(piece, dart, to, part=part)  # type: ignore[arg-type]
    old, new = shape_of(piece), shape_of(after)
    for name in old.names:
        assert net(new, name) == pytest.approx(net(old, name), abs=1e-3), name
    back = undo(after, move)
    for edge, was in zip(back.edges, move.before.edges, strict=True):
        assert edge.points == pytest.approx(was.points, abs=1e-9)
    assert len(back.darts) == len(piece.darts)


def test_a_pivoted_dart_keeps_its_angle() -> None:
    """Intake scales with the legs: w2 = w1 L2 / L1 (angle 2 asin(w / 2L)), exact geometry."""
    piece = lab_piece("s2_back")
    shoulder = piece.darts[1]
    after, _ = move_dart(piece, 1, "neckline")
    new = next(dart for dart in after.darts if dart.on == "neckline")
    # the truth states its points to 0.001 mm: 2e-5 rad on legs of 80 mm
    assert dart_angle(new) == pytest.approx(dart_angle(shoulder), abs=5e-5)
    legs = [float(np.hypot(*(d.legs[0] - d.apexes[0]))) for d in (shoulder, new)]
    assert new.intake == pytest.approx(shoulder.intake * legs[1] / legs[0], abs=5e-3)


def test_a_dart_split_and_joined_again_is_the_old_one() -> None:
    piece = lab_piece("s1_front")
    split, _ = move_dart(piece, 1, "shoulder")
    shoulder = next(i for i, dart in enumerate(split.darts) if dart.on == "shoulder")
    joined, _ = move_dart(split, shoulder, "waist")
    direct, _ = move_dart(piece, 1, "waist")
    assert joined.darts[0].intake == pytest.approx(direct.darts[0].intake, rel=0.05)


def test_a_dart_can_not_go_to_the_centre() -> None:
    with pytest.raises(InputError, match="can't be moved"):
        move_dart(lab_piece("s1_front"), 0, "centre front")
