"""Cautions stand where work can hurt: on what is printed, on what is read, in the last line of a command."""

import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pypdfium2
import pytest

import convert
from convert.cli import making, toile_run
from convert.paper import cautions
from convert.paper.card.card_form import card_form
from convert.paper.draw.draw_piece import draw_piece
from convert.paper.files.pdf import write_pdf
from convert.paper.report.class_sheet import MakerLine, write_class_sheet
from convert.paper.report.report_content import ReportContent
from convert.paper.sheets.papers import PAPERS
from convert.paper.sheets.sheets import make_sheets
from convert.paper.steps.steps import NEEDED
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS

ROOT = Path(convert.__file__).parents[1]


def words_of(pdf: bytes, page: int = 0) -> str:
    return " ".join(pypdfium2.PdfDocument(pdf)[page].get_textpage().get_text_range().split())


@pytest.mark.parametrize("paper", ["a4", "a0"])
def test_the_block_on_paper_says_toile_first(paper: str) -> None:
    sheets = make_sheets([draw_piece(bodice("bodice front"), WORDS)], PAPERS[paper], title="Block", date="today")
    assert cautions.TOILE_FIRST in words_of(write_pdf(sheets, title="Block", author="maker A", subject="block"))


def test_the_card_asks_for_consent() -> None:
    for paper in ("a4", "letter"):
        assert cautions.ASK_FIRST in words_of(card_form(paper=PAPERS[paper]))


def test_the_class_sheet_has_what_a_class_must_heed() -> None:
    page = write_class_sheet([MakerLine(name="maker A", made=True, sound=True)], title="class", date="today")
    said = re.sub(r"&#39;|&rsquo;", "'", page)
    for caution in (cautions.CHILDREN, cautions.CLASS_USE, cautions.ASK_FIRST, cautions.TOILE_FIRST, cautions.IRON):
        assert caution in said


def test_what_is_read_before_cutting_names_blades_and_iron() -> None:
    assert cautions.BLADES in NEEDED
    told = ReportContent.__dataclass_fields__["cautions"].default
    assert {cautions.TOILE_FIRST, cautions.BLADES, cautions.IRON, cautions.OWN_USE} <= set(told)


def test_a_fitting_is_about_pins_on_a_body() -> None:
    assert {cautions.PINS_ON_BODY, cautions.ASK_FIRST, cautions.TOILE_FIRST} <= set(cautions.TO_FIT)
    assert "page.cautions" in (ROOT / "convert/paper/report/templates/fitting.html").read_text(encoding="utf-8")


def test_commands_that_make_a_block_end_with_the_toile() -> None:
    block = SimpleNamespace(sound=True, pieces=())
    reads = (SimpleNamespace(piece=bodice("bodice front")),)
    made: Any = SimpleNamespace(
        reads=reads, block=block, job=SimpleNamespace(maker=SimpleNamespace(name="maker A", unit="cm"))
    )
    assert making.last_line(made, Path("out")).endswith(cautions.TOILE_FIRST)
    fitted: Any = SimpleNamespace(folder=Path(), newest=SimpleNamespace(block=block, fitting=None, number=0))
    assert toile_run.last_line(fitted).endswith(cautions.TOILE_FIRST)


def test_the_page_and_the_readme_ask_for_consent_and_cover_the_cards_number() -> None:
    page = (ROOT / "convert/page/static/words.js").read_text(encoding="utf-8")
    readme = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    assert "Ask before you measure or touch" in page
    assert "keep the points away from the skin" in page
    for text in (page, readme):
        assert "cover the number, or lay another card of that size" in text
    assert "Children use blades" in readme
    assert "ask its publisher" in readme
    assert "scissors' point" not in readme  # old tissue is never cut, a snip is told


def test_no_hint_promises_what_nothing_does() -> None:
    page = (ROOT / "convert/page/static/words.js").read_text(encoding="utf-8")
    assert "Space" not in page
    assert 'pick: "M"' in page
