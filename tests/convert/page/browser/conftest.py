"""A headless Chromium for the page's tests; they are skipped where it or Playwright is missing."""

import functools
import http.server
import itertools
import os
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

from convert.page.desk.jobs import digest_of

STATIC = Path(__file__).parents[4] / "convert" / "page" / "static"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
# without these Chromium asks the network for things that the tests do not need
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking")
FLAGS += ("--disable-component-update", "--disable-sync")
SIZES = {"laptop": (1366, 768), "tablet": (820, 1180), "phone": (390, 844)}
SLOW_MS = 180_000
RULES = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice")


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


# ---------------------------------------------------------------- jobs that are read already, on one server for all


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Path]]:
    """One program for all tests that do not stop it: its address, and the folder of its jobs."""
    home = tmp_path_factory.mktemp("served") / "jobs"
    with _opened(home) as address:
        yield address, home


class Visit:
    """A job opened in a window of some size, by mouse or by touch; nothing wrong may stand in its console."""

    numbers = itertools.count(1)

    def __init__(self, browser: Any, address: str, folder: Path, size: str, state: dict[str, Any]) -> None:
        wide, high = SIZES[size]
        touch = size != "laptop"
        self.folder = folder
        self.size = size
        self.touch = touch
        self.base = address.split("?")[0]
        self.context = browser.new_context(
            viewport={"width": wide, "height": high}, has_touch=touch, accept_downloads=True, storage_state=state
        )
        self.page = self.context.new_page()
        self.wrong: list[str] = []
        self.page.on("console", lambda said: self.wrong.append(said.text) if said.type == "error" else None)
        self.page.on("pageerror", lambda err: self.wrong.append(str(err)))
        self.page.on("request", lambda sent: None if _local(sent.url) else self.wrong.append(sent.url))

    def go(self, step: str, piece: str = "") -> Any:
        """Straight to a step; the page."""
        self.page.goto(f"{self.base}#/{digest_of(str(self.folder.resolve()))}/{step}{piece and '/' + piece}")
        self.page.locator(f".step-{step} h1, .step-{step} h2").first.wait_for(timeout=SLOW_MS)
        return self.page

    def press(self, what: Any) -> None:
        """Click or tap, as this window is used."""
        what.tap() if self.touch else what.click()

    def still(self, name: str) -> None:
        """A picture of the page, where OWNBLOCK_STILLS names a folder for them."""
        if stills := os.environ.get("OWNBLOCK_STILLS"):
            Path(stills).mkdir(parents=True, exist_ok=True)
            self.page.screenshot(path=Path(stills) / f"{name}-{self.size}.png")

    def accessible(self) -> None:
        """No violation found by axe-core."""
        axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
        found = axe.run(self.page, options={"runOnly": list(RULES)}).response["violations"]
        assert [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found] == []


@pytest.fixture(scope="session")
def cookies() -> dict[str, dict[str, Any]]:
    """What the page gave at its first opening, by address: an address is good for one opening only."""
    return {}


@pytest.fixture(scope="module")
def let_in(chromium: Any, served: tuple[str, Path], cookies: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """The cookie of whoever opened the page."""
    address = served[0]
    if address not in cookies:
        context = chromium.new_context()
        context.new_page().goto(address)
        cookies[address] = context.storage_state()
        context.close()
    return cookies[address]


@pytest.fixture
def visit(
    chromium: Any, served: tuple[str, Path], let_in: dict[str, Any], request: pytest.FixtureRequest
) -> Iterator[Callable[..., Visit]]:
    """Opens a copy of a job folder; ``unwell`` lets errors stand in the console (a refused request is one)."""
    address, home = served
    opened: list[tuple[Visit, bool]] = []

    def open_(folder: Path, size: str = "laptop", *, again: bool = False, unwell: bool = False) -> Visit:
        place = folder if again else home / f"{folder.name}-{next(Visit.numbers)}"
        if not again:
            shutil.copytree(folder, place)
        opened.append((Visit(chromium, address, place, size, let_in), unwell))
        return opened[-1][0]

    yield open_
    for one, unwell in opened:
        one.context.close()
        assert unwell or one.wrong == [], one.wrong
