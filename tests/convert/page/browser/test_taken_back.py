"""Everything told can be taken back by clicks, whether or not what was told can be read."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect
SLOW_MS = 120_000


def told(visit: Any) -> str:
    return (visit.folder / "job.toml").read_text()


def dragged(page: Any, thing: Any, right: float, down: float) -> None:
    box = thing.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + right / 2, y + down / 2, steps=3)
    page.mouse.move(x + right, y + down, steps=3)
    page.mouse.up()


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_a_wrong_crossing_is_taken_back(visit: Callable[..., Any], demo_read: Path, size: str) -> None:
    """One crossing dragged far off: whatever the reading says then, one button leads back to what was read."""
    window = visit(demo_read, size, unwell=True)
    before = told(window)
    page = window.go("mat", "sleeve")
    window.press(page.get_by_role("button", name="Let me fix it"))
    dots = page.locator(".things .thing .grab")
    dots.nth(dots.count() // 2).wait_for()
    dragged(page, dots.nth(dots.count() // 2), 90, 70)
    window.press(page.get_by_role("button", name="Straighten again"))
    back = page.get_by_role("button", name=re.compile("^(Take back the crossings that I moved|Take it back)"))
    back.first.wait_for(timeout=SLOW_MS)
    assert "lattice" in told(window)
    window.still("mat-wrong-crossing")
    window.accessible()
    for step in ("piece", "seams"):  # nor is it a dead end from there
        page = window.go(step, "sleeve")
        assert page.get_by_role("button", name=re.compile("The mat|Take back the crossings|Looks right")).count()
    page = window.go("mat", "sleeve")
    window.press(back.first)
    page.get_by_role("heading", name="Do the drawn lines lie").wait_for(timeout=SLOW_MS)
    assert told(window) == before


def test_a_point_a_name_and_all_of_it_are_taken_back(visit: Callable[..., Any], demo_read: Path) -> None:
    window = visit(demo_read)
    before = told(window)
    page = window.go("piece", "bodice-back")
    window.press(page.get_by_role("button", name="Let me fix it"))
    page.keyboard.press("PageDown")
    page.keyboard.press("ArrowUp")
    expect(page.locator(".kept")).to_have_text("Kept", timeout=SLOW_MS)
    window.press(page.locator('.tool[data-tool="notch"]'))
    page.keyboard.press("Enter")
    expect(page.locator(".kept")).to_have_text("Keeping it…")
    expect(page.locator(".kept")).to_have_text("Kept", timeout=SLOW_MS)
    assert "outline_parts" in told(window)
    mine = page.locator(".told-list")
    expect(mine).to_contain_text("Stretch 1 of the edge")
    window.still("piece-told")
    window.press(mine.get_by_role("button", name="Take it back Stretch 1 of the edge"))
    expect(mine).not_to_contain_text("Stretch 1", timeout=SLOW_MS)
    assert "outline_parts" not in told(window)
    assert "notches" in told(window)
    window.press(page.get_by_role("button", name="Back to what was read"))
    again = page.get_by_role("button", name="Bring my changes back")
    again.wait_for(timeout=SLOW_MS)
    assert told(window) == before
    window.press(again)
    expect(mine).to_contain_text("The notches", timeout=SLOW_MS)
    assert "notches" in told(window)


def test_what_cannot_be_is_not_drawn_as_if_it_were_kept(visit: Callable[..., Any], demo_read: Path) -> None:
    """An edge drawn through itself is refused at its place; the drawing goes back and the picture stays where it is."""
    window = visit(demo_read, unwell=True)
    before = told(window)
    page = window.go("piece", "bodice-back")
    window.press(page.get_by_role("button", name="Let me fix it"))
    drawn = page.evaluate("document.querySelector('.world .cut').getAttribute('d')")
    at = page.evaluate("document.querySelector('.table-view').getBoundingClientRect().top")
    page.evaluate(
        "(() => { const e = window.ownblockEditor, d = e.history.doc, far = d.nodes[Math.floor(d.nodes.length / 2)];"
        " e.snapping = false; e.choose('node-1'); })()"
    )
    chosen = page.locator(".thing.chosen .grab")
    box = page.locator(".table-view").bounding_box()
    own = chosen.bounding_box()
    dragged(page, chosen, box["x"] + box["width"] * 0.5 - own["x"], box["y"] + box["height"] * 2.2 - own["y"])
    said = page.locator(".panel .field-trouble")
    expect(said).not_to_be_empty(timeout=SLOW_MS)
    window.still("piece-refused")
    assert page.evaluate("document.querySelector('.world .cut').getAttribute('d')") == drawn
    assert page.evaluate("document.querySelector('.table-view').getBoundingClientRect().top") == pytest.approx(
        at, abs=1
    )
    assert told(window) == before


def test_a_piece_taken_out_comes_back_whole(visit: Callable[..., Any], demo_read: Path) -> None:
    window = visit(demo_read, "tablet")
    file = window.folder / "job.toml"
    file.write_text(file.read_text().replace('piece = "sleeve"', 'piece = "sleeve"\nallowance = "17 mm"', 1))
    page = window.go("pictures")
    cards = page.locator(".picture").count()
    window.press(page.get_by_role("button", name="Not the sleeve"))
    back = page.get_by_role("button", name="Bring it back")
    back.wait_for()
    assert "sleeve" not in told(window)
    page.reload()  # it is no matter of this window
    window.press(page.get_by_role("button", name="Bring it back"))
    expect(page.get_by_role("button", name="Not the sleeve")).to_be_visible()
    assert 'allowance = "17 mm"' in told(window)
    assert page.locator(".picture").count() == cards
    expect(page.get_by_role("button", name="Bring it back")).to_have_count(0)
