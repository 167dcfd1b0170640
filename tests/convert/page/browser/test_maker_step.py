"""Step 5: the pattern's size by its envelope or by a row of a table; a number typed is kept, however one goes on."""

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect
SLOW_MS = 120_000


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job with a name on its card and nothing else: nothing has to be read for it."""
    place = tmp_path_factory.mktemp("bare") / "card"
    place.mkdir()
    (place / "job.toml").write_text('title = "Coat of the prologue"\n')
    (place / "maker.toml").write_text('name = "maker B"\nunit = "cm"\n')
    return place


def pattern(window: Any) -> Any:
    return tomllib.loads((window.folder / "job.toml").read_text()).get("pattern", {})


def row(page: Any, name: str) -> Any:
    return page.locator(".whole-card .edge-row").filter(has_text=re.compile(rf"^{name}(not|est|\d|$)"))


def opened(window: Any, name: str) -> Any:
    """One row of the card on the table."""
    page = window.page
    if not page.locator(".whole-card").get_attribute("open") and page.locator(".whole-card[open]").count() == 0:
        window.press(page.locator(".whole-card > summary"))
    window.press(row(page, name))
    return page


@pytest.mark.parametrize("size", ["laptop", "tablet", "phone"])
def test_a_size_is_a_row_of_a_table_that_is_seen(visit: Callable[..., Any], bare: Path, size: str) -> None:
    window = visit(bare, size)
    page = window.go("maker")
    page.get_by_role("heading", name="What size was the pattern drawn for?").wait_for()
    window.press(page.get_by_role("button", name="I know the number of the size"))
    window.press(page.get_by_role("button", name="Pattern envelopes since 1968: misses", exact=True))
    table = page.get_by_role("table")
    expect(table.get_by_role("columnheader")).to_have_text(
        ["Size", "High bust", "Bust", "Waist", "Hip", "Back waist length"]
    )
    window.still("maker-size-table")
    window.accessible()
    window.press(table.get_by_role("cell", name="71.1"))  # the waist: anywhere in the row of size 14
    expect(table.get_by_role("button", name="Size 14")).to_have_attribute("aria-pressed", "true")
    assert pattern(window) == {"chart": "misses since 1968", "size": "14"}
    assert "misses since 1968" not in page.inner_text("main").split("\n"), "a table's code name is no label"
    window.press(page.get_by_role("button", name="I don’t know"))
    window.press(page.get_by_role("button", name="Take it out"))
    expect(page.get_by_text("Then it is left open.")).to_be_visible()
    assert pattern(window) == {}


def test_the_envelopes_own_figures_are_typed(visit: Callable[..., Any], bare: Path) -> None:
    window = visit(bare, unwell=True)
    page = window.go("maker")
    window.press(page.get_by_role("button", name="The envelope gives the measurements of its size"))
    page.get_by_label("Bust", exact=True).fill("92,5")
    page.get_by_label("Waist", exact=True).fill("many")
    window.press(page.get_by_role("button", name="Next", exact=True))
    expect(page.locator(".field-trouble")).to_contain_text("many")
    window.still("maker-envelope-refused")
    page.get_by_label("Waist", exact=True).fill("71")
    window.press(page.locator(".bead a").nth(0))  # away by the steps at the side
    page.locator(".step-pictures h1").wait_for()
    assert {name: str(value) for name, value in pattern(window)["body"].items()} == {"bust": "92,5", "waist": "71"}


WAYS: dict[str, Callable[[Any], None]] = {
    "next": lambda page: page.get_by_role("button", name="Next", exact=True).click(),
    "before": lambda page: page.get_by_role("button", name="Before", exact=True).click(),
    "keep": lambda page: page.get_by_role("button", name="Keep it").click(),
    "compare": lambda page: page.get_by_role("button", name=re.compile("On to comparing|Enough for now")).click(),
    "steps": lambda page: page.locator(".bead a").nth(0).click(),
    "another row": lambda page: row(page, "Waist").click(),
    "reload": lambda page: page.reload(),
    "unit": lambda page: page.get_by_role("radio", name="inches").check(force=True),
}


@pytest.mark.parametrize("way", WAYS)
def test_a_number_typed_is_kept_however_one_goes_on(visit: Callable[..., Any], bare: Path, way: str) -> None:
    window = visit(bare)
    window.go("maker")
    page = opened(window, "Bust")
    page.locator("#measure").fill("94,3")
    page.locator("#measure").press("End")
    WAYS[way](page)
    window.page.wait_for_timeout(100)
    page.wait_for_load_state()
    deadline = page.get_by_role("main")
    expect(deadline).not_to_be_empty()
    for _ in range(100):
        if "94,3" in (window.folder / "maker.toml").read_text():
            break
        page.wait_for_timeout(50)
    assert "94,3" in (window.folder / "maker.toml").read_text()
    if way not in ("unit",):
        window.go("pictures")
        page = window.go("maker")
        if page.locator(".whole-card[open]").count() == 0:
            window.press(page.locator(".whole-card > summary"))
        expect(row(page, "Bust").locator(".number")).to_have_text("94,3\u00a0cm")


def test_a_number_that_is_none_holds_one_back(visit: Callable[..., Any], bare: Path) -> None:
    """Nothing typed is dropped in silence: the page stays and says what is wrong."""
    window = visit(bare, "phone", unwell=True)
    window.go("maker")
    page = opened(window, "Bust")
    page.locator("#measure").fill("ninety")
    window.press(page.locator(".thread-fold > summary"))
    window.press(page.locator(".bead a").nth(0))
    expect(page.locator(".field-trouble")).to_contain_text("ninety")
    expect(page.locator("#measure")).to_have_value("ninety")
    expect(page).to_have_url(re.compile("/maker$"))
    window.still("maker-refused")
