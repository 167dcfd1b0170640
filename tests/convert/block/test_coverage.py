"""The stated 95 % intervals of measurements hold: on drawn errors of mat, lift, calibration and tracing."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from calibration.ground.points import Points
from calibration.sheet.lift import LIFT_DOUBT_MM
from convert.block.measured.allowance_doubt import nudged
from convert.block.measured.measure import measure, measure_shapes
from convert.block.shape.shape import shape_of
from convert.piece.piece import Allowance, Piece
from convert.pipeline.look import MAT_PRINT
from tests.convert.block.test_measure import SET
from tests.lab_pieces import lab_piece

DRAWS = 25
Field = Callable[[Points], Points]


def error_field(rng: np.random.Generator, radius_mm: float) -> Field:
    """Shifts (N, 2) that lie within ``radius_mm`` in 95 of 100 cases and change over 4 to 20 cm, as tracing errs."""
    waves = [
        (2 * np.pi / rng.uniform(40.0, 200.0), rng.uniform(0, 2 * np.pi), rng.uniform(0, 2 * np.pi), rng.normal(size=2))
        for _ in range(24)
    ]
    size = radius_mm / 2.45 * np.sqrt(2.0 / len(waves))  # 2.45: 95 % radius of two normal components

    def field(points: Points) -> Points:
        out = np.zeros_like(points)
        for rate, heading, phase, way in waves:
            along = points @ [np.cos(heading), np.sin(heading)]
            out += np.sin(rate * along + phase)[:, None] * way
        return out * size

    return field


def as_traced(piece: Piece, field: Field, scale: float) -> Piece:
    """The piece with a scale error and a smooth error of its outline."""

    def there(points: Points) -> Points:
        return points * (1.0 + scale) + field(points)

    edges = tuple(replace(edge, points=there(edge.points), cut_points=there(edge.cut_points)) for edge in piece.edges)
    darts = tuple(replace(d, apexes=there(d.apexes), legs=there(d.legs)) for d in piece.darts)
    return replace(piece, edges=edges, darts=darts, marks=())


@pytest.mark.parametrize("radius", [0.1, 0.4])
def test_stated_intervals_hold_on_drawn_errors(radius: float) -> None:
    rng = np.random.default_rng(5)
    true = [lab_piece(scene) for scene in SET]
    right = {one.name: one.mm for one in measure(true, waist_to_hip=205.0)}
    held, all_of_them = 0, 0
    for _ in range(DRAWS):
        mat = rng.normal(0.0, MAT_PRINT / 2)  # one mat for all pieces
        pieces = []
        for piece in true:
            lift = rng.uniform(0.3, 1.0) / rng.uniform(900.0, 1500.0)  # paper above the mat, camera's height, mm
            piece = replace(
                piece, uncertainty_mm=radius, scale_uncertainty=float(np.hypot(MAT_PRINT, LIFT_DOUBT_MM / 500.0))
            )
            pieces.append(as_traced(piece, error_field(rng, radius), mat + lift))
        for one in measure(pieces, waist_to_hip=205.0):
            off = abs(one.mm - right[one.name])
            held += off <= one.uncertainty_mm
            all_of_them += 1
    assert 0.90 <= held / all_of_them <= 0.99, held / all_of_them


def test_an_assumed_allowance_makes_unsure_what_it_reaches() -> None:
    """Side seams 5 mm wrong make the bust 20 mm wrong: four of them, both ways."""
    front, back = (lab_piece(scene) for scene in SET[:2])
    sure = {one.name: one.uncertainty_mm for one in measure([front, back])}
    doubt = Allowance(mm=15.0, evidence="assumed", uncertainty_mm=5.0)
    pieces = [
        replace(
            piece,
            edges=tuple(replace(e, allowance=doubt) if e.name == "side seam" else e for e in piece.edges),
        )
        for piece in (front, back)
    ]
    found = {one.name: one.uncertainty_mm for one in measure(pieces)}
    assert found["bust"] == pytest.approx(20.0, abs=1.5)
    assert found["waist"] == pytest.approx(20.0, abs=1.5)
    assert found["back waist length"] == pytest.approx(sure["back waist length"], abs=0.5)


def test_moving_an_edge_out_is_the_same_as_drawing_it_further_out() -> None:
    front = lab_piece(SET[0])
    shape = shape_of(front)
    k = shape.names.index("side seam")
    moved = shape.moved(ring=nudged(shape, k, 0.2))
    before = measure_shapes({"bodice front": shape})
    after = measure_shapes({"bodice front": moved})
    assert after["front waist length"] == before["front waist length"]
    line = shape.ring[shape.run("side seam", "waist")]
    gap = np.hypot(*(moved.ring[moved.run("side seam", "waist")] - line).T)
    assert np.median(gap) == pytest.approx(0.2, abs=0.001)
    assert np.isfinite(moved.ring).all()
