"""The job folder at the door."""

from pathlib import Path

import pytest

from calibration.ground.errors import InputError
from convert.job.job import Job, read_job

AGREED = """
title = "Wardrobe room, blouse of the second act"
grid = "1cm"
[pattern]
body = { bust = "90 cm", waist = "71 cm", hip = "95.5 cm", "back waist length" = "40.5 cm" }
allowance = "15 mm"
[block]
ease = "usual"
[[pieces]]
piece = "bodice front"
pictures = ["front.jpg"]
allowance = { "side seam" = "19 mm" }
fold = "centre front"
at = "left"
size = 4
[[pieces]]
piece = "bodice back"
pictures = ["back.jpg"]
"""
CARD = 'name = "maker A"\nunit = "cm"\n[measurements]\nbust = 94\nwaist = 79\n"back waist length" = 39.5\n'


def job(folder: Path, text: str, card: str | None = CARD) -> Job:
    (folder / "job.toml").write_text(text, encoding="utf-8")
    if card is not None:
        (folder / "maker.toml").write_text(card, encoding="utf-8")
    for name in ("front.jpg", "back.jpg", "a.png", "b.png"):
        (folder / name).write_bytes(b"picture")
    return read_job(folder)


def one(folder: Path, lines: str, head: str = 'grid = "1cm"') -> Job:
    return job(folder, f'{head}\n[[pieces]]\npiece = "bodice front"\npictures = ["front.jpg"]\n{lines}\n')


def test_the_agreed_job(tmp_path: Path) -> None:
    read = job(tmp_path, AGREED)
    front, back = read.pieces
    assert read.title == "Wardrobe room, blouse of the second act"
    assert read.maker.told()["bust"] == 940.0
    assert read.pattern.drafted_for() == {"bust": 900.0, "waist": 710.0, "hip": 955.0, "back waist length": 405.0}
    assert read.ease.word == "usual"
    assert (front.kind, front.fold, front.at, front.size) == ("bodice front", "centre front", "left", 4)
    assert front.pictures == (tmp_path / "front.jpg",)
    assert front.pitch_mm == 10.0
    assert front.seam.mm == 15.0
    assert dict(front.seam.edges) == {"side seam": 19.0}
    assert back.seam.mm == 15.0
    assert back.fold is None
    assert read.notes == ()


def test_numbers_are_in_the_cards_unit(tmp_path: Path) -> None:
    (tmp_path / "maker.toml").write_text('unit = "in"\n[measurements]\nbust = 37\n', encoding="utf-8")
    text = 'grid = 1\n[pattern]\nbody = {bust = 36}\nallowance = "5/8"\n[block]\nease = {bust = "2 1/2"}\n'
    read = job(tmp_path, f'{text}[[pieces]]\npiece = "front bodice"\npictures = "front.jpg"\n', card=None)
    assert read.pieces[0].pitch_mm == 25.4
    assert read.pattern.body["bust"] == pytest.approx(914.4)
    assert read.pieces[0].seam.mm == pytest.approx(15.875)
    assert read.ease.at("bust") == pytest.approx(63.5)
    assert read.ease.at("waist") == 25.0


def test_a_chart_row_with_single_measurements_over_it(tmp_path: Path) -> None:
    head = 'grid = "1cm"\n[pattern]\nchart = "misses"\nsize = 14\nbody = {waist = 73}'
    drafted = one(tmp_path, "", head).pattern.drafted_for()
    assert drafted["bust"] == pytest.approx(36 * 25.4)
    assert drafted["waist"] == 730.0


def test_ones_own_chart_lies_in_the_job_folder(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text(
        'name = "ours"\nunit = "cm"\nsizes = ["S", "M"]\n[columns]\nbust = [84, 92]\nwaist = [66, 74]\n',
        encoding="utf-8",
    )
    head = 'grid = "1cm"\n[pattern]\nchart = "ours.toml"\nsize = "M"'
    read = one(tmp_path, "", head)
    assert read.pattern.drafted_for() == {"bust": 920.0, "waist": 740.0}
    assert read.pattern.chart is not None
    assert read.pattern.chart.status == "own"


def test_a_scan_needs_no_grid(tmp_path: Path) -> None:
    piece = job(
        tmp_path, '[[pieces]]\npiece = "sleeve"\npictures = ["a.png", "b.png"]\nscan = true\ndpi = 300\n'
    ).pieces[0]
    assert (piece.scan, piece.dpi, piece.pitch_mm, len(piece.pictures)) == (True, 300.0, None, 2)


def test_a_dart_above_the_bust_is_told_on_a_panel(tmp_path: Path) -> None:
    panel = 'grid = "1cm"\n[[pieces]]\npiece = "bodice front, side"\npictures = ["front.jpg"]\n'
    told = job(tmp_path, f'{panel}dart_above = "1.5 cm"\n')
    assert told.pieces[0].dart_above_mm == 15.0
    with pytest.raises(InputError, match="only a bodice's centre and side panels"):
        one(tmp_path, 'dart_above = "1.5 cm"')
    with pytest.raises(InputError, match="no width of a dart"):
        job(tmp_path, f'{panel}dart_above = "15 cm"\n')


def test_no_allowance_and_face_down(tmp_path: Path) -> None:
    piece = one(tmp_path, "no_allowance = true\nface down = true\nfold = false\nat = 2\nsize = '14'").pieces[0]
    assert piece.seam.mm == 0.0
    assert piece.face_down is True
    assert one(tmp_path, "face_down = false").pieces[0].face_down is False
    assert one(tmp_path, "").pieces[0].face_down is None
    assert (piece.fold, piece.at, piece.size) == ("none", 2, "14")


def test_a_width_for_the_whole_piece_ends_what_the_pattern_said(tmp_path: Path) -> None:
    head = 'grid = "1cm"\n[pattern]\nallowance = { "side seam" = "19 mm", cap = "10 mm", rest = "15 mm" }'
    assert dict(one(tmp_path, 'allowance = "1 cm"', head).pieces[0].seam.edges) == {}
    seam = one(tmp_path, 'allowance = { neck = "6 mm" }', head).pieces[0].seam
    assert dict(seam.edges) == {"side seam": 19.0, "neckline": 6.0}
    assert seam.mm == 15.0


def test_corrections_in_pixels_of_a_picture(tmp_path: Path) -> None:
    piece = one(
        tmp_path,
        'edges = { "side seam" = [[10, 20], [30, 40.5]], waist = [5, 6] }\n'
        "darts = [{ legs = [[1, 2], [3, 4]], apexes = [[5, 6]] }]\n"
        "grain = [[1, 1], [1, 9]]\nlattice = [[100.5, 200, 3, -4]]\n",
    ).pieces[0]
    told = piece.on["front.jpg"]
    assert told.edges[0].name == "side seam"
    assert told.edges[0].points.tolist() == [[10.0, 20.0], [30.0, 40.5]]
    assert told.edges[1].points.tolist() == [[5.0, 6.0]]
    assert told.darts[0].apexes.tolist() == [[5.0, 6.0]]
    assert told.grain == ((1.0, 1.0), (1.0, 9.0))
    assert told.lattice == (((100.5, 200.0), (3, -4)),)
    assert one(tmp_path, "darts = false").pieces[0].on["front.jpg"].no_darts


def test_what_holes_mean(tmp_path: Path) -> None:
    line = 'hole_meanings = [{ at = [10, 20], means = "seam line" }, { at = [[1, 2], [3, 4]], means = "grain" }]'
    first, second = one(tmp_path, line).pieces[0].on["front.jpg"].hole_meanings
    assert (first.at.tolist(), first.means) == ([[10.0, 20.0]], "seam line")
    assert (second.at.tolist(), second.means) == ([[1.0, 2.0], [3.0, 4.0]], "grain")
    with pytest.raises(InputError, match="holes can't mean “grian”: did you mean grain"):
        one(tmp_path, 'hole_meanings = [{ at = [10, 20], means = "grian" }]')


def test_corrections_of_another_picture(tmp_path: Path) -> None:
    text = (
        'grid="1cm"\n[[pieces]]\npiece="bodice front"\npictures=["a.png","b.png"]\n'
        '[pieces.on."b.png"]\nlattice=[[1,2,3,4]]\n'
    )
    assert set(job(tmp_path, text).pieces[0].on) == {"b.png"}
    with pytest.raises(InputError, match=r"none of its pictures"):
        job(tmp_path, text.replace('on."b.png"', 'on."c.png"'))


def test_an_entry_that_means_nothing_is_said_and_left(tmp_path: Path) -> None:
    read = one(tmp_path, 'note = "from the trunk"\nshelf = 3', 'grid = "1cm"\ndrawer = "top"')
    assert [note.code for note in read.notes] == ["entry-unknown", "entry-unknown"]
    assert "“drawer”" in read.notes[0].text
    assert "“shelf” of piece 1" in read.notes[1].text


@pytest.mark.parametrize(
    ("lines", "problem", "remedy"),
    [
        ("alowance = '15 mm'", "unknown entry “alowance” of piece 1: did you mean allowance?", "allowance"),
        ("allowance = '-5 mm'", "can't be a seam allowance", "15 mm"),
        ("allowance = 'wide'", "“wide” is not a length", "Write it like"),
        ("allowance = {'sid seam' = '15 mm'}", "unknown edge “sid seam”: did you mean side seam?", "Edges"),
        ("allowance = {cap = '15 mm'}", "a bodice front has no edge called cap", "neckline"),
        ("allowance = '1cm'\nno_allowance = true", "both there", "Keep the one"),
        ("fold = 'center frnt'", "unknown edge “center frnt”: did you mean centre front?", "Edges"),
        ("at = 'lft'", "unknown place “lft”: did you mean left?", "number from the left"),
        ("at = 0", "at = 0", "Count from 1"),
        ("size = 0", "size = 0", "Count from 1"),
        ("dpi = 3", "3 dpi", "dpi = 300"),
        ("grid = '3 m'", "a grid of 3000 mm can't be right", "how far apart"),
        ("rotate = 30", "rotate = 30", "90, 180 or 270"),
        ("year = 3", "the year 3", "year = 1958"),
        ("scan = 'maybe'", "“scan” of piece 1 is not written as it should be", "true"),
        ("darts = [{legs = [[1,2]], apexes = [[1,2]]}]", "“legs” is not 2 points", "pixels"),
        ("edges = {waist = 'low'}", "“waist” is not 1 or 2 points", "pixels"),
        ("lattice = [[1, 2]]", "a lattice point needs 4 numbers", "column"),
        ("[[pieces]]\npiece = 'bodice front'\npictures = ['back.jpg']", "is there twice (pieces 1 and 2)", "take one"),
        ("[[pieces]]\npiece = 'bodice bakc'\npictures = ['back.jpg']", "did you mean bodice back?", "skirt front"),
        ("[[pieces]]\npictures = ['back.jpg']", "piece 2 has no name", "bodice front"),
        ("[[pieces]]\npiece = 'bodice back'", "bodice back (piece 2) has no pictures", "pictures ="),
        (
            "[[pieces]]\npiece = 'bodice back'\npictures = ['bakc.jpg']",
            "bakc.jpg of bodice back is not there",
            "back.jpg",
        ),
    ],
)
def test_what_is_wrong_with_a_piece_is_said(tmp_path: Path, lines: str, problem: str, remedy: str) -> None:
    with pytest.raises(InputError) as caught:
        one(tmp_path, lines)
    assert problem in caught.value.problem
    assert caught.value.problem.startswith("job.toml")
    assert remedy in caught.value.remedy
    assert caught.value.exit_code == 3


@pytest.mark.parametrize(
    ("head", "problem"),
    [
        ("", "the grid's pitch is not told for bodice front"),
        ('grid = "wide"', "grid of bodice front: “wide” is not a length"),
        ('grid = "1cm"\n[pattern]\nbody = {bsut = 90}', "unknown measurement “bsut”: did you mean bust?"),
        ('grid = "1cm"\n[pattern]\nbody = {bust = -90}', "bust is below zero"),
        ('grid = "1cm"\n[pattern]\nchart = "mises"\nsize = 14', "unknown size chart “mises”"),
        ('grid = "1cm"\n[pattern]\nchart = "misses"\nsize = 15', "no size “15”"),
        ('grid = "1cm"\n[pattern]\nchart = "misses"', "names a chart but no size"),
        ('grid = "1cm"\n[pattern]\nchart = "ours.toml"\nsize = 1', "no file"),
        ('grid = "1cm"\n[block]\nease = "usal"', "unknown ease “usal”: did you mean usual?"),
        ('grid = "1cm"\n[block]\nease = {bust = "much"}', "“much” is not a length"),
        ('grid = "1cm"\n[blok]\nease = "usual"', "unknown entry “blok”: did you mean block?"),
        ('grid = "1cm"\n[pattern]\nallowance = "much"', "“much” is not a length"),
        ('grid = "1cm"\npattern = 3', "“pattern” is not written as it should be"),
    ],
)
def test_what_is_wrong_with_a_job_is_said(tmp_path: Path, head: str, problem: str) -> None:
    with pytest.raises(InputError) as caught:
        one(tmp_path, "", head)
    assert problem in caught.value.problem


def test_a_job_without_pictures_or_card_or_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"no folder"):
        read_job(tmp_path / "nowhere")
    with pytest.raises(InputError, match=r"has no job\.toml"):
        read_job(tmp_path)
    with pytest.raises(InputError, match="names no pictures"):
        job(tmp_path, 'grid = "1cm"\n')
    (tmp_path / "maker.toml").unlink()
    with pytest.raises(InputError, match=r"no measurement card maker\.toml"):
        job(tmp_path, AGREED, card=None)


def test_another_makers_card(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text('name = "maker B"\nbust = 101\n', encoding="utf-8")
    assert one(tmp_path, "", 'grid = "1cm"\nmaker = "b.toml"').maker.name == "maker B"


def test_a_block_drawn_on_by_hand_is_named_and_must_be_there(tmp_path: Path) -> None:
    with_drawing = AGREED.replace('ease = "usual"', 'ease = "usual"\ndrawn = "edited.svg"')
    with pytest.raises(InputError, match=r"edited\.svg"):
        job(tmp_path, with_drawing)
    (tmp_path / "edited.svg").write_text("<svg/>")
    assert job(tmp_path, with_drawing).drawn == (tmp_path / "edited.svg",)
