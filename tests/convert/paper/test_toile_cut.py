"""Toile pieces: allowance all round, folded darts' peaks, hems whose ends meet the side when they are turned up."""

import numpy as np
import pytest
from shapely import LinearRing, LineString, Point, Polygon

from calibration.ground.points import Points, as_points, closed, resample
from convert.paper.sheets.toile_cut import HEM_MM, toile_ring, toile_widths, toile_words
from convert.piece.piece import Edge, EdgeName, Piece
from tests.convert.paper.plain_pieces import NONE, bodice


def _edge(name: EdgeName, *corners: tuple[float, float], on_fold: bool = False) -> Edge:
    points = as_points(resample(np.array(corners, float), 0.5))
    return Edge(name=name, points=points, cut_points=points, allowance=NONE, on_fold=on_fold)


def sleeve() -> Piece:
    """A sleeve that grows from 220 mm at the wrist to 340 mm, 400 mm higher."""
    return Piece(
        kind="sleeve",
        edges=(
            _edge("wrist", (-110, 0), (110, 0)),
            _edge("underarm seam front", (110, 0), (170, 400)),
            _edge("cap", (170, 400), (0, 520), (-170, 400)),
            _edge("underarm seam back", (-170, 400), (-110, 0)),
        ),
    )


def skirt() -> Piece:
    """A skirt that grows wider downwards, its centre on the fold."""
    return Piece(
        kind="skirt front",
        edges=(
            _edge("hem", (0, 0), (280, 0)),
            _edge("side seam", (280, 0), (230, 500)),
            _edge("waist", (230, 500), (0, 500)),
            _edge("centre front", (0, 500), (0, 0), on_fold=True),
        ),
    )


def width_at(ring: Points, y: float) -> float:
    cut = Polygon(ring).intersection(LineString([(-1000, y), (1000, y)]))
    return float(cut.length)


@pytest.mark.parametrize("piece", [sleeve(), skirt()], ids=lambda piece: piece.kind)
def test_a_turned_up_hem_is_as_wide_as_the_piece_it_lies_on(piece: Piece) -> None:
    """Turned up along y = 0, what lies at -y comes to lie at +y: both must be as wide, to be caught in the seams."""
    ring = toile_ring(piece, toile_widths(piece))
    assert ring[:, 1].min() == pytest.approx(-HEM_MM, abs=0.05)
    for y in (5.0, 20.0, 38.0):
        assert width_at(ring, -y) == pytest.approx(width_at(ring, y), abs=0.2), y


def test_a_fold_runs_straight_on_through_the_hem() -> None:
    ring = toile_ring(skirt(), toile_widths(skirt()))
    assert ring[:, 0].min() == pytest.approx(0.0, abs=0.05)
    assert np.ptp(ring[ring[:, 0] < 0.06][:, 1]) > 500.0 + HEM_MM


def test_allowance_is_as_wide_as_asked_along_every_seam() -> None:
    piece = bodice()
    ring = LinearRing(toile_ring(piece, toile_widths(piece, 15.0)))
    for edge in piece.edges:
        middle = Point(edge.points[len(edge.points) // 3])
        assert ring.distance(middle) == pytest.approx(0.0 if edge.on_fold else 15.0, abs=0.1), edge.name


def test_a_folded_darts_end_reaches_the_cut_edge() -> None:
    """Folded shut about its apex, the dart's middle lies on a leg: there the paper must reach as far as beside it."""
    piece = bodice()
    (dart,) = piece.darts
    ring = Polygon(toile_ring(piece, toile_widths(piece, 15.0)))
    apex, middle = dart.apexes[0], dart.legs.mean(0)
    leg = float(np.hypot(*(dart.legs[0] - apex)))
    reach = LineString([apex, apex + (middle - apex) * 2.0]).intersection(ring.exterior)
    far = float(np.hypot(*(np.array(reach.coords[0]) - apex)))
    # folded, the cloth at the leg ends 15 mm square to the waist; the peak is where both halves' cut edges meet
    assert far > leg + 14.0
    assert LineString(closed(np.array(ring.exterior.coords)[:-1])).is_simple


def test_what_is_said_wins_and_stands_on_the_sheet() -> None:
    piece = sleeve()
    said = {"seams": 10.0, "hem": 50.0, "cap": 20.0}
    assert toile_widths(piece, said) == {
        "wrist": 50.0,
        "underarm seam front": 10.0,
        "cap": 20.0,
        "underarm seam back": 10.0,
    }
    assert toile_words(said) == "Seam allowance 1 cm included, hems 5 cm, cap 2 cm, none at a fold"
    assert toile_words(15.0) == "Seam allowance 1.5 cm included, hems 4 cm, none at a fold"
    assert toile_widths(skirt(), 0.0)["hem"] == 0.0
