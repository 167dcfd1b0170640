"""Step 8 and 9: what the toile changed is on the paper; the printer's test asks for the length that it draws."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pypdfium2.raw as pdfium
import pytest

from calibration.ground.units import MM_PER_INCH

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect
SLOW_MS = 180_000
PT_PER_MM = 72 / MM_PER_INCH


def made(visit: Any, paper: str) -> Path:
    """The sheets on a paper, made and downloaded by clicks."""
    page = visit.go("paper")
    page.get_by_role("radio", name=paper, exact=True).check(force=True)
    visit.press(page.get_by_role("button", name="Make the sheets"))
    page.get_by_role("heading", name="Ready to print").wait_for(timeout=SLOW_MS)
    link = page.locator(".files .file-list a").first
    with page.expect_download() as waiting:
        visit.press(link)
    target = visit.folder / waiting.value.suggested_filename
    waiting.value.save_as(target)
    return target


def boxes_mm(pdf: Path) -> list[tuple[float, float]]:
    """Width and height of every line drawn on every page, largest first."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        for thing in page.get_objects(filter=[pdfium.FPDF_PAGEOBJ_PATH], max_depth=4):
            left, bottom, right, top = thing.get_bounds() if hasattr(thing, "get_bounds") else thing.get_pos()
            found.append(((right - left) / PT_PER_MM, (top - bottom) / PT_PER_MM))
    return sorted(found, key=lambda box: -box[0] * box[1])


def lengths_mm(pdf: Path) -> list[float]:
    """The long side of each of the five pieces, the widest for its length first."""
    pieces = sorted(boxes_mm(pdf)[:5], key=lambda box: max(box) / min(box))
    return [max(box) for box in pieces]


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_what_the_toile_changed_is_on_the_paper(visit: Callable[..., Any], demo_read: Path, size: str) -> None:
    """A skirt let down by 3 cm by touch is 3 cm longer in the PDF that is called ready; the old sheets are marked."""
    window = visit(demo_read, size)
    before = made(window, "A0")
    assert "as made" in before.name
    assert before.name.startswith("maker A, block, full size, A0")
    page = window.go("toile")
    names = page.locator("details", has_text="Or choose from the list")
    window.press(names.get_by_role("button", name="Skirt length"))
    for _ in range(3):
        page.locator("#pinned").press("PageUp")
        page.locator("#pinned").press("PageUp")
    window.press(page.get_by_role("button", name="Carry it into the block"))
    page.get_by_text("The sheets that were printed before are out of date.").wait_for(timeout=SLOW_MS)
    window.still("toile-stale")
    window.press(page.get_by_role("button", name="Make the new sheets"))
    expect(page.get_by_role("heading", name="The sheets you have are out of date")).to_be_visible(timeout=SLOW_MS)
    window.still("paper-stale")
    window.accessible()
    after = made(window, "A0")
    assert "after fitting 1" in after.name
    names_now = page.locator(".files a .file-name").all_text_contents()
    assert len(names_now) == len(set(names_now)) > 8
    assert not [one for one in names_now if "as made" in one and "report" not in one]
    window.still("paper-fitted")
    longer = [now - then for now, then in zip(lengths_mm(after), lengths_mm(before), strict=True)]
    assert sorted(longer) == pytest.approx([0.0, 0.0, 0.0, 30.0, 30.0], abs=0.3)


@pytest.mark.parametrize(("unit", "side_mm", "said"), [("cm", 100.0, "10 cm"), ("inches", 101.6, "4 in")])
def test_the_printer_test_asks_for_the_length_it_draws(
    visit: Callable[..., Any], demo_read: Path, unit: str, side_mm: float, said: str
) -> None:
    """One square; who measures exactly what is asked for has a true printer, in either unit."""
    window = visit(demo_read)
    page = window.go("paper")
    page.get_by_role("radio", name=unit, exact=True).check(force=True)
    expect(page.locator(".printer")).to_contain_text(said.replace(" ", "\u00a0"), timeout=SLOW_MS)
    window.press(page.get_by_role("button", name="Make the test sheet"))
    with page.expect_download() as waiting:
        window.press(page.locator(".printer .file-list a"))
    waiting.value.save_as(window.folder / "test.pdf")
    squares = [box for box in boxes_mm(window.folder / "test.pdf") if min(box) > 50]
    assert len(squares) == 1
    assert squares[0] == pytest.approx((side_mm, side_mm), abs=0.7)  # half the line's width on either side
    question = page.get_by_label("How long is a side of the square on paper?")
    question.fill(said.split()[0])
    question.press("Enter")
    page.get_by_text("The sheets are corrected").wait_for()
    pages = page.evaluate(
        "async () => (await fetch(location.origin + '/api/jobs/' + location.hash.split('/')[1])).json()"
    )
    chosen = pages["place"]["paper"]
    true = page.evaluate(
        "async ([square, of]) => Promise.all(['', square].map(async (one) => (await (await fetch(location.origin + "
        "`/api/jobs/${location.hash.split('/')[1]}/sheets?paper=A0&square=${one}&square_of=${of}`)).json()).pages[0].svg))",
        [chosen["square"], chosen["square_of"]],
    )
    assert true[0] == true[1], "what was asked for and measured corrects nothing"
