"""What takes long and serves several test files: the demo job's pictures are read and its block made once in a run."""

import pickle
import shutil
from pathlib import Path
from typing import Any

import pytest

from convert.cli.main import run
from tests.lab import SAMPLES
from tests.once import Once, once_in


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Once:
    return once_in(tmp_path_factory)


@pytest.fixture(scope="session")
def demo_done(once: Once) -> Path:
    """A folder with the demo job as ``ownblock make`` made it, and beside it each piece as that read it."""

    def fill(place: Path) -> None:
        from convert.pipeline import make

        read_job_pieces = make.read_job_pieces

        def kept(*given: Any, **more: Any) -> Any:
            reads = read_job_pieces(*given, **more)
            for number, one in enumerate(reads):
                (place / f"{number}.pickle").write_bytes(pickle.dumps(one))
            return reads

        shutil.copytree(SAMPLES / "wardrobe", place / "wardrobe", ignore=shutil.ignore_patterns("out"))
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(make, "read_job_pieces", kept)
            assert run(["make", str(place / "wardrobe"), "-q"]) == 0

    return once("demo-done", fill)


@pytest.fixture(scope="session")
def demo_made(demo_done: Path) -> Path:
    """The demo job as it was made; to be copied by who changes something."""
    return demo_done / "wardrobe"


@pytest.fixture(scope="session")
def demo_front(demo_done: Path) -> Any:
    """Its bodice front as it was read, a :class:`convert.pipeline.name.PieceRead` with its photograph."""
    return pickle.loads((demo_done / "0.pickle").read_bytes())
