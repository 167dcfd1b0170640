"""A headless Chromium for the page's tests; they are skipped where it or Playwright is missing."""

import functools
import http.server
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar

import pytest

STATIC = Path(__file__).parents[3] / "convert" / "page" / "static"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# without these Chromium asks the network for things that the tests do not need
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
FLAGS += ("--disable-component-update", "--disable-sync")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Chromium is not installed")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield browser
        browser.close()


class _Static(http.server.SimpleHTTPRequestHandler):
    extensions_map: ClassVar[dict[str, str]] = {
        ".js": "text/javascript",
        ".css": "text/css",
        ".html": "text/html",
        ".svg": "image/svg+xml",
    }

    def translate_path(self, path: str) -> str:
        return super().translate_path(path.removeprefix("/static"))

    def log_message(self, format: str, *args: object) -> None:
        """Quiet."""


@pytest.fixture(scope="session")
def static_address() -> Iterator[str]:
    """The page's own files on a port, without the program behind them."""
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(_Static, directory=str(STATIC)))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def modules(chromium: Any, static_address: str) -> Iterator[Any]:
    """A blank page from which the page's modules can be imported."""
    page = chromium.new_page()
    page.goto(f"{static_address}/static/button.svg")
    yield page
    page.close()
