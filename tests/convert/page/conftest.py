"""One pair of worker processes for all tests of the server: their imports take seconds."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI

from convert.page.app import create_app
from convert.page.desk.work import Workers
from tests.convert.page.server import PORT, TOKEN, Window


@pytest.fixture(scope="session")
def workers() -> Iterator[Workers]:
    own = Workers(2)
    own.start()
    yield own
    own.close()


@pytest.fixture
def app(tmp_path: Path, workers: Workers) -> FastAPI:
    return create_app(tmp_path, token=TOKEN, port=PORT, workers=workers)


@pytest.fixture
def window(app: FastAPI) -> Window:
    return Window(app)


@pytest.fixture(scope="module")
def shared_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="module")
def shared(shared_home: Path, workers: Workers) -> Window:
    """A window on an application of the whole module, whose demo job is read once."""
    return Window(create_app(shared_home, token=TOKEN, port=PORT, workers=workers))


@pytest.fixture(scope="module")
def demo(shared: Window) -> str:
    """The demo job, all of it read."""
    job: str = shared.change("POST", "/api/jobs", {"demo": True})["id"]
    state = shared.read_all(job)
    assert [piece["state"] for piece in state["pieces"]] == ["read"] * 5
    return job
