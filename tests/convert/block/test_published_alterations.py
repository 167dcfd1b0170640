"""Our moves and the solver beside alterations that handbooks print.

What is printed and what is worked out here is said test by test. Where a handbook tells where to cut and leaves the
amount to the figure, the amount is ours, and its paper is cut here with other means than the program's: points above
the cut stay, points below it are shifted, or turned about the uncut end, and the edges are evened.

The New Dressmaker, 1921: https://en.wikisource.org/wiki/Page:Newdressmakerwit00butt.djvu/26 and /27. An older handbook,
its year not shown on the page:
http://www.fashion-design-drawing.com/Use-Of-Butterick-Patterns-Part-4.html, -Part-8.html and -Part-12.html.
"""

import numpy as np
import pytest

from calibration.ground.units import MM_PER_INCH as IN
from convert.block.measured.measure import measure
from convert.block.moves import bodice as bodice_moves
from convert.block.moves.posture import ROUND_BACK
from convert.block.moves.skirt import skirt_rules
from convert.block.shape.landmarks import across_level, net, side_neck, underarm
from convert.block.shape.shape import Shape, shape_of
from convert.block.solved.solve import suggest
from convert.piece.piece import Piece
from tests.convert.block.drafts import drafted
from tests.convert.block.makers import card_of

FINE = IN / 16  # as near as paper is cut and trued: https://www.threadsmagazine.com/2020/08/20/10-patternwork-skills
HIP = 7 * IN  # below the waist, as both books have it


def skirt(which: str, *, waist: float, hip: float, hem: float, dart: float = 1.0) -> Piece:
    """Half a front or back in inches: widths at waist, hip line and 38 in down, one dart in the waist."""
    wide = waist + dart
    return drafted(
        f"skirt {which}",  # type: ignore[arg-type]
        {
            "hem": [(0, -38 * IN), (hem * IN, -38 * IN)],
            "side seam": [(hem * IN, -38 * IN), (hip * IN, -HIP), (wide * IN, 0)],
            "waist": [(wide * IN, 0), (0, 0)],
            f"centre {which}": [(0, 0), (0, -38 * IN)],
        },
        [("waist", [((3 + dart) * IN, 0.0), ((3 + dart / 2) * IN, -4.5 * IN), (3 * IN, 0.0)])],
    )


def back() -> Piece:
    """A plain half back in inches; its measurements are ours."""
    return drafted(
        "bodice back",
        {
            "waist": [(0, -16 * IN), (7 * IN, -16 * IN)],
            "side seam": [(7 * IN, -16 * IN), (9 * IN, -8 * IN)],
            "armhole": [(9 * IN, -8 * IN), (7.2 * IN, -7 * IN), (6.8 * IN, -4 * IN), (7.5 * IN, -0.8 * IN)],
            "shoulder": [(7.5 * IN, -0.8 * IN), (3 * IN, 0.7 * IN)],
            "neckline": [(3 * IN, 0.7 * IN), (1.5 * IN, 0.1 * IN), (0, 0)],
            "centre back": [(0, 0), (0, -16 * IN)],
        },
    )


def test_a_waist_four_inches_larger_on_the_same_hips() -> None:
    """Printed (part 12): figure of waist 34 and hip 44, pattern of hip 44 whose waist is 30: add 4 in at the waist, 2
    in on each side. Ours: how front and back share it, and the paper it is done on."""
    pattern = [skirt(which, waist=7.5, hip=11.0, hem=14.0) for which in ("front", "back")]
    size = {"waist": 30 * IN, "hip": 44 * IN, "waist to hip": HIP}
    before = {one.name: one.mm / IN for one in measure(pattern, waist_to_hip=HIP)}
    assert (before["skirt waist"], before["hip"]) == (pytest.approx(30.0), pytest.approx(44.0))
    card = card_of({"waist": 34 * IN, "hip": 44 * IN, "waist to hip": HIP})
    block = suggest(pattern, card=card, drafted_for=size, ease={"waist": 0.0, "hip": 0.0})
    after = {one.name: one.mm / IN for one in measure(block.pieces, waist_to_hip=HIP)}
    assert after["skirt waist"] - before["skirt waist"] == pytest.approx(4.0, abs=1 / 16)
    assert after["hip"] - before["hip"] == pytest.approx(0.0, abs=1 / 16)
    half = {one.kind: net(shape_of(one), "waist") / IN for one in block.pieces}
    assert sum(half.values()) - 15.0 == pytest.approx(2.0, abs=1 / 32)
    assert all(wide > 7.5 for wide in half.values())
    for one in block.pieces:  # nothing is added at the middle of front or back
        shape = shape_of(one)
        assert np.abs(shape.ring[shape.run(shape.centre, "waist"), 0]).max() < 1e-9


@pytest.mark.parametrize("inches", [2.0, 4.0, -1.5])
def test_a_gored_skirt_is_lengthened_below_the_hip(inches: float) -> None:
    """Printed (1921, pages 22 and 23): hip line 7 in below the waist; cut across each gore 6 in below it and separate
    the pieces. Ours: the amount; four inches are printed as a rare case."""
    amount = inches * IN
    shape = shape_of(skirt("front", waist=7.5, hip=11.0, hem=14.0))
    after = skirt_rules(HIP)[2].make(shape, amount).after
    ring, cut = shape.ring, -(7 + 6) * IN
    theirs = ring - np.outer(ring[:, 1] < cut, [0.0, amount])
    kept = ring[:, 1] > -HIP
    assert after.ring[kept] == pytest.approx(ring[kept], abs=1e-9)
    hem = shape.run("hem", shape.centre)
    assert after.ring[hem] == pytest.approx(theirs[hem], abs=1e-9)
    side = shape.run("side seam", "waist")
    evened = np.interp(after.ring[side, 1], [-38 * IN - amount, -HIP], [14 * IN, 11 * IN])
    low = after.ring[side, 1] < -HIP
    assert np.abs(after.ring[side, 0] - evened)[low].max() < 2 * FINE
    assert net(after, "waist") == pytest.approx(net(shape, "waist"))


def lengths(shape: Shape) -> dict[str, float]:
    centre = shape.ring[shape.run(shape.centre, "waist"), 1]
    return {
        "centre": float(np.ptp(centre)) / IN,
        "under the arm": float(underarm(shape)[1] - centre.min()) / IN,
        "side seam": net(shape, "side seam") / IN,
        "armhole": net(shape, "armhole") / IN,
        "shoulder": net(shape, "shoulder") / IN,
        "neckline": net(shape, "neckline") / IN,
    }


@pytest.mark.parametrize("inches", [1.0, -0.75])
def test_a_long_or_short_waist(inches: float) -> None:
    """Printed (part 4): below the arm, cut or fold across each piece 2 1/2 in above the waistline, by the difference in
    the measure from under the arm to the waist; seam edges are evened. Ours: the amount."""
    shape = shape_of(back())
    after = bodice_moves.LENGTHEN_BELOW.make(shape, inches * IN).after
    was, now = lengths(shape), lengths(after)
    assert now["centre"] - was["centre"] == pytest.approx(inches)
    assert now["under the arm"] - was["under the arm"] == pytest.approx(inches)
    for kept in ("armhole", "shoulder", "neckline"):
        assert now[kept] == pytest.approx(was[kept])
    low = float(shape.ring[:, 1].min())
    theirs = shape.ring - np.outer(shape.ring[:, 1] < low + 2.5 * IN, [0.0, inches * IN])
    waist = shape.run("waist", shape.centre)
    assert after.ring[waist] == pytest.approx(theirs[waist], abs=1e-9)
    side = shape.run("side seam", "armhole")
    evened = np.interp(after.ring[side, 1], [low - inches * IN, low + 8 * IN], [7 * IN, 9 * IN])
    assert np.abs(after.ring[side, 0] - evened).max() < FINE


@pytest.mark.parametrize("inches", [1.0, -0.75])
def test_long_or_short_between_neck_and_underarm(inches: float) -> None:
    """Printed (part 4): above the arm, half way between the underarm and the neck. Ours: the amount."""
    shape = shape_of(back())
    after = bodice_moves.LENGTHEN_ABOVE.make(shape, inches * IN).after
    was, now = lengths(shape), lengths(after)
    assert now["centre"] - was["centre"] == pytest.approx(inches)
    for kept in ("under the arm", "side seam", "shoulder", "neckline"):
        assert now[kept] == pytest.approx(was[kept])
    cut = float(shape.ring[:, 1].min()) + 12 * IN  # 4 in below the neck, 4 above the underarm
    theirs = shape.ring + np.outer(shape.ring[:, 1] > cut, [0.0, inches * IN])
    for name, beside in (("shoulder", "neckline"), ("waist", shape.centre)):
        run = shape.run(name, beside)  # type: ignore[arg-type]
        assert after.ring[run] == pytest.approx(theirs[run], abs=1e-9)


@pytest.mark.parametrize("inches", [0.25, 0.5])
def test_round_shoulders(inches: float) -> None:
    """Printed (part 8): slash across the back at the shoulders to within 3/8 in of the seam at its end, and let it
    spread as the figure asks. Ours: the amount, and that the turned part's centre is drawn straight again, which the
    page leaves to its own centre seam; so heights are compared, not what leans. By the page the shoulder is turned as
    it is; our move alone draws it up to 1/8 in longer, the coarser of the two limits that magazine gives for truing."""
    shape = shape_of(back())
    after = ROUND_BACK.make(shape, inches * IN).after
    level = across_level(shape)
    armhole = shape.run("armhole", "shoulder")
    at = float(np.interp(level, shape.ring[armhole[::-1], 1], shape.ring[armhole[::-1], 0]))
    hinge = at - 0.375 * IN
    lift = inches * (1.0 - side_neck(shape)[0] / hinge)  # turned about the uncut end, a small angle
    was, now = lengths(shape), lengths(after)
    assert now["centre"] - was["centre"] == pytest.approx(inches)
    assert (side_neck(after)[1] - side_neck(shape)[1]) / IN == pytest.approx(lift, abs=1 / 16)
    for kept, limit in (("armhole", 1 / 16), ("side seam", 1 / 16), ("shoulder", 1 / 8)):
        assert now[kept] == pytest.approx(was[kept], abs=limit)
