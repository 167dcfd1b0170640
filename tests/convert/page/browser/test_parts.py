"""Parts of a piece are chosen from pictures of how the garment is cut; laid together they are shown."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.lab import SAMPLES

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect


PHOTO = SAMPLES / "wardrobe" / "s1_front" / "photo.jpg"  # what it shows is not looked at before it is named


@pytest.fixture
def fresh(tmp_path: Path) -> Path:
    """A job with nothing in it yet."""
    folder = tmp_path / "fresh"
    folder.mkdir()
    (folder / "job.toml").write_text('title = "Blouse in panels"\n')
    (folder / "maker.toml").write_text('name = "maker B"\nunit = "cm"\n')
    return folder


@pytest.mark.parametrize(
    ("cut", "part", "kind"),
    [
        ("in panels", "side front panel", "bodice front, side"),
        ("with a yoke", "back yoke", "bodice back yoke"),
        ("sleeve in two parts", "under sleeve", "under sleeve"),
        ("skirt in gores", "centre back gore", "skirt back, centre"),
    ],
)
def test_a_part_is_chosen_from_how_the_garment_is_cut(
    visit: Callable[..., Any], fresh: Path, cut: str, part: str, kind: str
) -> None:
    window = visit(fresh, "phone" if cut == "in panels" else "laptop")
    page = window.go("pictures")
    page.locator("#choose-pictures").set_input_files(PHOTO)
    dialog = page.get_by_role("dialog")
    dialog.wait_for()
    assert dialog.locator(".cuts svg").count() == 4
    window.still("parts-cuts")
    window.accessible()
    window.press(dialog.get_by_role("button", name=cut))
    window.still("parts-parts")
    window.accessible()
    window.press(dialog.get_by_role("button", name="Back to all pieces"))
    window.press(dialog.get_by_role("button", name=cut))
    window.press(dialog.get_by_role("button", name=part, exact=True))
    expect(dialog).to_have_count(0)
    assert f"piece = {json.dumps(kind)}" in (window.folder / "job.toml").read_text()
    expect(page.locator(".picture strong")).to_have_text(part)
