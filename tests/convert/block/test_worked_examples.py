"""Measuring, held against drafts of public-domain handbooks, in inches as printed; sources beside each.

Two kinds, and each test says which. *Worked example*: the handbook prints the figures of its own draft, and those must
come out again. *Rule published, body ours*: the handbook prints a rule only; the body put into it is ours, the widths
are worked out here by the rule, and the body must come out again. What a draft leaves open (where a curve runs, where
a dart stands) is ours and is not tested.
"""

import math

import numpy as np
import pytest

from calibration.ground.units import MM_PER_INCH as IN
from convert.block.measured.measure import measure
from convert.block.measured.on_paper import measure_paper
from convert.piece.piece import Piece
from tests.convert.block.drafts import drafted


def taken(*pieces: Piece) -> dict[str, float]:
    return {one.name: one.mm / IN for one in measure(pieces)}


def bodice(side: str, *, chest: float, waist: float, dart: float = 0.0) -> Piece:
    """A plain half with these widths at the chest line (7 in down) and at the waist (15 1/2 in down), in inches."""
    neck = (0.0, 0.0) if side == "back" else (0.0, -2.5 * IN)
    across = 0.8 * chest
    drawn = waist + dart
    return drafted(
        "bodice back" if side == "back" else "bodice front",
        {
            "waist": [(0, -15.5 * IN), (drawn * IN, -15.5 * IN)],
            "side seam": [(drawn * IN, -15.5 * IN), (chest * IN, -7 * IN)],
            "armhole": [(chest * IN, -7 * IN), (across * IN, -6 * IN), (across * IN, -1 * IN), (7 * IN, -0.5 * IN)],
            "shoulder": [(7 * IN, -0.5 * IN), (2.5 * IN, 0.5 * IN)],
            "neckline": [(2.5 * IN, 0.5 * IN), neck],
            f"centre {side}": [neck, (0, -15.5 * IN)],
        },
        [("waist", [(2 * IN, -15.5 * IN), ((2 + dart / 2) * IN, -9 * IN), ((2 + dart) * IN, -15.5 * IN)])]
        if dart
        else [],
    )


def test_bodice_foundation_size_36() -> None:
    """Worked example, Rosenfeld 1918: back depth 7, waist length 15 1/2, half back 7 1/2, back neck 3 raised 1, back
    shoulder 6.

    https://en.wikisource.org./wiki/The_Practical_Designer_for_Women%27s_and_Misses%27_Underwear/
    Woman%27s_First_Foundation_Lines
    """
    k, i = (3.0, 1.0), (7.5, 0.0)
    way = math.hypot(i[0] - k[0], i[1] - k[1])
    end = (k[0] + 6 * (i[0] - k[0]) / way, k[1] + 6 * (i[1] - k[1]) / way)
    back = drafted(
        "bodice back",
        {
            "waist": [(0, -15.5 * IN), (8 * IN, -15.5 * IN)],
            "side seam": [(8 * IN, -15.5 * IN), (9 * IN, -7 * IN)],
            "armhole": [(9 * IN, -7 * IN), (7.5 * IN, -6.5 * IN), (7.5 * IN, -1.5 * IN), (end[0] * IN, end[1] * IN)],
            "shoulder": [(end[0] * IN, end[1] * IN), (3 * IN, 1 * IN)],
            "neckline": [(3 * IN, 1 * IN), (0, 0)],
            "centre back": [(0, 0), (0, -15.5 * IN)],
        },
    )
    found = taken(back)
    assert found["back waist length"] == pytest.approx(15.5)
    assert found["armhole depth"] == pytest.approx(7.0)
    assert found["across back"] == pytest.approx(2 * 7.5)
    on_paper = {one.name: one.mm / IN for one in measure_paper(back)}
    assert on_paper["shoulder length"] == pytest.approx(6.0)
    assert on_paper["across back"] == pytest.approx(7.5)


def lining_by_rule(*, bust: float, across_back: float, waist: float) -> dict[str, float]:
    """Ingalls' rule for the front of a fitted lining: half front at the chest line (B - BW)/2, a dart of 2 1/2 at the
    waist, finished front waist W/4, so W/4 + 2 1/2 as drawn."""
    dart = 2.5
    return {"chest": (bust - across_back) / 2, "waist": waist / 4, "dart": dart}


@pytest.mark.parametrize(("bust", "across_back", "waist"), [(36.0, 13.5, 24.0), (42.0, 15.0, 31.0)])
def test_fitted_lining(bust: float, across_back: float, waist: float) -> None:
    """Rule published, body ours: Ingalls, Text-Book on Domestic Art. The back waist, left open there, is ours.

    https://chestofbooks.com/crafts/needlework/Text-Book-On-Domestic-Art/French-Lining-Draft.html
    """
    front = bodice("front", **lining_by_rule(bust=bust, across_back=across_back, waist=waist))
    found = taken(front, bodice("back", chest=across_back / 2, waist=waist / 4))
    assert found["bust"] == pytest.approx(bust)
    assert found["waist"] == pytest.approx(waist)


def shirt_by_rule(increased_bust: float) -> tuple[float, float]:
    """Baldt's rule for a shirt, back and front at the chest line: B/4 - 2, and B/2 less that; B is the bust with the
    increase that the book adds for room."""
    back = increased_bust / 4 - 2
    return back, increased_bust / 2 - back


@pytest.mark.parametrize("increased_bust", [38.0, 44.0])
def test_shirt_for_women(increased_bust: float) -> None:
    """Rule published, body ours: Baldt 1916. It is the increased bust, not the body's, that comes out again.

    http://chestofbooks.com/business/clothing/Women-Design-Construction/To-Draft-Shirt.html
    """
    back, front = shirt_by_rule(increased_bust)
    found = taken(bodice("front", chest=front, waist=8.0), bodice("back", chest=back, waist=7.75))
    assert found["bust"] == pytest.approx(increased_bust)


def five_gores_by_rule(waist: float) -> tuple[float, ...]:
    """Ingalls' rule for the half waist of a five-gore skirt: front W/8, side W/6, back what is left of W/2."""
    front, side = waist / 8, waist / 6
    return front, side, waist / 2 - front - side


def gored_skirt(front: tuple[float, ...], back: tuple[float, ...], *, dart: float = 1.5) -> tuple[Piece, Piece]:
    """The gores of a half skirt with these waists, those of the front on one piece and those of the back on another:
    each seam between two gores stands as a dart."""

    def half(which: str, gores: tuple[float, ...]) -> Piece:
        ends = np.cumsum(gores[:-1]) + dart * np.arange(len(gores) - 1)
        wide = sum(gores) + dart * len(ends)
        return drafted(
            f"skirt {which}",
            {
                "hem": [(0, -38 * IN), (20 * IN, -38 * IN)],
                "side seam": [(20 * IN, -38 * IN), (wide * IN, 0)],
                "waist": [(wide * IN, 0), (0, 0)],
                f"centre {which}": [(0, 0), (0, -38 * IN)],
            },
            [
                ("waist", [((at + dart) * IN, 0.0), ((at + dart / 2) * IN, -5 * IN), (at * IN, 0.0)])
                for at in ends.tolist()
            ],
        )

    return half("front", front), half("back", back)


@pytest.mark.parametrize("waist", [24.0, 30.0])
def test_five_gore_skirt(waist: float) -> None:
    """Rule published, body ours: Ingalls, Text-Book on Domestic Art.

    https://chestofbooks.com/crafts/needlework/Text-Book-On-Domestic-Art/Five-Gored-Underskirt-Draft.html
    """
    front, side, back = five_gores_by_rule(waist)
    found = taken(*gored_skirt((front, side), (back,)))
    assert found["skirt waist"] == pytest.approx(waist)
    assert found["skirt length"] == pytest.approx(38.0)


def test_gored_skirt_with_three_side_gores() -> None:
    """Worked example, Ingalls: a model's half waist, gore by gore, is 1 1/2, three of 2 2/3, 2 1/2: together 12.

    https://chestofbooks.com/crafts/needlework/Text-Book-On-Domestic-Art/Gored-Skirt.html
    """
    side = 2 + 2 / 3
    found = taken(*gored_skirt((1.5, side, side), (2.5, side), dart=1.0))
    assert found["skirt waist"] == pytest.approx(2 * 12.0)


@pytest.mark.parametrize("armhole", [16.0, 18.0])
def test_one_piece_sleeve(armhole: float) -> None:
    """Rule published, armhole ours: School Sewing, half width at the underarm line = armhole/2 + 1/2, the curve crossed
    at 1/5 and 2/5 of the armhole in from the edge, cap height 4.

    http://chestofbooks.com/crafts/needlework/School-Sewing/One-Piece-Foundation-Sleeve.html
    """
    half = armhole / 2 + 0.5
    crossed = half - armhole / 5
    sleeve = drafted(
        "sleeve",
        {
            "wrist": [(-4 * IN, -17 * IN), (4 * IN, -17 * IN)],
            "underarm seam front": [(4 * IN, -17 * IN), (half * IN, 0)],
            "cap": [(half * IN, 0), (crossed * IN, 2 * IN), (0, 4 * IN), (-crossed * IN, 2 * IN), (-half * IN, 0)],
            "underarm seam back": [(-half * IN, 0), (-4 * IN, -17 * IN)],
        },
    )
    found = taken(sleeve)
    assert found["upper arm"] == pytest.approx(armhole + 1)
    assert found["arm length"] == pytest.approx(4 + 17)
    assert {one.name: one.mm / IN for one in measure_paper(sleeve)}["cap height"] == pytest.approx(4.0)


def test_a_short_sleeve_is_no_arm() -> None:
    """An arm is 497 to 594 mm long in 90 of 100 women of ANSUR II: a sleeve of 10 in ends above the elbow."""
    sleeve = drafted(
        "sleeve",
        {
            "hem": [(-7 * IN, -5 * IN), (7 * IN, -5 * IN)],
            "underarm seam front": [(7 * IN, -5 * IN), (7 * IN, 0)],
            "cap": [(7 * IN, 0), (3 * IN, 4 * IN), (0, 5 * IN), (-3 * IN, 4 * IN), (-7 * IN, 0)],
            "underarm seam back": [(-7 * IN, 0), (-7 * IN, -5 * IN)],
        },
    )
    found = taken(sleeve)
    assert found["sleeve length"] == pytest.approx(10.0)
    assert found["sleeve hem"] == pytest.approx(14.0)
    assert not {"arm length", "wrist"} & set(found)
