"""Fronts with a wrap and a facing, or a collar, cut in one: what lies beyond the centre line and the neckline goes."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import Polygon, affinity

from calibration.ground.plane import turn_deg
from calibration.ground.points import Points, resample
from convert.piece.names.told import Told
from convert.piece.outline.placement import Placement
from convert.piece.piece import Piece
from convert.piece.read import piece_from
from convert.trace.tracing import TracedLine, TracedMark, Tracing
from tests.convert.piece.shapes import Drawn, draw
from tests.convert.piece.test_read import apart

WRAP_MM, FACING_MM = 18.0, 62.0
STEP_MM = 0.4


def paper_of(drawn: Drawn) -> Polygon:
    """The paper of the half front, its centre at the left, in its own frame."""
    return Polygon(Placement(turn_deg=-drawn.turn_deg).to_piece(drawn.tracing.outline - drawn.shift))


def lying(drawn: Drawn, paper: Polygon) -> Tracing:
    """Another outline of the same piece where it lies, its corners given."""
    ring = resample(shapely.get_coordinates(shapely.orient_polygons(paper).exterior), STEP_MM)[:-1]
    reach = 12
    turn = np.abs(turn_deg(ring - np.roll(ring, reach, axis=0), np.roll(ring, -reach, axis=0) - ring))
    peak = [
        k
        for k in np.flatnonzero(turn > 30)
        if turn[k] == np.take(turn, np.arange(k - reach, k + reach), mode="wrap").max()
    ]
    return replace(
        drawn.tracing,
        outline=drawn.laid(ring),
        corners=np.array(peak, np.int64),
        inferred=np.zeros(len(ring), bool),
        told=None,
    )


def with_facing(rng: int) -> tuple[Drawn, Tracing, Points]:
    """A front cut with a wrap and a facing, which folds back along the wrap's edge; and its centre line (2, 2)."""
    drawn = draw("bodice front", np.random.default_rng(rng), centre="fold", darts=rng % 2 == 0, noise_mm=0.0)
    half = paper_of(drawn)
    left, low, _, high = half.bounds
    centre = half.intersection(shapely.box(left - 1, low, left + 0.5, high)).bounds
    wrap = shapely.box(left - WRAP_MM, centre[1], left + 0.01, centre[3])
    near = half.intersection(shapely.box(left, low, left + FACING_MM, high))
    facing = affinity.scale(near, xfact=-1, yfact=1, origin=(left - (WRAP_MM - 0.01) / 2, 0))
    whole = shapely.union_all([half, wrap, facing]).buffer(0.02)
    ends = drawn.piece.edge("centre front").points[[-1, 0]]
    return drawn, lying(drawn, whole), ends


def told_of(drawn: Drawn) -> Told:
    return Told(allowances={e.name: e.allowance.mm for e in drawn.piece.edges if e.name != "centre front"})


def printed(drawn: Drawn, tracing: Tracing, line: Points, *, notched: bool) -> Tracing:
    there = drawn.laid(line)
    grain = drawn.laid(np.array([[90.0, 120.0], [90.0, 260.0]]))
    lines = [one for one in tracing.lines if one.kind not in ("fold", "grainline")]
    lines += [TracedLine(kind="grainline", points=grain), TracedLine(kind="other", points=there, dashed=True)]
    lines.append(TracedLine(kind="other", points=drawn.laid(line - [WRAP_MM, 0.0]), dashed=True))
    foot = shapely.LinearRing(tracing.outline).interpolate(
        shapely.LinearRing(tracing.outline).project(shapely.Point(there[0]))
    )
    marks = [TracedMark(kind="notch", at=np.array([foot.x, foot.y]), size_mm=4.0)] if notched else []
    return replace(tracing, lines=tuple(lines), marks=tuple(marks))


def check(drawn: Drawn, piece: Piece) -> None:
    assert apart(drawn, piece) < 0.25
    assert piece.edge("centre front").allowance.mm > WRAP_MM
    assert not piece.edge("centre front").on_fold
    assert sum(note.code == "cut-off-beyond" for note in piece.notes) == 1


@pytest.mark.parametrize("rng", range(4))
def test_a_facing_is_cut_off_at_the_printed_centre_line(rng: int) -> None:
    drawn, tracing, line = with_facing(rng)
    piece = piece_from(printed(drawn, tracing, line, notched=True), "bodice front", told_of(drawn))
    check(drawn, piece)
    assert piece.edge("centre front").allowance.evidence == "measured"


@pytest.mark.parametrize("rng", range(4))
def test_a_facing_is_cut_off_at_the_told_centre_line(rng: int) -> None:
    drawn, tracing, line = with_facing(rng)
    piece = piece_from(
        replace(tracing, lines=(), marks=()), "bodice front", replace(told_of(drawn), centre_line=drawn.laid(line))
    )
    check(drawn, piece)
    assert piece.edge("centre front").allowance.evidence == "told"


def test_a_line_right_through_without_notches_or_buttonholes_is_asked_about() -> None:
    drawn = draw("bodice front", np.random.default_rng(2), centre="seam", noise_mm=0.0)
    line = drawn.piece.edge("centre front").points[[-1, 0]] + [25.0, 0.0]
    piece = piece_from(printed(drawn, drawn.tracing, line, notched=False), "bodice front", told_of(drawn))
    paper = np.vstack([edge.cut_points for edge in piece.edges])
    assert (
        abs(np.ptp(paper[:, 0]) - np.ptp(np.array(paper_of(drawn).exterior.coords)[:, 0])) < 1.0
    )  # nothing is cut off
    assert [note.code for note in piece.notes if "centre" in note.code or "cut" in note.code] == ["centre-line-likely"]


@pytest.mark.parametrize("rng", range(3))
def test_a_collar_cut_in_one_goes_at_the_told_neckline(rng: int) -> None:
    drawn = draw("bodice front", np.random.default_rng(rng), centre="seam", noise_mm=0.0)
    neck = drawn.piece.edge("neckline").points
    half = paper_of(drawn)
    tip, foot = np.array(half.exterior.coords)[np.argmax(np.array(half.exterior.coords)[:, 1])], neck[-1]
    collar = Polygon([tip, tip + [6.0, 70.0], tip + [-60.0, 75.0], foot + [-20.0, 8.0], foot + [10.0, -10.0]])
    tracing = lying(drawn, shapely.union_all([half, collar]).buffer(0.02))
    told = replace(told_of(drawn), neck_line=drawn.laid(neck[:: len(neck) // 12]))
    told = replace(told, allowances={e.name: e.allowance.mm for e in drawn.piece.edges if e.name != "neckline"})
    piece = piece_from(tracing, "bodice front", told)
    assert piece.placement is not None
    found = piece.edge("neckline").points
    true = piece.placement.to_piece(drawn.laid(neck))
    inner = shapely.distance(shapely.LineString(true), shapely.points(found[5:-5]))
    assert float(np.sqrt(np.mean(inner**2))) < 0.3
    assert piece.edge("neckline").allowance.evidence == "told"
