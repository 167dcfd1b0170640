"""``ownblock print``: from an edited drawing, corrected, refused; nothing written where it can't be."""

import json
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from convert.block.record import to_record
from convert.cli import main as cli
from tests.convert.paper.test_redrawn import block, svg_of


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A job folder whose block was made."""
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "block.json").write_text(json.dumps(to_record(block())))
    return tmp_path


def run(*words: object) -> int:
    return cli.run([str(word) for word in words])


def words_of(pdf: Path) -> str:
    document = pdfium.PdfDocument(pdf.read_bytes())
    return " ".join(page.get_textpage().get_text_range() for page in document)


def test_an_edited_drawing_is_printed_and_what_changed_is_said(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing, out = job / "edited.svg", job / "block.pdf"
    drawing.write_text(svg_of(block(wider=12.0), "bodice front"))
    assert run("print", job, "--from", drawing, "--out", out) == 0
    said = capsys.readouterr().err
    assert "On the bodice front you moved" in said
    assert "Waist: now" in said
    assert "larger than before" in said
    assert pdfium.PdfDocument(out.read_bytes())
    assert run("print", job, "--from", drawing, "--out", out) == 4  # it is there now


def test_a_drawing_that_cannot_be_used_writes_nothing(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    drawing, out = job / "edited.svg", job / "block.pdf"
    drawing.write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    assert run("print", job, "--from", drawing, "--out", out) == 3
    assert "seam line" in capsys.readouterr().err
    assert not out.exists()


def test_across_and_up_are_corrected_apart_and_said_on_every_sheet(job: Path) -> None:
    out = job / "block.pdf"
    assert run("print", job, "--square", "98.5,99", "--out", out, "-q") == 0
    document = pdfium.PdfDocument(out.read_bytes())
    for page in document:
        text = page.get_textpage().get_text_range()
        assert "98.5" in text
        assert "99" in text
    assert run("print", job, "--square", "wide", "--out", job / "other.pdf") == 2


def test_one_piece_alone(job: Path) -> None:
    out = job / "back.pdf"
    assert run("print", job, "--piece", "bodice back", "--paper", "A0", "--out", out, "-q") == 0
    text = words_of(out)
    assert "Bodice back" in text
    assert "Bodice front" not in text


def test_a_toile_says_its_allowances(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = job / "toile.pdf"
    assert run("print", job, "--allowance", "12mm", "--allowance", "waist=25mm", "--out", out, "-q") == 0
    text = words_of(out).replace("\r\n", " ").replace("\u00a0", " ")
    assert "Seam allowance 1.2 cm included" in text
    assert "waist 2.5 cm" in text
    for said in ("brim=3cm", "wide", "3m"):
        assert run("print", job, "--allowance", said, "--out", job / "other.pdf") == 2
    assert "15mm" in capsys.readouterr().err
