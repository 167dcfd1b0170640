"""Naming an edge: its answers stand beside it, and what else would change for it is asked about first."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect
SLOW_MS = 60_000


@pytest.mark.parametrize("size", ["laptop", "tablet", "phone"])
def test_what_follows_from_a_name_is_asked(visit: Callable[..., Any], demo_read: Path, size: str) -> None:
    window = visit(demo_read, size)
    file = window.folder / "job.toml"
    before = file.read_text()
    page = window.go("piece", "bodice-back")
    window.press(page.get_by_role("button", name="Let me fix it"))
    window.press(page.locator('.tool[data-tool="name"]'))
    shoulder = page.evaluate("window.ownblockEditor.runs.findIndex((run) => run.name === 'shoulder')")
    spot = page.evaluate(
        "(n) => { const path = document.querySelectorAll('.hit')[n];"
        " const p = path.getPointAtLength(path.getTotalLength() * 0.8).matrixTransform(path.getScreenCTM());"
        " return [p.x, p.y]; }",
        shoulder,
    )
    if window.touch:
        page.touchscreen.tap(*spot)
    else:
        page.mouse.click(*spot)
    menu = page.locator(".edge-menu")
    menu.get_by_role("heading", name="What is this edge?").wait_for()
    inside, table = menu.bounding_box(), page.locator(".table-view").bounding_box()
    assert inside["x"] >= table["x"]
    assert inside["x"] + inside["width"] <= table["x"] + table["width"] + 1
    window.still("naming")
    window.press(menu.get_by_role("button", name="neckline", exact=True))
    asked = menu.get_by_role("heading", name="If this is the neckline, other edges change with it:")
    asked.wait_for(timeout=SLOW_MS)
    expect(menu).to_contain_text("the neckline becomes the")
    window.still("naming-asked")
    window.accessible()
    window.press(menu.get_by_role("button", name="No, leave all as it is"))
    assert file.read_text() == before
    window.press(menu.get_by_role("button", name="neckline", exact=True))
    asked.wait_for(timeout=SLOW_MS)
    window.press(menu.get_by_role("button", name="Yes, name them so"))
    expect(page.locator(".kept")).to_have_text("Kept", timeout=SLOW_MS)
    assert "edges = " in file.read_text()
    window.press(page.locator(".told-list").get_by_role("button", name="Take it back This edge is the neckline"))
    expect(page.locator(".told-list")).to_have_count(0, timeout=SLOW_MS)
    assert file.read_text() == before
