"""Each thing read knows how sure it is and which patch of which picture shows it."""

import io

import numpy as np
import pytest
from PIL import Image

from calibration.sheet.on_sheet import pictures_on
from convert.paper.report.patches import patch
from convert.pipeline.look import Pictures, read_sheet, trace_sheet
from convert.pipeline.name import PieceRead, read_piece
from convert.pipeline.readings import readings, readings_record
from tests.lab import scene_folder, truth_of, view_from_truth

TRUTH = truth_of("s1_front")


@pytest.fixture(scope="module")
def read() -> PieceRead:
    sheet = read_sheet(Pictures(paths=(scene_folder("s1_front") / "photo.jpg",), pitch_mm=10.0))
    return read_piece(trace_sheet(sheet)[0], sheet, "bodice front")


def test_every_notch_lies_in_its_patch_of_the_photograph(read: PieceRead) -> None:
    """Against the truth's own camera, not the one that was fitted."""
    turn = np.array(TRUTH["photos"][0]["piece_to_mat"]["matrix_2x3"])
    found = [one for one in readings(read) if one.kind == "notch"]
    for notch in TRUTH["piece"]["notches"]:
        x, y = view_from_truth(TRUTH).to_px(np.array([notch["at"]]) @ turn[:, :2].T + turn[:, 2])[0]
        boxes = [one.box_px for one in found]
        assert any(left < x < right and top < y < bottom for left, top, right, bottom in boxes), notch
    assert all(0.5 < one.confidence <= 1.0 for one in found)
    assert all(one.evidence == "measured" for one in found)
    assert all(one.name.endswith(f"notch {one.what.split('notch ')[1]}") for one in found)


def test_what_is_read_is_listed_by_kind(read: PieceRead) -> None:
    kinds = {one.kind for one in readings(read)}
    assert kinds >= {"cut line", "notch", "dart", "stitching line", "grainline"}
    edges = [one.what for one in readings(read) if one.kind == "cut line"]
    assert edges == [edge.name for edge in read.piece.edges]
    record = readings_record(readings(read), read.piece, ["photo.jpg"])
    assert {one["picture"] for one in record} == {"photo.jpg"}
    dart = next(one for one in record if one["kind"] == "dart")
    np.testing.assert_allclose(dart["at"][2], read.piece.darts[0].apexes[0], atol=1e-3)


def test_a_patch_is_a_small_picture_of_the_thing(read: PieceRead) -> None:
    one = next(one for one in readings(read) if one.kind == "notch")
    code = patch(read.read.photos[0], pictures_on(read.read.sheet)[0], one.box_px, one.drawn, longest_px=200)
    picture = Image.open(io.BytesIO(code))
    assert max(picture.size) == 200
    red, green, _ = np.asarray(picture.convert("RGB"), float).mean((0, 1))
    ring = np.asarray(picture.convert("RGB"), float)
    assert ((ring[..., 0] - ring[..., 1]) > 120).sum() > 50, (red, green)
