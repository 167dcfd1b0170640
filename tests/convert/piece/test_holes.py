"""What punched holes mean: read, and told otherwise."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.ground.plane import point_at
from calibration.ground.points import Points, lengths_along
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


def test_holes_from_notch_to_notch_are_gathers_and_no_seam_line() -> None:
    """Where a lower part is gathered into its yoke; a row that runs on past the notches is the seam line."""
    drawn = punched(draw("bodice front", np.random.default_rng(3), darts=False, printed=False), np.zeros((0, 2)))
    seam = drawn.piece.edge("armhole").points
    size = lengths_along(seam)[-1]
    gathers = [point_at(seam, share * size) for share in (0.3, 0.4, 0.5, 0.6, 0.7)]

    def said(ends: tuple[float, float]) -> tuple[str, str]:
        cut = drawn.tracing.outline
        mouths = [cut[np.argmin(np.hypot(*(cut - drawn.laid(point_at(seam, share * size)[None])).T))] for share in ends]
        notches = tuple(TracedMark(kind="notch", at=at, size_mm=5.0) for at in mouths)
        holes = tuple(TracedMark(kind="hole", at=at, size_mm=3.0) for at in drawn.laid(np.array(gathers)))
        piece = piece_from(replace(drawn.tracing, marks=(*holes, *notches)), "bodice front")
        return meanings(piece)[0], piece.edge("armhole").allowance.evidence

    assert said((0.25, 0.75)) == ("gathers at the armhole", "assumed")
    assert said((0.45, 0.52)) == ("seam line of the armhole", "measured")


def test_of_two_rows_near_the_centre_the_outer_is_the_fold_and_the_inner_the_grain() -> None:
    rows = np.array([[x, y] for x in (12.0, 30.0) for y in (60.0, 160.0, 260.0 + x)])
    drawn = punched(draw("bodice front", np.random.default_rng(3), darts=False, printed=False), np.zeros((0, 2)), rows)
    assert meanings(piece_from(drawn.tracing, "bodice front")) == ["fold"] * 3 + ["grain"] * 3


def test_three_holes_near_together_are_the_grain_of_a_low_piece() -> None:
    """A yoke's grain row is no longer than its paper lets it be."""
    drawn = draw("bodice front", np.random.default_rng(3), darts=False, printed=False)
    low = replace(drawn, tracing=replace(drawn.tracing, outline=drawn.tracing.outline * 0.35, lines=()))
    at = (
        low.tracing.outline.mean(0)
        + drawn.laid(np.array([[0, -20.0], [0, 0], [0, 20.0]]))
        - drawn.laid(np.zeros((1, 2)))
    )
    holes = tuple(TracedMark(kind="hole", at=one, size_mm=6.0) for one in at)
    piece = piece_from(replace(low.tracing, marks=holes), "bodice front", Told(no_allowance=True))
    assert meanings(piece) == ["grain"] * 3
