"""A dress in one piece: bodice and skirt drawn on one paper measure what they measure apart."""

from collections.abc import Sequence

import numpy as np
import pytest

from calibration.ground.points import Points
from convert.block.compared.compare import compare
from convert.block.measured.measure import measure
from convert.block.shape.places import places
from convert.piece.piece import Allowance, Dart, Edge, EdgeName, Piece, PieceKind
from tests.convert.block.makers import card_of
from tests.lab_pieces import dense

NONE = Allowance(mm=0.0, evidence="told")
UNDERARM, NAPE, WAIST, HEM = 220.0, 400.0, 0.0, -550.0


def dress(kind: PieceKind, *, intake: float, waist: float = 200.0, turn_deg: float = 0.0) -> Piece:
    """A plain dress half: waist at height 0, ``waist`` wide from centre to side before its fish-eye dart is taken."""
    side: list[tuple[float, float]] = [(300.0, HEM), (270.0, -200.0), (waist, WAIST), (245.0, UNDERARM)]
    neck = 330.0 if kind.endswith("front") else NAPE
    lines: dict[str, Sequence[tuple[float, float]]] = {
        "hem": [(0.0, HEM), side[0]],
        "side seam": side,
        "armhole": [(245.0, UNDERARM), (185.0, 240.0), (180.0, 300.0), (190.0, 385.0)],
        "shoulder": [(190.0, 385.0), (70.0, 420.0)],
        "neckline": [(70.0, 420.0), (0.0, neck)],
        "centre front" if kind.endswith("front") else "centre back": [(0.0, neck), (0.0, HEM)],
    }
    darts: tuple[Dart, ...] = ()
    angle = np.radians(turn_deg)
    turned = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])

    def there(points: Sequence[tuple[float, float]]) -> Points:
        return np.array(points, float) @ turned + [12.0, 34.0]

    if intake:
        darts = (
            Dart(
                on=None,
                apexes=there([(100.0, 140.0), (100.0, -120.0)]),
                legs=there([(100.0 - intake / 2, WAIST), (100.0 + intake / 2, WAIST)]),
            ),
        )
    edges = []
    for name, points in lines.items():
        line = dense(there(points))
        edges.append(Edge(name=_edge(name), points=line, cut_points=line, allowance=NONE))
    return Piece(kind=kind, edges=tuple(edges), darts=darts)


def _edge(name: str) -> EdgeName:
    return name  # type: ignore[return-value]


@pytest.mark.parametrize("turn_deg", [0.0, 143.0])
def test_girths_and_lengths_of_a_dress(turn_deg: float) -> None:
    pieces = [
        dress("dress front", intake=30.0, turn_deg=turn_deg), dress("dress back", intake=24.0, turn_deg=turn_deg)
    ]  # fmt: skip
    found = {one.name: one.mm for one in measure(pieces, waist_to_hip=200.0)}
    assert found["bust"] == pytest.approx(4 * 245.0)
    assert found["waist"] == pytest.approx(2 * (200.0 - 30.0 + 200.0 - 24.0))
    assert found["hip"] == pytest.approx(4 * 270.0)
    assert found["back waist length"] == pytest.approx(NAPE - WAIST)
    assert found["front waist length"] == pytest.approx(420.0)
    assert found["skirt length"] == pytest.approx(-HEM)
    assert found["armhole depth"] == pytest.approx(NAPE - UNDERARM)


def test_without_waist_darts_the_waist_is_where_the_side_seam_is_narrowest() -> None:
    found = {m.name: m.mm for m in measure([dress("dress front", intake=0.0), dress("dress back", intake=0.0)])}
    assert found["waist"] == pytest.approx(4 * 200.0)


def test_a_dress_without_a_waist_is_not_given_one() -> None:
    straight = [dress(kind, intake=0.0, waist=255.0) for kind in ("dress front", "dress back")]
    found = {m.name for m in measure(straight, waist_to_hip=200.0)}
    assert "bust" in found
    assert not {"waist", "hip", "back waist length", "skirt length"} & found


def test_a_dress_is_compared_and_its_lines_lie_where_it_is_measured() -> None:
    pieces = [dress("dress front", intake=30.0), dress("dress back", intake=24.0)]
    maker = {"bust": 900.0, "waist": 700.0, "hip": 980.0, "back waist length": 400.0, "waist to hip": 200.0}
    found = compare(pieces, card=card_of(maker), drafted_for=None, ease={"bust": 60.0, "waist": 25.0, "hip": 55.0})
    waist = found.level("waist")
    assert waist.sentence == "The pattern is 3.5 cm smaller round the waist than you need."
    assert waist.where.startswith("straight across at the waist")
    for name, times in (("waist", 1), ("hip", 2)):
        drawn = sum(float(np.ptp(one.points[:, 0])) for one in places(pieces, name, waist_to_hip=200.0))
        assert drawn == pytest.approx(400.0 if name == "waist" else found.level(name).pattern_mm / times)
