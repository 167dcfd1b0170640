"""Yokes cut from a plain front; sets of parts that do not belong together, that lack one or have one twice.

A yoke is had from a darted block by cutting across it, gathers by closing a dart and letting the cut open (common
practice); here it is worked backwards. Lengths and areas are measured by shapely.
"""

from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Polygon

from calibration.ground.errors import InputError
from calibration.ground.plane import point_at
from calibration.ground.points import Points, lengths_along, resample
from convert.piece.outline.meeting import stretch
from convert.piece.piece import Allowance, Edge, EdgeName, Mark, Piece, PieceKind
from convert.piece.together.together import together
from tests.convert.piece.shapes import draft
from tests.convert.piece.together.cut_up import apart_mm

NONE = Allowance(mm=0.0, evidence="told")


def piece(kind: PieceKind, edges: list[tuple[EdgeName, Points]], notches: list[Points] | None = None) -> Piece:
    made = tuple(Edge(name=name, points=line, cut_points=line, allowance=NONE) for name, line in edges)
    marks = tuple(Mark(kind="notch", at=at, seam_at=at, on="yoke seam") for at in notches or [])
    middle = np.vstack([line for _, line in edges]).mean(0)
    return Piece(kind=kind, edges=made, darts=(), marks=marks, grainline=np.array([middle, middle + [0.0, 60.0]]))


def halves(line: Points, share: float) -> tuple[Points, Points]:
    size = float(lengths_along(line)[-1])
    return stretch(line, 0.0, share * size), stretch(line, share * size, size)


def cut_across(seed: int) -> tuple[Piece, Piece, Piece]:
    """A front, and its lower part and yoke, cut along a bent line from armhole to neckline."""
    rng = np.random.default_rng(seed)
    edges = dict(draft("bodice front", rng))
    whole = piece("bodice front", list(edges.items()))
    below, above = halves(edges["armhole"], rng.uniform(0.6, 0.75))
    top, foot = halves(edges["neckline"], rng.uniform(0.35, 0.55))
    a, b = below[-1], top[-1]
    bend = rng.uniform(-8.0, 8.0)
    t = np.linspace(0.0, 1.0, 200)[:, None]
    seam = resample(a + t * (b - a) + 4.0 * t * (1 - t) * [0.0, bend], 0.5)
    notches = [point_at(seam, share * float(lengths_along(seam)[-1])) for share in (0.3, 0.6)]
    low: list[tuple[EdgeName, Points]] = [
        ("waist", edges["waist"]),
        ("side seam", edges["side seam"]),
        ("armhole", below),
        ("yoke seam", seam),
        ("neckline", foot),
        ("centre front", edges["centre front"]),
    ]
    yoke: list[tuple[EdgeName, Points]] = [
        ("yoke seam", seam[::-1]),
        ("armhole", above),
        ("shoulder", edges["shoulder"]),
        ("neckline", top),
    ]
    return whole, piece("bodice front, lower", low, notches), piece("bodice front yoke", yoke, notches[::-1])


def lying(part: Piece, turn_deg: float, shift: tuple[float, float]) -> Piece:
    angle = np.radians(turn_deg)
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])

    def there(points: Points) -> Points:
        return points @ spin.T + shift

    return replace(
        part,
        edges=tuple(replace(e, points=there(e.points), cut_points=there(e.cut_points)) for e in part.edges),
        marks=tuple(replace(m, at=there(m.at), seam_at=there(m.at)) for m in part.marks),
        grainline=None if part.grainline is None else there(part.grainline),
    )


@pytest.mark.parametrize("seed", range(6))
def test_a_yoke_laid_on_gives_the_front_it_was_cut_from(seed: int) -> None:
    whole, lower, yoke = cut_across(seed)
    (found,) = together([lower, lying(yoke, 12.0, (80.0, 300.0))])
    mine, true = found.piece.seam_line, whole.seam_line
    assert apart_mm(mine, true) < 0.2
    assert Polygon(mine).area == pytest.approx(Polygon(true).area, rel=2e-3)
    for edge in whole.edges:
        assert LineString(found.piece.edge(edge.name).points).length == pytest.approx(
            LineString(edge.points).length, abs=0.5
        )
    assert not {"parts-apart", "parts-eased", "gathers-folded-out"} & {note.code for note in found.piece.notes}


def test_a_yoke_of_another_size_is_asked_about_in_one_sentence() -> None:
    _, lower, yoke = cut_across(1)
    large = replace(
        yoke,
        edges=tuple(replace(e, points=e.points * 1.12, cut_points=e.points * 1.12) for e in yoke.edges),
        marks=tuple(replace(m, at=m.at * 1.12, seam_at=m.at * 1.12) for m in yoke.marks),
    )
    (found,) = together([lower, large])
    asked = [note for note in found.piece.notes if note.code in ("parts-apart", "parts-eased")]
    assert len(asked) == 1
    assert "bodice front yoke" in asked[0].text


def test_one_missing_and_one_twice_are_one_sentence_each_and_nothing_is_lost() -> None:
    _, lower, yoke = cut_across(2)
    parts = (lower, yoke)
    for wrong, said in (
        ((lower,), "The bodice front, lower is there, but not the bodice front yoke that it is sewn to."),
        ((yoke,), "The bodice front yoke is there, but not the bodice front, lower that it is sewn to."),
        ((lower, yoke, yoke), "The bodice front yoke is there twice."),
    ):
        with pytest.raises(InputError) as err:
            together(wrong)
        assert err.value.problem == said
        assert err.value.remedy
    (found,) = together(parts)  # the parts are as they were
    assert found.read == parts
