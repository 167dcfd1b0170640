"""Measuring, held against worked drafts of public-domain handbooks: each draft's own numbers must come out again.

All in inches, as printed; sources beside each. What a draft leaves open (where a curve runs) is ours and is not tested.
"""

import math

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
    """Rosenfeld 1918: back depth 7, waist length 15 1/2, half back 7 1/2, back neck 3 raised 1, back shoulder 6.

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


def test_fitted_lining() -> None:
    """Ingalls: bust 36, back width 13 1/2, waist 24: half front (B - BW)/2 = 11 1/4 at the chest line, drawn front
    waist W/4 + 2 1/2 = 8 1/2 with a dart of 2 1/2, finished W/4.

    https://chestofbooks.com/crafts/needlework/Text-Book-On-Domestic-Art/French-Lining-Draft.html
    """
    found = taken(bodice("front", chest=11.25, waist=6.0, dart=2.5), bodice("back", chest=13.5 / 2, waist=6.0))
    assert found["bust"] == pytest.approx(36.0)
    assert found["waist"] == pytest.approx(24.0)


def test_shirt_for_women() -> None:
    """Baldt 1916, bust 38: back at the chest line B/4 - 2 = 7 1/2, front B/2 less that = 11 1/2.

    http://chestofbooks.com/business/clothing/Women-Design-Construction/To-Draft-Shirt.html
    """
    assert taken(bodice("front", chest=11.5, waist=8.0), bodice("back", chest=7.5, waist=7.75))["bust"] == (
        pytest.approx(38.0)
    )


@pytest.mark.parametrize(("waist", "gores"), [(24, (3, 4, 5)), (30, (3.75, 5, 6.25))])
def test_five_gore_skirt(waist: float, gores: tuple[float, float, float]) -> None:
    """Ingalls: front W/8, side W/6, back the rest of W/2. Front and side gore lie on one piece here, a dart between.

    https://chestofbooks.com/crafts/needlework/Text-Book-On-Domestic-Art/Five-Gored-Underskirt-Draft.html
    """
    front, side, back = gores
    assert front + side + back == waist / 2
    dart = 1.5

    def skirt(which: str, wide: float, darts: list[tuple[str, list[tuple[float, float]]]]) -> Piece:
        return drafted(
            "skirt front" if which == "front" else "skirt back",
            {
                "hem": [(0, -38 * IN), (20 * IN, -38 * IN)],
                "side seam": [(20 * IN, -38 * IN), (wide * IN, 0)],
                "waist": [(wide * IN, 0), (0, 0)],
                f"centre {which}": [(0, 0), (0, -38 * IN)],
            },
            darts,
        )

    legs = [((front + dart) * IN, 0.0), ((front + dart / 2) * IN, -5 * IN), (front * IN, 0.0)]
    found = taken(skirt("front", front + side + dart, [("waist", legs)]), skirt("back", back, []))
    assert found["skirt waist"] == pytest.approx(waist)
    assert found["skirt length"] == pytest.approx(38.0)


def test_one_piece_sleeve() -> None:
    """School Sewing: armhole 16: half width at the underarm line 16/2 + 1/2, cap height 4.

    http://chestofbooks.com/crafts/needlework/School-Sewing/One-Piece-Foundation-Sleeve.html
    """
    sleeve = drafted(
        "sleeve",
        {
            "wrist": [(-4 * IN, -17 * IN), (4 * IN, -17 * IN)],
            "underarm seam front": [(4 * IN, -17 * IN), (8.5 * IN, 0)],
            "cap": [(8.5 * IN, 0), (3.2 * IN, 3 * IN), (0, 4 * IN), (-3.2 * IN, 3 * IN), (-8.5 * IN, 0)],
            "underarm seam back": [(-8.5 * IN, 0), (-4 * IN, -17 * IN)],
        },
    )
    found = taken(sleeve)
    assert found["upper arm"] == pytest.approx(16 + 1)
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
