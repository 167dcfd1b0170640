"""What is told is written into job.toml; what a person wrote there stays as she wrote it."""

from pathlib import Path

import numpy as np
import pytest

from calibration.ground.errors import InputError
from calibration.sheet.on_sheet import PictureOnSheet
from calibration.sheet.scan_frame import ScanFrame
from convert.body.read_card import read_card
from convert.job.job import Job, read_job
from convert.job.on_mat import corrections_on_mat, told_on_mat
from convert.job.on_picture import tell_on_sheet
from convert.job.write import (
    add_piece,
    changed_card,
    changed_job,
    remove_piece,
    set_allowances,
    set_answered,
    set_block,
    set_job,
    set_measurements,
    set_pattern,
    set_piece,
    tell,
)

JOB = """# the blouse of the second act
title = "Blouse"   # as on the rail
grid = "1cm"

[pattern]
body = { bust = "90 cm" }   # from the envelope

[[pieces]]
piece = "bodice front"
pictures = ["front left.jpg", "b.png"]
allowance = "15 mm"   # printed on it
grain = [[10, 10], [10, 90]]  # drawn by hand

[[pieces]]
piece = "bodice back"
pictures = ["back.jpg"]
# keep this line
"""
FRAMES = (
    PictureOnSheet(
        frame=ScanFrame(size_px=(1000, 800), mm_per_px=np.array([0.25, 0.2]), origin_mm=np.array([0.0, 160.0])),
        move=np.eye(3),
    ),
    PictureOnSheet(  # lies 240 mm further right, turned by 90 degrees
        frame=ScanFrame(size_px=(1000, 800), mm_per_px=np.array([0.2, 0.2]), origin_mm=np.array([0.0, 160.0])),
        move=np.array([[0.0, -1.0, 200.0], [1.0, 0.0, -240.0], [0.0, 0.0, 1.0]]),
    ),
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    (tmp_path / "maker.toml").write_text('name = "maker A"\nunit = "cm"\nbust = 94 cm # on Monday\n', encoding="utf-8")
    for name in ("front left.jpg", "b.png", "back.jpg"):
        (tmp_path / name).write_bytes(b"picture")
    return tmp_path


def text(folder: Path) -> str:
    return (folder / "job.toml").read_text(encoding="utf-8")


def read(folder: Path) -> Job:
    return read_job(folder)


def test_nothing_changed_leaves_the_file_alone(folder: Path) -> None:
    before = (folder / "job.toml").stat().st_mtime_ns
    with changed_job(folder):
        pass
    with changed_job(folder) as document:
        set_job(document, {"title": "Blouse"})
        set_pattern(document, {"chart": None})
    assert (folder / "job.toml").stat().st_mtime_ns == before
    assert text(folder) == JOB


def test_comments_and_order_stay(folder: Path) -> None:
    with changed_job(folder) as document:
        set_job(document, {"grid": "1in", "maker": "b.toml"})
        set_pattern(document, {"chart": "misses", "size": "14"})
        set_piece(document, 2, {"fold": "centre back", "at": "left"})
        set_allowances(document, 1, {"side seam": "19 mm"})
        set_block(document, {"ease": "close"})
    after = text(folder)
    for line in JOB.splitlines():
        if line and "grid" not in line and "allowance" not in line:
            assert line in after, line
    (folder / "b.toml").write_text((folder / "maker.toml").read_text())
    assert after.startswith('# the blouse of the second act\ntitle = "Blouse"   # as on the rail\ngrid = "1in"\n')
    job = read(folder)
    assert job.pieces[0].pitch_mm == 25.4
    assert (job.pieces[0].seam.mm, dict(job.pieces[0].seam.edges)) == (15.0, {"side seam": 19.0})
    assert (job.pieces[1].fold, job.pieces[1].at) == ("centre back", "left")
    assert job.ease.word == "close"
    assert job.pattern.size == "14"


def test_allowances_told_and_taken_back(folder: Path) -> None:
    with changed_job(folder) as document:
        set_allowances(document, 1, {"rest": None, "waist": "1 cm"})
    assert read(folder).pieces[0].seam.mm is None
    assert dict(read(folder).pieces[0].seam.edges) == {"waist": 10.0}
    with changed_job(folder) as document:
        set_allowances(document, 1, {"waist": None})
        set_piece(document, 2, {"no_allowance": True})
    assert dict(read(folder).pieces[0].seam.edges) == {}
    with changed_job(folder) as document:
        set_allowances(document, 2, {"waist": "2 cm"})
    assert (read(folder).pieces[1].seam.mm, dict(read(folder).pieces[1].seam.edges)) == (0.0, {"waist": 20.0})


def test_told_on_a_picture_whose_words_stood_in_the_piece(folder: Path) -> None:
    with changed_job(folder) as document:
        tell(
            document,
            1,
            "front left.jpg",
            {
                "outline_parts": [[[1.04, 2], [3, 4], [5, 6.25]]],
                "edges": {"side seam": [[10, 20], [30, 40]], "waist": [5, 6]},
                "add_darts": [{"legs": [[1, 2], [3, 4]], "apexes": [[5, 6]]}],
                "notches": np.arange(40.0).reshape(20, 2),
                "remove": [[7, 8]],
            },
        )
        tell(document, 1, "b.png", {"darts": False, "lattice": [[1, 2, 3, 4]]})
    told = read(folder).pieces[0].on["front left.jpg"]
    assert told.grain == ((10.0, 10.0), (10.0, 90.0))
    assert told.outline_parts == (((1.0, 2.0), (3.0, 4.0), (5.0, 6.2)),)
    assert {edge.name: len(edge.points) for edge in told.edges} == {"side seam": 2, "waist": 1}
    assert told.darts[0].apexes.tolist() == [[5.0, 6.0]]
    assert not told.no_darts
    assert told.notches is not None
    assert len(told.notches) == 20
    assert read(folder).pieces[0].on["b.png"].no_darts
    assert "# drawn by hand" in text(folder)
    assert max(len(line) for line in text(folder).splitlines()) < 130
    with changed_job(folder) as document:
        tell(document, 1, "front left.jpg", {"edges": {"waist": None}, "notches": None, "remove": None})
        tell(document, 1, "front left.jpg", {"add_darts": None, "outline_parts": None, "grain": None})
        tell(document, 1, "b.png", {"darts": None, "lattice": None})
    job = read(folder).pieces[0]
    assert set(job.on) == {"front left.jpg"}
    assert [edge.name for edge in job.on["front left.jpg"].edges] == ["side seam"]


def test_pieces_come_and_go(folder: Path) -> None:
    with changed_job(folder) as document:
        assert add_piece(document, {"piece": "sleeve", "pictures": ["b.png"], "scan": True}) == 3
        tell(document, 3, "b.png", {"crop": [[0, 0], [9, 9]]})
        set_piece(document, 3, {"dpi": 300, "face_down": True})
    sleeve = read(folder).pieces[2]
    assert (sleeve.scan, sleeve.dpi, sleeve.face_down) == (True, 300.0, True)
    assert sleeve.on["b.png"].crop == ((0.0, 0.0), (9.0, 9.0))
    with changed_job(folder) as document:
        remove_piece(document, 3)
        remove_piece(document, 1)
    assert [piece.kind for piece in read(folder).pieces] == ["bodice back"]
    assert "# keep this line" in text(folder)


def test_a_folder_without_a_job_gets_one(tmp_path: Path) -> None:
    with changed_job(tmp_path) as document:
        set_job(document, {"title": "Skirt", "grid": "1in"})
        add_piece(document, {"piece": "skirt front", "pictures": ["a.jpg"]})
        set_job(document, {"maker": "b.toml"})
    assert text(tmp_path).startswith('title = "Skirt"\ngrid = "1in"\nmaker = "b.toml"\n')


def test_what_could_not_be_read_again_is_not_written(folder: Path) -> None:
    with pytest.raises(InputError, match="not written as it should be"), changed_job(folder) as document:
        set_piece(document, 1, {"scan": "perhaps"})
    assert text(folder) == JOB
    with pytest.raises(InputError, match="has no picture"), changed_job(folder) as document:
        tell(document, 1, "c.png", {"remove": [[1, 1]]})
    with pytest.raises(InputError, match="2 pieces, not 3"), changed_job(folder) as document:
        set_piece(document, 3, {"at": 1})
    (folder / "job.toml").write_text("title = [")
    with pytest.raises(InputError, match="can't be read"), changed_job(folder) as document:
        set_job(document, {"title": "x"})
    assert text(folder) == "title = ["


def test_told_in_millimetres_comes_back_in_millimetres(folder: Path) -> None:
    """Each thing lands on the picture that shows it, here two tiles of which one lies turned; to 0.1 px of 0.25 mm."""
    told = {
        "outline": [[20.0, 20.0], [150.0, 20.0], [150.0, 120.0]],
        "outline_parts": [[[310.0, 20.0], [320.0, 30.0], [310.0, 40.0]], [[10.0, 20.0], [12.0, 30.0], [10.0, 40.0]]],
        "notches": [[30.0, 40.0], [350.0, 60.0]],
        "holes": [],
        "remove": [[350.0, 80.0]],
        "darts": [{"legs": [[300.0, 60.0], [310.0, 60.0]], "apexes": [[305.0, 100.0]]}],
        "hole_meanings": [{"at": [[350.0, 90.0]], "means": "double-pointed dart"}],
        "edges": {"side seam": [[310.0, 20.0], [310.0, 120.0]], "waist": [40.0, 20.0]},
        "grain": [[60.0, 30.0], [60.0, 130.0]],
        "centre_line": None,
    }
    with changed_job(folder) as document:
        tell_on_sheet(document, 1, told, FRAMES)
    piece = read(folder).pieces[0]
    assert len(piece.on["b.png"].outline_parts) == 1
    said, meant = corrections_on_mat(piece, FRAMES), told_on_mat(piece, FRAMES)
    assert said.outline is not None
    np.testing.assert_allclose(said.outline, told["outline"], atol=0.02)
    np.testing.assert_allclose(sorted(part.tolist() for part in said.parts)[1], told["outline_parts"][0], atol=0.02)
    assert said.notches is not None
    np.testing.assert_allclose(said.notches, told["notches"], atol=0.02)
    assert said.holes is not None
    assert len(said.holes) == 0
    np.testing.assert_allclose(said.remove, told["remove"], atol=0.02)
    assert meant.no_darts
    np.testing.assert_allclose(meant.darts[0].apexes, [[305.0, 100.0]], atol=0.02)
    (holes,) = meant.hole_meanings
    assert holes.means == "double-pointed dart"
    np.testing.assert_allclose(holes.at, [[350.0, 90.0]], atol=0.02)
    ends = {edge.name: edge.ends for edge in meant.edges if edge.ends is not None}
    np.testing.assert_allclose(ends["side seam"], told["edges"]["side seam"], atol=0.02)
    assert meant.grain is not None
    np.testing.assert_allclose(meant.grain, told["grain"], atol=0.02)
    with changed_job(folder) as document:
        tell_on_sheet(document, 1, dict.fromkeys(told) | {"edges": {"waist": None, "side seam": None}}, FRAMES)
    assert read(folder).pieces[0].on == {}


def test_a_card_is_filled_in_as_typed(folder: Path) -> None:
    card = folder / "maker.toml"
    with changed_card(card) as document:
        set_measurements(document, {"bust": "95", "waist": "37 1/2 in", "hip": "99.5", "back waist length": "40"})
        set_answered(document, "bust")
    assert "bust = 95 # on Monday" in card.read_text()
    filled = read_card(card)
    assert filled.told() == {"bust": 950.0, "waist": 952.5, "hip": 995.0, "back waist length": 400.0}
    assert filled.answered == ("bust",)
    with changed_card(card) as document:
        set_measurements(document, {"waist": None})
        set_answered(document, "bust", right=False)
    assert "waist" not in read_card(card).told()
    assert read_card(card).answered == ()
