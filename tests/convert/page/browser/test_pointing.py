"""Which size, which piece, which way up, how far apart the lines are: answered by pointing, changed at any time."""

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.lab import scene_folder

expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect
SLOW_MS = 300_000
ReadOnce = Callable[[str, Callable[[Path], object]], Path]


def job_of(scene: str, grid: str, *kinds: str) -> Callable[[Path], object]:
    """Writes a job of one of the practice pictures, each kind told of it and nothing else."""

    def write(place: Path) -> None:
        photo = scene_folder(scene) / "photo.jpg"
        if not photo.is_file():
            pytest.skip("the picture is kept outside the repository")
        (place / "pictures").mkdir()
        shutil.copy(photo, place / "pictures" / "photo.jpg")
        pieces = "".join(f'\n[[pieces]]\npiece = "{kind}"\npictures = ["pictures/photo.jpg"]\n' for kind in kinds)
        (place / "job.toml").write_text(f'title = "One picture"\ngrid = "{grid}"\n{pieces}')
        (place / "maker.toml").write_text('name = "maker B"\nunit = "cm"\n')

    return write


@pytest.fixture(scope="session")
def practice(read_once: ReadOnce) -> dict[str, Path]:
    """All of them, before there is a browser, whose loop runs on beside whatever reads."""
    return {
        "nested": read_once("nested", job_of("p10_nested_front", "1cm", "bodice front")),
        "two": read_once("two", job_of("p12_two_pieces", "1cm", "bodice front", "bodice back")),
        "pitch": read_once("pitch", job_of("p15_pitch_trap", "1cm", "bodice front")),
    }


def told(window: Any) -> str:
    return (window.folder / "job.toml").read_text()


def at_mm(page: Any, outline: str, share: float) -> tuple[float, float]:
    """Where a share of the way along a drawn line lies on the screen."""
    x, y = page.evaluate(
        "([which, share]) => { const path = document.querySelectorAll('.choice-line')[which];"
        " const p = path.getPointAtLength(path.getTotalLength() * share).matrixTransform(path.getScreenCTM());"
        " return [p.x, p.y]; }",
        [int(outline), share],
    )
    return x, y


def tapped(window: Any, x: float, y: float) -> None:
    window.page.touchscreen.tap(x, y) if window.touch else window.page.mouse.click(x, y)


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_a_nested_size_is_chosen_by_tapping_its_line(
    visit: Callable[..., Any], practice: dict[str, Path], size: str
) -> None:
    window = visit(practice["nested"], size, unwell=True)
    page = window.go("piece", "bodice-front")
    page.get_by_role("heading", name="Which line is your size of the bodice front?").wait_for(timeout=SLOW_MS)
    expect(page.locator(".choice-line")).to_have_count(5, timeout=SLOW_MS)
    page.locator(".pointing").scroll_into_view_if_needed()
    page.locator(".table-image").wait_for()
    window.still("nested-choose")
    window.accessible()
    middle = at_mm(page, "3", 0.5)
    tapped(window, *middle)
    page.get_by_role("heading", name="Is this the edge of the paper").wait_for(timeout=SLOW_MS)
    assert "size = 4" in told(window)
    window.still("nested-chosen")
    window.press(page.locator("summary", has_text="Follow another size"))
    window.press(page.get_by_role("button", name="Line 2 of 5"))
    page.wait_for_function("() => !document.querySelector('.choice-line')", timeout=SLOW_MS)
    expect(page.get_by_role("heading", name="Is this the edge of the paper")).to_be_visible(timeout=SLOW_MS)
    assert "size = 2" in told(window)


@pytest.mark.parametrize("size", ["laptop", "tablet"])
def test_one_of_two_pieces_is_chosen_by_tapping_it(
    visit: Callable[..., Any], practice: dict[str, Path], size: str
) -> None:
    window = visit(practice["two"], size, unwell=True)
    page = window.go("mat", "bodice-back")
    page.get_by_role("heading", name="Which of these is the bodice back?").wait_for(timeout=SLOW_MS)
    page.locator(".pointing").scroll_into_view_if_needed()
    window.still("two-choose")
    box = page.locator(".choice-line").nth(1).bounding_box()
    tapped(window, box["x"] + box["width"] * 0.45, box["y"] + box["height"] * 0.6)
    page.get_by_role("heading", name="Do the drawn lines lie").wait_for(timeout=SLOW_MS)
    assert told(window).rstrip().endswith("at = 2")
    window.press(page.locator("summary", has_text="It is another piece in the picture"))
    window.press(page.get_by_role("button", name="Piece 1 of 2"))
    page.wait_for_function("() => !document.querySelector('.choice-line')", timeout=SLOW_MS)
    expect(page.get_by_role("heading", name="Do the drawn lines lie")).to_be_visible(timeout=SLOW_MS)
    assert told(window).rstrip().endswith("at = 1")
    window.press(page.locator("summary", has_text="More about this piece"))
    window.press(page.get_by_text("The paper lies with its printed side down"))
    for _ in range(100):
        if "face_down = true" in told(window):
            break
        page.wait_for_timeout(100)
    assert "face_down = true" in told(window)


@pytest.mark.parametrize("size", ["laptop", "phone"])
def test_a_grid_that_cannot_be_is_asked_about_first(
    visit: Callable[..., Any], practice: dict[str, Path], size: str
) -> None:
    """An inch mat called a centimetre one: one question with its answers as buttons, and no way to wave it through."""
    window = visit(practice["pitch"], size, unwell=True)
    page = window.go("mat", "bodice-front")
    page.get_by_role("heading", name="Are the lines on your mat 1\u00a0inch apart?").wait_for(timeout=SLOW_MS)
    expect(page.get_by_role("button", name="Looks right")).to_have_count(0)
    window.still("pitch-doubt")
    window.accessible()
    window.press(page.get_by_role("button", name="Yes, the lines are 1\u00a0inch apart"))
    page.get_by_role("heading", name="Do the drawn lines lie").wait_for(timeout=SLOW_MS)
    assert 'grid = "1in"' in told(window)
    expect(page.get_by_role("button", name="Looks right")).to_be_visible()
