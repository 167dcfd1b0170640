"""Two windows on one job, and a program that is started anew."""

from pathlib import Path
from typing import Any

import pytest

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect


def begun(page: Any) -> None:
    page.get_by_label("What will you call it?").fill("Coat of the prologue")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("heading", name="Which pictures have you got?").wait_for()
    page.locator(".bead a").nth(4).click()
    page.get_by_label("Who is the block for?").wait_for()


def test_one_window_does_not_write_over_the_other(page: Any) -> None:
    begun(page)
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_label("Who is the block for?").fill("maker B")
    other.get_by_role("button", name="Keep it").click()
    other.get_by_role("heading", name="What size was the pattern drawn for?").wait_for()
    alert = page.get_by_role("alert").filter(has_text="changed in another window")
    alert.wait_for()
    page.get_by_label("Who is the block for?").fill("maker C")
    page.get_by_role("button", name="Keep it").click()
    expect(page.locator(".field-trouble")).to_contain_text("changed in another window")
    alert.get_by_role("button", name="Look again").click()
    page.get_by_role("button", name="Before").click()
    expect(page.get_by_label("Who is the block for?")).to_have_value("maker B")


def test_a_new_start_goes_on_where_she_was(chromium: Any, tmp_path: Path, opened: Any) -> None:
    context = chromium.new_context()
    page = context.new_page()
    with opened(tmp_path / "jobs") as address:
        page.goto(address)
        begun(page)
        page.get_by_label("Who is the block for?").fill("maker B")
        page.get_by_role("button", name="Keep it").click()
        page.get_by_role("heading", name="What size was the pattern drawn for?").wait_for()
    with opened(tmp_path / "jobs") as address:
        page.goto(address)
        page.get_by_role("link", name="Coat of the prologue").click()
        page.get_by_role("heading", name="What size was the pattern drawn for?").wait_for()
    context.close()
