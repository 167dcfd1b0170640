"""``ownblock compare`` as a person meets it: sentences, JSON, a picture true to size, from one piece alone."""

import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from convert.block.compared.drafted import Drafted
from convert.cli import main as cli
from convert.job.job import read_job
from convert.pipeline.compared import maker_notes
from tests.lab import SAMPLES

PHOTO = SAMPLES / "wardrobe" / "s1_front" / "photo.jpg"


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job of one piece, whose envelope says nothing."""
    folder = tmp_path_factory.mktemp("job")
    (folder / "front.jpg").symlink_to(PHOTO)
    (folder / "job.toml").write_text(
        'grid = "1cm"\n[[pieces]]\npiece = "bodice front"\npictures = ["front.jpg"]\n', encoding="utf-8"
    )
    (folder / "maker.toml").write_text(
        'name = "maker B"\n[measurements]\nbust = 94\nwaist = 79\n"across chest" = 33\n"front waist length" = 45\n'
    )
    return folder


def test_one_piece_tells_what_it_can(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    picture = job / "compared.svg"
    assert cli.run(["compare", str(job), "--svg", str(picture), "--overwrite"]) == 0
    said, told = capsys.readouterr()
    assert "The pattern is 3 cm shorter from shoulder to waist at the front than you need." in said
    assert "Bust\n" not in said  # a front alone has no girth
    assert "What to measure next" in said
    assert "maker B" in told.strip().splitlines()[-1]
    drawn = ET.fromstring(picture.read_text())
    assert drawn.get("width") == "190mm"
    assert drawn.get("viewBox", "").split()[2] == "190"  # one unit is one mm: the bars are true to size
    wide = [float(one.get("width", 0)) for one in drawn.iter("{http://www.w3.org/2000/svg}rect")]
    assert any(abs(one - 28.0) < 1.0 for one in wide)  # drafted 422 mm, the maker 450


def test_json_holds_numbers_sentences_and_lines(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["compare", str(job), "--json", "-q"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert (record["format"], record["version"]) == ("ownblock-comparison", 2)
    levels = {level["name"]: level for level in record["levels"]}
    front = levels["front waist length"]
    assert front["pattern_mm"] == pytest.approx(422.0, abs=1.0)
    assert front["difference_mm"] == pytest.approx(-28.0, abs=1.0)
    assert not front["too_close"]
    (line,) = front["lines"]
    (x1, y1), (x2, y2) = line["points"]
    assert ((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5 == pytest.approx(front["pattern_mm"], abs=0.01)
    assert levels["bust height"]["body_is_estimated"]
    assert record["start_from"]["size"] == "16"  # bust 94 cm: 37 in, nearer to 38 than to 36 of the misses chart
    assert record["measure_next"]
    assert any(note["code"] == "size-guessed" for note in record["notes"]) or not record["drafted_for"]["guess"]


def test_sentences_leave_no_number_without_its_unit(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["compare", str(job), "-q"]) == 0
    said = capsys.readouterr().out.split("What to measure")[0]
    numbers = re.findall(r"\d+(?:\.\d+)?", said)
    with_unit = re.findall(r"\d+(?:\.\d+)?(?= cm| to \d+(?:\.\d+)? cm)", said)
    assert numbers == with_unit
    assert all(float(number) * 2 == int(float(number) * 2) for number in numbers)  # half centimetres


def test_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.run(["compare", str(tmp_path / "nowhere")]) == 3
    assert "nowhere" in capsys.readouterr().err


@pytest.mark.parametrize(("chart", "codes"), [("1956-67", ["chart-from-memory"]), ("misses", [])])
def test_a_comparison_and_a_block_say_that_a_chart_is_from_memory(tmp_path: Path, chart: str, codes: list[str]) -> None:
    (tmp_path / "skirt.jpg").symlink_to(PHOTO)
    (tmp_path / "job.toml").write_text(
        'grid = "1cm"\n[[pieces]]\npiece = "skirt front"\npictures = ["skirt.jpg"]\n'
        f'[pattern]\nchart = "{chart}"\nsize = 14\n',
        encoding="utf-8",
    )
    (tmp_path / "maker.toml").write_text('name = "maker B"\n[measurements]\nwaist = 79\n', encoding="utf-8")
    told = Drafted(body={}, evidence="told", sentence="")
    assert [note.code for note in maker_notes(read_job(tmp_path), told)] == codes
