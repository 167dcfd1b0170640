"""One pair of worker processes for all tests of the server: their imports take seconds."""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI

from convert.page.app import create_app
from convert.page.desk.store import FOLDER
from convert.page.desk.work import Workers
from convert.page.server.openings import Openings
from tests.convert.page.server import PORT, TOKEN, Window, copy_of
from tests.lab import SAMPLES

WARDROBE = SAMPLES / "wardrobe"
WORKER = os.environ.get("PYTEST_XDIST_WORKER", "alone")  # two workers must not write one folder at the same moment


@pytest.fixture(scope="session")
def workers() -> Iterator[Workers]:
    own = Workers(2)
    own.start()
    yield own
    own.close()


@pytest.fixture
def app(tmp_path: Path, workers: Workers) -> FastAPI:
    openings = Openings()
    openings.new(TOKEN)
    return create_app(tmp_path, token=TOKEN, port=PORT, workers=workers, openings=openings)


@pytest.fixture
def window(app: FastAPI) -> Window:
    return Window(app)


@pytest.fixture(scope="session")
def read_once(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory, workers: Workers
) -> Callable[[str, Callable[[Path], object]], Path]:
    """Job folders that are written and read once for all tests; pytest's cache keeps the readings from run to run.

    Called with a name and what writes the job into a folder of that name; gives the folder, to be copied by each test.
    """
    done: dict[str, Path] = {}

    def folder(name: str, write: Callable[[Path], object]) -> Path:
        if name not in done:
            home = tmp_path_factory.mktemp("read")
            (home / name).mkdir()
            write(home / name)
            known = (
                request.config.cache.mkdir(f"ownblock-{name}-{WORKER}") if request.config.cache else home / "unknown"
            )
            if known.is_dir():
                shutil.copytree(known, home / name / FOLDER, dirs_exist_ok=True)
            window = Window(create_app(home, token=TOKEN, port=PORT, workers=workers))
            window.read_all(window.get("/api/jobs")["jobs"][0]["id"])
            if known.is_dir() and (home / name / FOLDER).is_dir():
                shutil.rmtree(known)
                shutil.copytree(home / name / FOLDER, known)
            done[name] = home / name
        return done[name]

    return folder


@pytest.fixture(scope="session")
def demo_read(read_once: Callable[[str, Callable[[Path], object]], Path]) -> Path:
    """The demo job, read."""
    return read_once("demo", lambda place: copy_of(WARDROBE, place))


@pytest.fixture(scope="module")
def shared_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="module")
def shared(shared_home: Path, workers: Workers) -> Window:
    """A window on an application of the whole module, whose demo job is read once."""
    return Window(create_app(shared_home, token=TOKEN, port=PORT, workers=workers))


@pytest.fixture(scope="module")
def demo(shared: Window, shared_home: Path, demo_read: Path) -> str:
    """The demo job, all of it read."""
    job: str = shared.change("POST", "/api/jobs", {"demo": True})["id"]
    shutil.copytree(demo_read / FOLDER, shared_home / "demo" / FOLDER)
    state = shared.read_all(job)
    assert [piece["state"] for piece in state["pieces"]] == ["read"] * 5
    return job
