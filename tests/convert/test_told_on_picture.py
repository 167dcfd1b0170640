"""What is told on a real picture's pixels, from job.toml through the whole reading."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.ground.points import Points, nearest_on_line
from calibration.sheet.on_sheet import pictures_on
from convert.job.job import PieceJob, read_job
from convert.job.on_picture import tell_on_sheet
from convert.job.write import add_piece, changed_job, set_job, tell
from convert.pipeline.look import Look, look, pictures_of
from convert.pipeline.name import PieceRead, name_piece, tracing_of
from tests.lab import SAMPLES, scene_folder, truth_of, view_from_truth

TRUTH = truth_of("s1_front")
VIEW = view_from_truth(TRUTH)


def on_mat(piece_mm: object) -> Points:
    """The truth's piece frame on the truth's mat."""
    m = np.array(TRUTH["photos"][0]["piece_to_mat"]["matrix_2x3"])
    return np.asarray(piece_mm, float).reshape(-1, 2) @ m[:, :2].T + m[:, 2]


def px(piece_mm: object) -> Points:
    """The truth's piece frame in the photograph; paper is taken to lie on the mat, which costs a pixel or so."""
    return VIEW.to_px(on_mat(piece_mm))


@pytest.fixture(scope="module")
def looked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Look]:
    folder = tmp_path_factory.mktemp("job")
    shutil.copy(scene_folder("s1_front") / "photo.jpg", folder / "photo.jpg")
    shutil.copy(SAMPLES / "wardrobe" / "maker.toml", folder / "maker.toml")
    with changed_job(folder) as document:
        set_job(document, {"grid": "1cm"})
        add_piece(document, {"piece": "bodice front", "pictures": ["photo.jpg"]})
    piece = job(folder)
    return folder, look(pictures_of(piece), piece.size)[0]


def job(folder: Path) -> PieceJob:
    return read_job(folder).pieces[0]


def read(looked: tuple[Path, Look]) -> PieceRead:
    folder, look = looked
    return name_piece(job(folder), look, "cm").alone


def notches(one: PieceRead) -> int:
    return sum(mark.kind == "notch" for mark in one.piece.marks)


def test_marks_grain_and_darts_told_in_pixels(looked: tuple[Path, Look]) -> None:
    before = read(looked)
    first = TRUTH["piece"]["notches"][0]["at"]
    dart = TRUTH["piece"]["darts"][0]
    grain = np.array([[60.0, 60.0], [70.0, 260.0]])
    told = {
        "remove": px(first),
        "add_notches": px([[0.0, 100.0]]),
        "grain": px(grain),
        "darts": [{"legs": px([dart["leg_a"], dart["leg_b"]]), "apexes": px(np.array(dart["apex"]) + [6.0, 0.0])}],
    }
    with changed_job(looked[0]) as document:
        tell(document, 1, "photo.jpg", told)
    after = read(looked)
    with changed_job(looked[0]) as document:
        tell(document, 1, "photo.jpg", dict.fromkeys(told))
    assert len(before.piece.darts) >= 1
    assert notches(after) == notches(before)
    assert sum(mark.evidence == "told" for mark in after.piece.marks) == 1
    assert [dart.evidence for dart in after.piece.darts] == ["told"]
    assert after.piece.grainline is not None
    way = after.piece.grainline[1] - after.piece.grainline[0]
    assert abs(way[0]) < 0.02 * abs(way[1])  # told, so the piece stands upright by it
    place = after.piece.placement
    assert place is not None
    there = place.to_mat(after.piece.darts[0].apexes)
    there_before = before.piece.placement.to_mat(before.piece.darts[0].apexes)  # type: ignore[union-attr]
    assert np.hypot(*(there - there_before)[0]) == pytest.approx(6.0, abs=1.5)


def test_an_outline_moved_on_the_sheet_is_told_in_pixels_and_wins(
    looked: tuple[Path, Look],
) -> None:
    """As the page does it: a stretch of the side seam drawn 10 mm further out, in mat mm, and read again."""
    folder, look = looked
    before = read(looked)
    line = before.piece.edge("side seam").cut_points
    mid = len(line) // 2
    place = before.piece.placement
    assert place is not None
    way = line[mid + 20] - line[mid - 20]
    out = np.array([way[1], -way[0]]) / np.hypot(*way)
    stretch = place.to_mat(np.array([line[mid - 60], line[mid] + 10 * out, line[mid + 60]]))
    with changed_job(folder) as document:
        tell_on_sheet(document, 1, {"outline_parts": [stretch]}, pictures_on(look.read.sheet))
    after = tracing_of(job(folder), look)
    with changed_job(folder) as document:
        tell_on_sheet(document, 1, {"outline_parts": None}, pictures_on(look.read.sheet))
    assert nearest_on_line(after.outline, stretch[1])[2] < 0.1
    assert nearest_on_line(before.tracing.outline, stretch[1])[2] == pytest.approx(10.0, abs=0.5)
    assert after.told is not None
    assert 50 < 0.5 * after.told.sum() < 75
    np.testing.assert_array_equal(tracing_of(job(folder), look).outline, before.tracing.outline)


def test_a_told_outline_is_read_where_nothing_was_traced(
    looked: tuple[Path, Look],
) -> None:
    folder, look = looked
    cut = np.array(TRUTH["piece"]["cut_line"], float)
    with changed_job(folder) as document:
        tell(document, 1, "photo.jpg", {"outline": px(cut[::3])})
    after = read((folder, replace(look, tracings=())))
    with changed_job(folder) as document:
        tell(document, 1, "photo.jpg", {"outline": None})
    assert after.piece.complete
    assert {edge.name for edge in after.piece.edges} >= {"side seam", "waist", "shoulder"}
    assert after.tracing.told is not None
    assert after.tracing.told.all()
    assert any(line.kind == "stitching" for line in after.tracing.lines)
