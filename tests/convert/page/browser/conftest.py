"""A headless Chromium for the page's tests; they are skipped where it or Playwright is missing."""

import functools
import http.server
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any, ClassVar

import pytest

STATIC = Path(__file__).parents[4] / "convert" / "page" / "static"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# without these Chromium asks the network for things that the tests do not need
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
FLAGS += ("--disable-component-update", "--disable-sync")


@pytest.fixture(scope="module")  # its event loop must not run on beside the tests that need one of their own
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


@contextmanager
def _opened(jobs: Path) -> Iterator[str]:
    """``ownblock open`` on a folder of jobs: the address it says."""
    command = [sys.executable, "-m", "convert.cli.main", "open", str(jobs), "--no-browser", "--port", "0"]
    jobs.mkdir(exist_ok=True)
    file = jobs.parent / "said.txt"
    with file.open("w") as said, subprocess.Popen(command, stdout=said, stderr=said) as process:
        try:
            yield _said_address(file, process)
        finally:
            process.terminate()


@pytest.fixture
def opened() -> Callable[[Path], AbstractContextManager[str]]:
    """Starts ``ownblock open`` on a folder, as often as it is called."""
    return _opened


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    """ownblock open, started on an empty folder."""
    with _opened(tmp_path / "jobs") as said:
        yield said


def _said_address(said: Path, process: "subprocess.Popen[bytes]") -> str:
    for _ in range(300):
        found = re.search(r"http://127\.0\.0\.1:\d+/\?token=\S+", said.read_text())
        if found:
            return found[0]
        try:
            process.wait(timeout=0.1)
        except subprocess.TimeoutExpired:
            continue
        break
    raise AssertionError(f"ownblock open gave no address: {said.read_text()}")


@pytest.fixture
def page(chromium: Any, address: str) -> Iterator[Any]:
    """The page, watched: no error in its console, no request to anywhere else."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    page = context.new_page()
    wrong: list[str] = []
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.on("pageerror", lambda err: wrong.append(str(err)))
    page.on("request", lambda sent: None if _local(sent.url) else wrong.append(sent.url))
    page.goto(address)
    yield page
    context.close()
    assert wrong == []


def _local(url: str) -> bool:
    return url.startswith(("http://127.0.0.1:", "blob:", "data:"))
