"""What punched holes mean: read, and told otherwise."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.ground.points import Points
from convert.piece.names.told import HolesTold, Told
from convert.piece.piece import Piece
from convert.piece.read import piece_from
from convert.trace.tracing import TracedMark
from tests.convert.piece.shapes import Drawn, draw

DART: Points = np.array([[84.0, 1.0], [112.0, 1.5], [98.0, 128.0]])  # leg ends and point, in the piece's frame
KITE: Points = np.array([[110.0, -140.0], [112.0, 130.0], [99.0, -10.0], [123.0, -10.0]])


def punched(drawn: Drawn, small: Points, large: Points | None = None) -> Drawn:
    """The piece unprinted, with holes."""
    holes = [TracedMark(kind="hole", at=at, size_mm=3.0) for at in drawn.laid(small)]
    holes += [TracedMark(kind="hole", at=at, size_mm=6.0) for at in (() if large is None else drawn.laid(large))]
    return replace(drawn, tracing=replace(drawn.tracing, lines=(), marks=tuple(holes)))


def there(drawn: Drawn, piece: Piece, points: Points) -> Points:
    """The drafted frame in the piece's own."""
    assert piece.placement is not None
    return piece.placement.to_piece(drawn.laid(points))


def meanings(piece: Piece) -> list[str]:
    return [mark.meaning for mark in piece.marks if mark.kind == "hole"]


def test_four_holes_like_a_kite_are_a_double_pointed_dart() -> None:
    drawn = punched(
        draw("dress front", np.random.default_rng(3), darts=False, printed=False),
        np.vstack([KITE, (KITE[0] + KITE[2])[None] / 2, (KITE[0] + KITE[3])[None] / 2]),
        np.array([[60.0, -300.0], [60.0, -100.0], [60.0, 100.0]]),
    )
    piece = piece_from(drawn.tracing, "dress front")
    (dart,) = [one for one in piece.darts if one.on is None]
    truth = there(drawn, piece, KITE)
    for found, wanted in ((dart.apexes, truth[:2]), (dart.legs, truth[2:])):
        assert max(np.hypot(*(found - one).T).min() for one in wanted) < 0.01
    assert meanings(piece).count("line of a double-pointed dart") == 2
    assert meanings(piece).count("grain") == 3


def test_holes_mean_what_was_told_of_their_group() -> None:
    large = np.array([[70.0, 180.0], [70.0, 260.0], [70.0, 340.0]])
    drawn = punched(draw("bodice front", np.random.default_rng(3), darts=False, printed=False), DART, large)
    read = piece_from(drawn.tracing, "bodice front")
    assert meanings(read).count("grain") == 3
    assert [dart.on for dart in read.darts] == ["waist"]

    def told(at: Points, means: str) -> Piece:
        said = HolesTold(at=drawn.laid(np.atleast_2d(at)), means=means)  # type: ignore[arg-type]
        return piece_from(drawn.tracing, "bodice front", Told(hole_meanings=(said,)))

    nothing = told(DART[2], "nothing")
    assert nothing.darts == ()
    assert meanings(nothing)[:3] == ["nothing"] * 3
    assert {mark.evidence for mark in nothing.marks if mark.kind == "hole"} == {"told", "measured"}
    fold = told(large[1], "fold")
    assert fold.edge("centre front").on_fold
    assert meanings(fold)[3:] == ["fold"] * 3
    seam = told(DART[:2], "seam line").edge("waist").allowance
    assert seam.evidence == "told"
    assert seam.mm == pytest.approx(read.edge("waist").allowance.mm, abs=1.5)
    dart = told(DART, "dart").darts[0]
    assert dart.evidence == "told"
    assert np.hypot(*(dart.apexes[0] - read.darts[0].apexes[0])) < 0.01


def test_what_holes_cannot_mean_is_said() -> None:
    drawn = punched(draw("bodice front", np.random.default_rng(3), darts=False, printed=False), DART)
    far = HolesTold(at=drawn.laid(np.array([[60.0, 300.0]])), means="grain")
    with pytest.raises(InputError, match="No hole was read within 1 cm"):
        piece_from(drawn.tracing, "bodice front", Told(hole_meanings=(far,)))
    two = HolesTold(at=drawn.laid(DART[:2]), means="dart")
    with pytest.raises(InputError, match="are 2, and it takes 3") as caught:
        piece_from(drawn.tracing, "bodice front", Told(hole_meanings=(two,)))
    assert "add_holes" in caught.value.remedy
