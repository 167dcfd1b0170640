"""Many makers, one pattern: a block each, on all cores; one bad card never stops the rest."""

import json
import multiprocessing
import os
import signal
from pathlib import Path
from types import SimpleNamespace

import pytest

from calibration.ground.errors import InputError
from convert.body.read_card import card_text
from convert.cli import class_making
from convert.cli.class_making import MakerDone, cards_in, make_blocks, sorted_cards
from convert.cli.main import run
from convert.piece.piece import Piece
from tests.convert.block.makers import card_of, random_makers
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import bodies
from tests.lab_pieces import lab_piece

SIZE = ", ".join(f'"{name}" = "{mm} mm"' for name, mm in bodies("pattern_size_body").items() if name != "height")


@pytest.fixture(scope="module")
def pieces() -> tuple[Piece, ...]:
    return tuple(lab_piece(scene) for scene in SET)


@pytest.fixture
def job(tmp_path: Path, pieces: tuple[Piece, ...]) -> Path:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "seen.jpg").touch()
    listed = "".join(f'[[pieces]]\npiece = "{piece.kind}"\npictures = ["seen.jpg"]\n' for piece in pieces)
    (folder / "job.toml").write_text(f'title = "class"\ngrid = "1cm"\n[pattern]\nbody = {{ {SIZE} }}\n{listed}')
    return folder


@pytest.fixture
def cards(tmp_path: Path) -> Path:
    folder = tmp_path / "cards"
    folder.mkdir()
    for number, body in enumerate(random_makers(3, seed=5)):
        (folder / f"{number}.toml").write_text(card_text(card_of(body, "Zoë" if number < 2 else "фея")))
    (folder / "torn.toml").write_text('name = "maker T"\n[measurements]\nbust = ')
    (folder / "wide.toml").write_text('name = "maker W"\n[measurements]\nbust = 94\nwaist = 160\n')
    return folder


def test_cards_are_found_and_each_has_its_own_folder(cards: Path) -> None:
    good, bad = sorted_cards(cards_in([cards, cards / "0.toml"]))
    assert [one.card.file.name for one in bad] == ["torn.toml"]
    assert len(good) == 4
    assert len({card.place for card in good}) == 4
    assert all(card.place.isascii() for card in good)


def test_no_card_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no card"):
        cards_in([tmp_path / "nobody.toml"])
    with pytest.raises(InputError, match="holds no card"):
        cards_in([tmp_path])


def test_a_class_gets_its_blocks_and_the_rest_goes_on(
    job: Path,
    cards: Path,
    pieces: tuple[Piece, ...],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    reads = tuple(SimpleNamespace(piece=piece, read=SimpleNamespace(notes=())) for piece in pieces)
    monkeypatch.setattr(class_making, "read_job_pieces", lambda job, progress: reads)
    monkeypatch.setattr(class_making, "photographs", lambda job, reads: ())
    one = cards / "0.toml"
    assert (
        run(
            [
                "make",
                str(job),
                "--maker",
                str(one),
                *(["--maker", str(cards / "torn.toml")]),
                "--maker",
                str(cards / "wide.toml"),
            ]
        )
        == 3
    )
    said = capsys.readouterr().err
    assert "1 of 3 cards gave a block" in said
    assert "Sew a toile from cheap cloth" in said
    assert "torn.toml" in said
    assert "waist 160 cm" in said
    sheet = (job / "out" / "class.html").read_text()
    assert sheet.index("No block yet") < sheet.index("<h3>maker W") < sheet.index("<h3>Zoë")
    record = json.loads((job / "out" / "zo" / "block.json").read_text())
    assert record["maker"]["name"] == "Zoë"
    assert (job / "out" / "zo" / "steps.pdf").stat().st_size > 10_000


def test_thirty_makers_get_their_blocks_in_the_cards_order(
    job: Path, tmp_path: Path, pieces: tuple[Piece, ...]
) -> None:
    files = []
    for number, body in enumerate(random_makers(30, seed=8)):
        files.append(tmp_path / f"{number}.toml")
        files[-1].write_text(card_text(card_of(body, f"maker {number}")))
    good, _ = sorted_cards(files)
    finished: list[MakerDone] = []
    results = make_blocks(job, pieces, good, workers=2, write=False, done=finished.append)
    assert [one.card for one in results] == good
    assert len(finished) == 30
    assert sum(not one.code for one in results) >= 29


def test_a_worker_that_is_killed_takes_no_block_with_it(job: Path, tmp_path: Path, pieces: tuple[Piece, ...]) -> None:
    files = []
    for number, body in enumerate(random_makers(5, seed=8)):
        files.append(tmp_path / f"{number}.toml")
        files[-1].write_text(card_text(card_of(body, f"maker {number}")))
    good, _ = sorted_cards(files)
    killed: list[int] = []

    def kill_one(_: MakerDone) -> None:
        if not killed:
            killed.extend(child.pid or 0 for child in multiprocessing.active_children()[:1])
            os.kill(killed[0], signal.SIGKILL)

    results = make_blocks(job, pieces, good, workers=2, write=False, done=kill_one)
    assert killed
    assert [one.card for one in results] == good
    assert [one.problem for one in results] == [""] * 5
