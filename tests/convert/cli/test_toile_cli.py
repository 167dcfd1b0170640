"""``ownblock toile`` on a job folder: kept, shown, printed again, taken back; nothing lost, nothing half-done."""

import datetime
import json
from pathlib import Path

import pytest

from convert.block.record import to_record
from convert.block.solved.solve import suggest
from convert.block.toile.words import Correction
from convert.cli.main import run
from convert.pipeline.fitted import write_history
from convert.pipeline.history import read_history, toile_choices, with_one_more
from tests.convert.block.makers import card_of
from tests.convert.block.test_measure import SET
from tests.convert.block.test_solve import EASE, bodies
from tests.lab_pieces import lab_piece

DAY = datetime.date(2026, 11, 25)


@pytest.fixture(scope="module")
def made() -> str:
    pieces = [lab_piece(scene) for scene in SET[:2]]
    block = suggest(pieces, card=card_of(bodies("maker_body")), drafted_for=bodies("pattern_size_body"), ease=EASE)
    return json.dumps(to_record(block, curves=False))


@pytest.fixture
def job(tmp_path: Path, made: str) -> Path:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "block.json").write_text(made)
    return tmp_path


def waist(file: Path) -> float:
    record = json.loads(file.read_text())
    return next(one["block_mm"] for one in record["measurements"] if one["name"] == "waist")


def test_a_fitting_is_kept_carried_in_and_taken_back(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change = ["--change", "waist: in 2 cm", "--date", "2026-11-25", "--note", "after supper"]
    assert run(["toile", str(job), *change]) == 0
    assert "Waist: 2 cm smaller" in capsys.readouterr().out
    states = job / "out" / "fittings"
    assert waist(states / "1.json") == pytest.approx(waist(states / "0.json") - 20.0, abs=0.1)
    assert waist(job / "out" / "block.json") == waist(states / "0.json")
    assert 'note = "after supper"' in (job / "toile.toml").read_text()
    for name in ("block.pdf", "fitting.html", "steps.pdf", "block.json", "block.svg", "block.dxf"):
        assert (job / "out" / "fitted" / name).stat().st_size > 1000
    before = (job / "toile.toml").read_text()
    assert run(["toile", str(job), "--undo", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["newest"], told["fittings"][0]["undone"]) == (0, True)
    assert waist(job / "out" / "fitted" / "block.json") == waist(states / "0.json")
    assert not (job / "out" / "fitted" / "steps.pdf").exists()
    assert run(["toile", str(job), "--redo", "-q"]) == 0
    assert (job / "toile.toml").read_text() == before


def test_each_state_is_printed_again(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["toile", str(job), "--change", "waist: in 2 cm", "-q"])
    for words, said in (([], "after fitting 1"), (["--fitting", "1"], "after fitting 1"), (["--fitting", "0"], "A: ")):
        out = tmp_path / f"{len(words)}{words[-1:]}.pdf"
        assert run(["print", str(job), "--scale", "quarter", "--out", str(out), *words]) == 0
        assert said in capsys.readouterr().err
        assert out.stat().st_size > 5000
    assert run(["print", str(job), "--fitting", "7", "--out", str(tmp_path / "x.pdf")]) == 3


def test_a_change_that_is_not_plain_changes_nothing(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["toile", str(job), "--change", "waist: in 2 cm", "-q"])
    before = {path: path.read_bytes() for path in job.rglob("*") if path.is_file()}
    for words, code in (
        (["--change", "waist: in 1 cm", "--change", "elbow: out 1 cm"], 3),
        (["--change", "waist: in 1 cm", "--undo"], 2),
        (["--note", "alone"], 2),
        (["--redo"], 3),
    ):
        assert run(["toile", str(job), *words]) == code
    assert "elbow" in capsys.readouterr().err
    assert {path: path.read_bytes() for path in job.rglob("*") if path.is_file()} == before


def test_what_somebody_changed_is_kept(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["toile", str(job), "--change", "waist: in 2 cm", "-q"])
    drawing = job / "out" / "fitted" / "block.svg"
    drawing.write_text("mine")
    told = (job / "toile.toml").read_text()
    assert run(["toile", str(job), "--change", "waist: in 1 cm"]) == 4
    assert "block.svg" in capsys.readouterr().err
    assert drawing.read_text() == "mine"
    assert (job / "toile.toml").read_text() == told
    assert run(["toile", str(job), "--change", "waist: in 1 cm", "--overwrite", "-q"]) == 0


def test_states_of_an_older_block_are_kept_aside(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(["toile", str(job), "--change", "waist: in 2 cm", "-q"])
    old = (job / "out" / "fittings" / "1.json").read_bytes()
    record = json.loads((job / "out" / "block.json").read_text())
    record["pieces"][0]["uncertainty_mm"] = 0.3
    (job / "out" / "block.json").write_text(json.dumps(record))
    assert run(["toile", str(job), "--strict"]) == 5
    assert "made anew" in capsys.readouterr().err
    assert (job / "out" / "fittings of an older block 1" / "1.json").read_bytes() == old


def test_without_a_block_it_says_how_to_make_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["toile", str(tmp_path), "--change", "waist: in 2 cm"]) == 3
    assert "ownblock make" in capsys.readouterr().err


def test_the_page_chooses_and_adds(job: Path) -> None:

    block = read_history(job).newest.block
    choices = {one["place"]: one for one in toile_choices(block)}
    assert ("crown" in choices) == any(piece.kind == "sleeve" for piece in block.pieces)
    assert choices["waist"]["counts"] == "whole"
    history = write_history(with_one_more(job, [Correction(place="waist", amount_mm=-20.0)], date=DAY), date=DAY)
    assert [one.number for one in history.states] == [0, 1]
    assert history.newest.effects[0].name == "waist"


def test_the_example_in_the_help_runs(job: Path) -> None:
    import shlex

    from convert.cli.toile_command import command

    line = next(one for one in (command.help or "").splitlines() if one.strip().startswith("ownblock toile sample"))
    words = [str(job) if word == "sample_scans/wardrobe" else word for word in shlex.split(line)[1:]]
    assert run([*words, "-q"]) == 0


def test_a_block_made_anew_takes_its_fittings_along(job: Path) -> None:
    from convert.cli.making import fitted_again
    from convert.cli.options import Voice

    voice = Voice(quiet=True)
    assert fitted_again(job, date=DAY, voice=voice, overwrite=False) == ()
    (job / "toile.toml").write_text('[[fitting]]\nchange = "waist: in 2 cm"\n')
    assert [note.code for note in fitted_again(job, date=DAY, voice=voice, overwrite=False)] == ["toile-followed"]
    assert (job / "out" / "fitted" / "block.pdf").is_file()
    (job / "toile.toml").write_text('[[fitting]]\nchange = "elbow: in 2 cm"\n')
    (note,) = fitted_again(job, date=DAY, voice=voice, overwrite=False)
    assert note.code == "toile-not-followed"
    assert "elbow" in note.text


@pytest.mark.parametrize(
    ("said", "told"),
    [("too tight across the back", "How much"), ("drag lines from bust to side", "full bust, bodice front: out … cm")],
)
def test_what_is_no_order_yet_is_asked_back_with_pictures(
    job: Path, capsys: pytest.CaptureFixture[str], said: str, told: str
) -> None:
    before = {path: path.read_bytes() for path in job.rglob("*") if path.is_file()}
    assert run(["toile", str(job), "--change", "waist: in 2 cm", "--change", said]) == 3
    heard = capsys.readouterr()
    assert told in heard.out
    assert "Nothing was changed yet" in heard.err
    page = job / "out" / "fitted" / "question.html"
    assert page.read_text().count("<svg") >= 1
    after = {path: path.read_bytes() for path in job.rglob("*") if path.is_file() and path.parent != page.parent}
    assert after == before
    assert run(["toile", str(job), "--change", said, "--json"]) == 3
    assert json.loads(capsys.readouterr().out)["answers"][0]["text"] == said
    assert run(["toile", str(job), "--change", "waist: in 2 cm", "-q"]) == 0
    assert not page.exists(), "it was answered"
