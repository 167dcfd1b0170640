"""What a maker tells of an outline and its marks stands in place of what was read."""

from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from calibration.ground.errors import InputError, Note
from calibration.ground.points import closed, resample
from convert.trace.told.corrected import Corrections, corrected, meant_by, told_alone
from convert.trace.tracing import TracedLine, TracedMark, Tracing

CORNERS = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 300.0], [0.0, 300.0]])
RING = resample(closed(CORNERS), 0.5)[:-1]
AT = np.array([int(np.hypot(*(RING - corner).T).argmin()) for corner in CORNERS])
MARKS = (
    TracedMark(kind="notch", at=[200.0, 100.0], tip=[194.0, 100.0], size_mm=6.0),
    TracedMark(kind="notch", at=[0.0, 150.0], tip=[6.0, 150.0], size_mm=6.0),
    TracedMark(kind="hole", at=[100.0, 100.0], size_mm=5.0),
)
LINES = (TracedLine(kind="grainline", points=[[100.0, 50.0], [100.0, 250.0]]),)
READ = Tracing(outline=RING, corners=AT, inferred=np.zeros(len(RING), bool), marks=MARKS, lines=LINES)


def area(tracing: Tracing) -> float:
    return float(Polygon(tracing.outline).area)


def corners(tracing: Tracing) -> set[tuple[int, int]]:
    return {(round(x), round(y)) for x, y in tracing.outline[tracing.corners]}


def test_nothing_told_changes_nothing() -> None:
    same = corrected(READ, Corrections())
    assert same.outline is not None
    np.testing.assert_array_equal(same.outline, READ.outline)
    assert same.marks == READ.marks
    assert same.lines == READ.lines


@pytest.mark.parametrize("reverse", [False, True])
def test_a_whole_outline_told_either_way_round(reverse: bool) -> None:
    told = np.array([[0, 0], [210, 0], [210, 310], [0, 310]], float)
    new = corrected(READ, Corrections(outline=told[::-1] if reverse else told))
    assert area(new) == pytest.approx(210 * 310, rel=1e-9)
    assert corners(new) == {(0, 0), (210, 0), (210, 310), (0, 310)}
    assert new.told is not None
    assert new.told.all()
    assert np.hypot(*np.diff(closed(new.outline), axis=0).T).max() <= 0.5 + 1e-9


def test_a_curve_told_by_few_points_runs_smoothly_through_them() -> None:
    """A quarter circle of radius 100 told by seven points: off by less than a pencil line's width."""
    angle = np.radians(np.linspace(0, 90, 7))
    arc = 100 * np.column_stack([np.cos(angle), np.sin(angle)])
    new = corrected(READ, Corrections(outline=np.vstack([[0.0, 0.0], arc])))
    assert area(new) == pytest.approx(np.pi * 100**2 / 4, rel=2e-3)
    assert corners(new) == {(0, 0), (100, 0), (0, 100)}
    on_arc = new.outline[(new.outline > 2).all(1)]
    assert np.abs(np.hypot(*on_arc.T) - 100).max() < 0.25


def test_told_corners_decide_where_a_sparse_curve_turns() -> None:
    """An octagon whose points are no corners is a smooth ring; its turns of 45 degrees alone would make eight."""
    angle = np.radians(np.arange(0, 360, 45))
    ring = 80 * np.column_stack([np.cos(angle), np.sin(angle)])
    assert len(corrected(READ, Corrections(outline=ring)).corners) == 8
    smooth = corrected(READ, Corrections(outline=ring, corners=np.zeros((0, 2))))
    assert len(smooth.corners) == 0
    assert np.abs(np.hypot(*smooth.outline.T) - 80).max() < 1.0


def test_a_stretch_told_replaces_what_lay_between_its_ends() -> None:
    part = np.array([[200.3, 120.0], [230.0, 150.0], [199.8, 180.0]])
    for one in (part, part[::-1]):
        new = corrected(READ, Corrections(parts=(one,)))
        assert Polygon(new.outline).contains(LineString([[205, 150], [225, 150]]))
        assert corners(new) >= {(0, 0), (200, 0), (200, 300), (0, 300), (230, 150)}
        assert new.told is not None
        assert 80 < 0.5 * new.told.sum() < 100
        kept = ~new.told
        assert np.hypot(*(new.outline[kept][:, None] - RING[None, ::40]).transpose(2, 0, 1)).min(0).max() < 60.5


def test_a_torn_corner_told_is_a_corner_again() -> None:
    torn = np.vstack([CORNERS[:2], [[200.0, 260.0], [160.0, 300.0]], CORNERS[3:]])
    ring = resample(closed(torn), 0.5)[:-1]
    at = np.array([int(np.hypot(*(ring - corner).T).argmin()) for corner in torn])
    read = Tracing(outline=ring, corners=at, inferred=np.zeros(len(ring), bool))
    new = corrected(read, Corrections(parts=([[200.0, 259.0], [200.0, 300.0], [159.0, 300.2]],)))
    assert area(new) == pytest.approx(200 * 300, rel=1e-3)
    assert (200, 300) in corners(new)


def test_only_a_stretch_that_was_unseen_and_is_told_makes_the_piece_whole() -> None:
    unseen = np.zeros(len(RING), bool)
    unseen[(RING[:, 0] == 200.0) & (RING[:, 1] > 130) & (RING[:, 1] < 170)] = True
    read = replace(READ, inferred=unseen, complete=False, notes=(Note("runs-off", "It runs off."),))
    elsewhere = corrected(read, Corrections(parts=([[0, 200], [-5, 180], [0, 160]],)))
    assert not elsewhere.complete
    assert elsewhere.notes == read.notes
    there = corrected(read, Corrections(parts=([[200, 120], [205, 150], [200, 180]],)))
    assert there.complete
    assert there.notes == ()


def test_marks_replaced_added_and_removed() -> None:
    new = corrected(
        READ,
        Corrections(
            add_notches=[[60.0, 4.0]], add_holes=[[50.0, 50.0]], remove=[[196.0, 101.0], [100.0, 180.0], [20.0, 20.0]]
        ),
    )
    notches = [mark for mark in new.marks if mark.kind == "notch"]
    assert [mark.evidence for mark in notches] == ["measured", "told"]
    np.testing.assert_allclose(notches[1].at, [60.0, 0.0])
    assert notches[1].tip is not None
    np.testing.assert_allclose(notches[1].tip, [60.0, 4.0])
    assert [tuple(mark.at) for mark in new.marks if mark.kind == "hole"] == [(100.0, 100.0), (50.0, 50.0)]
    assert new.lines == ()
    none = corrected(READ, Corrections(notches=np.zeros((0, 2)), holes=np.zeros((0, 2))))
    assert none.marks == ()


def test_an_outline_that_crosses_itself_is_refused_with_its_place() -> None:
    with pytest.raises(InputError, match="crosses itself") as caught:
        corrected(READ, Corrections(outline=[[0, 0], [100, 0], [0, 100], [100, 100]]))
    assert "Move its points" in caught.value.remedy
    with pytest.raises(InputError, match="2 points"):
        corrected(READ, Corrections(outline=[[0, 0], [100, 0]]))
    with pytest.raises(InputError, match="one point"):
        corrected(READ, Corrections(parts=([[0, 0]],)))


def test_the_piece_meant_is_the_one_under_the_outline_told() -> None:
    other = replace(READ, outline=RING + [400.0, 0.0])
    assert meant_by(RING + [390.0, 5.0], (READ, other)) is other
    assert meant_by(RING + [0.0, 900.0], (READ, other)) is None
    alone = told_alone(Corrections(outline=CORNERS, add_notches=[[100.0, 0.0]]))
    assert area(alone) == pytest.approx(200 * 300)
    assert len(alone.marks) == 1
