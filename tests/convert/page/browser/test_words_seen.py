"""The browser's half: its words are the maker's, and stand in the right order at every width."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
ALL = """async () => {
  const { words } = await import("/static/words.js"), out = [];
  const walk = (one) => (typeof one === "string" ? out.push(one) : Object.values(one ?? {}).forEach(walk));
  walk(words);
  return out;
}"""
NONE_OF = re.compile(
    r"job\.toml|\[\[|--\w|\btold\b|\bsound\b|the other way|\bISO\b|\bASTM\b|nothing that you did is lost", re.I
)


def test_no_word_of_files_or_programs(modules: Any) -> None:
    said = modules.evaluate(ALL)
    assert len(said) > 300
    assert [one for one in said if NONE_OF.search(one)] == []


@pytest.mark.parametrize("size", ["laptop", "tablet", "phone"])
def test_the_comparisons_words_stand_in_their_order(visit: Callable[..., Any], demo_read: Path, size: str) -> None:
    window = visit(demo_read, size)
    page = window.go("compare")
    page.locator(".compared").first.wait_for()
    shown = page.evaluate(
        "[...document.querySelector('.compared').querySelectorAll('text, .ends span')]"
        ".filter((one) => one.getClientRects().length && getComputedStyle(one).display !== 'none')"
        ".map((one) => [one.getBoundingClientRect().left, one.textContent.trim()])"
        ".filter(([, words]) => words && !/\\d/.test(words)).sort((a, b) => a[0] - b[0]).map(([, words]) => words)"
    )
    assert shown == ["smaller", "what you need", "bigger"]
    window.still("compare")


@pytest.mark.parametrize("size", ["laptop", "tablet", "phone"])
def test_nothing_is_cut_off_or_too_small_to_touch(visit: Callable[..., Any], demo_read: Path, size: str) -> None:
    """Each step at each size: no sideways scrolling, nothing to press under 44 px; axe-core finds nothing."""
    window = visit(demo_read, size)
    for step in ("pictures", "mat", "piece", "seams", "maker", "compare", "block", "paper"):
        page = window.go(step)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, step
        small = page.evaluate(
            "[...document.querySelectorAll('button, main a, summary, select, .thread a, .top a')]"
            ".filter((one) => one.offsetParent && !one.matches('.skip'))"
            ".map((one) => [one.textContent.trim().slice(0, 30), one.getBoundingClientRect()])"
            ".filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5)).map(([words]) => words)"
        )
        assert small == [], step
        page.evaluate("scrollTo(0, document.body.scrollHeight)")  # or the bar below lies over half a row just now
        window.accessible()


def test_darts_are_called_by_their_edge_and_keep_their_numbers(visit: Callable[..., Any], demo_read: Path) -> None:
    window = visit(demo_read)
    page = window.go("piece", "bodice-back")
    window.press(page.get_by_role("button", name="Let me fix it"))
    labels = page.evaluate("window.ownblockEditor.things.map((one) => one.label)")
    assert "Dart on the shoulder, leg towards the neck" in labels
    assert "Dart on the shoulder, leg towards the armhole" in labels
    assert "Dart on the waist, its point" in labels
    window.press(page.locator(".all-things > summary"))
    window.press(page.get_by_role("button", name="Notch 1", exact=True))
    window.press(page.get_by_role("button", name="Remove"))
    after = page.evaluate("window.ownblockEditor.things.map((one) => one.label)")
    assert "Notch 1" not in after
    assert "Notch 2" in after, "what is left keeps its number"
    undo = page.get_by_role("button", name="Undo", exact=True).bounding_box()
    assert undo["y"] + undo["height"] < 768, "Undo is in sight"
