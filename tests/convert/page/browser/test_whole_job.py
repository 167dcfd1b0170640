"""The whole job by pointing: from an empty folder to a PDF in the hand, with axe-core on every step."""

import os
import re
import tomllib
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect

WARDROBE = Path(__file__).parents[4] / "sample_scans" / "wardrobe"
PIECES = {
    "bodice front": "s1_front",
    "bodice back": "s2_back",
    "sleeve": "s3_sleeve",
    "skirt front": "s4_skirt-front",
    "skirt back": "s5_skirt-back",
}
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")
SLOW_MS = 180_000


def accessible(page: Any) -> None:
    """No violation found by axe-core; a still of the page where OWNBLOCK_STILLS names a folder for them."""
    page.locator("h1").first.wait_for()  # a busy machine takes its time to draw the step
    if stills := os.environ.get("OWNBLOCK_STILLS"):
        Path(stills).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(stills) / f"{len(list(Path(stills).glob('*.png'))) + 1:02}.png")
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    found = axe.run(page, options={"runOnly": list(RULES)}).response["violations"]
    assert [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found] == []


def heading(page: Any, words: str) -> None:
    page.get_by_role("heading", level=1).filter(has_text=words).wait_for(timeout=SLOW_MS)


def test_from_an_empty_folder_to_a_printed_block(page: Any, tmp_path: Path) -> None:
    accessible(page)
    page.get_by_label("What will you call it?").fill("Dress of the second act")
    page.get_by_role("button", name="Begin").click()

    heading(page, "Which pictures have you got?")
    accessible(page)
    bring_pictures(page, tmp_path)
    accessible(page)
    page.get_by_role("button", name="On to the mat").click()

    heading(page, "How far apart are the lines")
    accessible(page)
    page.get_by_role("button", name=re.compile("1.cm as wide as a fingernail")).click()
    for question in (
        "Do the drawn lines lie",
        "Is this the edge of the paper",
        "How much of the paper is seam allowance",
    ):
        for number in range(len(PIECES)):
            heading(page, question)
            page.locator(".tab.here").nth(0).wait_for()
            if number == 0:
                accessible(page)
            if number == 0 and question.startswith("Is this"):
                mended_by_keys(page)
            before = page.url
            page.get_by_role("button", name="Looks right").click()
            page.wait_for_url(lambda url, before=before: url != before, timeout=SLOW_MS)

    fill_card(page)
    heading(page, "Your body and the pattern")
    accessible(page)
    page.get_by_role("button", name="I have seen it").click()
    heading(page, "From the pattern to your block")
    page.get_by_role("slider").wait_for()
    accessible(page)
    page.get_by_role("button", name="Looks right").click()
    heading(page, "What shall it be printed on?")
    page.get_by_text(re.compile(r"^\d+ sheets$")).wait_for(timeout=SLOW_MS)
    accessible(page)
    pdf = downloaded(page, tmp_path)
    assert pdf.name == "maker A, block, full size, A4, as made.pdf"
    assert pdf.read_bytes() == next((tmp_path / "jobs").glob("*/out/sheets.pdf")).read_bytes()
    assert len(pypdfium2.PdfDocument(pdf)) > 10

    page.get_by_role("button", name="After the toile").click()
    heading(page, "What did the toile show?")
    accessible(page)


def mended_by_keys(page: Any) -> None:
    """A corner moved and taken back without a mouse; both are kept."""
    page.get_by_role("button", name="Let me fix it").click()
    table = page.get_by_role("application")
    moved = page.locator(".chosen-thing h2")
    page.keyboard.press("PageDown")
    expect(moved).to_contain_text("Corner 1")
    accessible(page)
    for keys in ("ArrowRight", "Control+z"):
        table.press(keys)
        expect(page.locator(".kept")).to_have_text("Keeping it…")
        expect(page.locator(".kept")).to_have_text("Kept", timeout=SLOW_MS)
    page.get_by_role("button", name="Done fixing").click()


def bring_pictures(page: Any, tmp_path: Path) -> None:
    """Five photographs chosen at once, then each told what it shows."""
    files = []
    for number, (kind, folder) in enumerate(PIECES.items(), 1):
        file = tmp_path / f"{number} {kind}.jpg"
        file.write_bytes((WARDROBE / folder / "photo.jpg").read_bytes())
        files.append(str(file))
    page.locator("#choose-pictures").set_input_files(files)
    for number in range(1, len(PIECES) + 1):
        dialog = page.get_by_role("dialog")
        dialog.wait_for(timeout=SLOW_MS)
        shown = dialog.get_by_role("img").first.get_attribute("alt") or ""
        kind = next(kind for kind in PIECES if kind.replace(" ", "-") in shown.replace(" ", "-"))
        dialog.get_by_role("button", name=kind, exact=True).click()
        expect(page.locator(".picture strong:not(.open)")).to_have_count(number, timeout=SLOW_MS)


def fill_card(page: Any) -> None:
    """Every measurement of maker A's card, one at a time."""
    told = tomllib.loads((WARDROBE / "maker.toml").read_text())["measurements"]
    heading(page, "Who is the block for?")
    accessible(page)
    page.get_by_label("Who is the block for?").fill("maker A")
    page.get_by_role("button", name="Keep it").click()
    heading(page, "What size was the pattern drawn for?")
    accessible(page)
    page.get_by_role("button", name="Next").click()
    seen = 0
    for _ in range(40):
        name = (page.get_by_role("heading", level=1).text_content() or "").lower()
        if page.locator("#measure").count() == 0:
            break
        if seen == 0:
            accessible(page)
        if name in told:
            seen += 1
            page.locator("#measure").fill(f"{told[name]:g}".replace(".", ","))
            page.get_by_role("button", name="Keep it").click()
        else:
            page.get_by_role("button", name="Next", exact=True).click()
        expect(page.get_by_role("heading", level=1)).not_to_have_text(name, ignore_case=True, timeout=SLOW_MS)
    assert seen >= 12
    page.get_by_role("button", name="On to comparing").click()


def downloaded(page: Any, tmp_path: Path) -> Path:
    page.get_by_role("button", name="Make the sheets").click()
    link = page.locator(".files .file-list a").first
    link.wait_for(timeout=SLOW_MS)
    accessible(page)
    with page.expect_download() as waiting:
        link.click()
    target = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(target)
    return target
