"""Work that several test files need: done once in a run, by whichever process of the run comes to it first."""

import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

Once = Callable[[str, Callable[[Path], object]], Path]
"""Called with a name and what fills a new folder of that name; gives the folder, which nobody may change."""


def once_in(factory: pytest.TempPathFactory) -> Once:
    """Folders shared by all processes of this run of the tests."""
    own = factory.getbasetemp()
    root = own.parent if "PYTEST_XDIST_WORKER" in os.environ else own

    def folder(name: str, fill: Callable[[Path], object]) -> Path:
        place, said = root / f"once-{name}", root / f"once-{name}.txt"
        try:
            place.mkdir()
        except FileExistsError:
            while not said.exists():  # another process is at it
                time.sleep(0.1)
            assert said.read_text() == "done", f"{name} could not be made: see the test that made it first"
            return place
        outcome = "failed"
        try:
            fill(place)
            outcome = "done"
        finally:
            said.with_suffix(".new").write_text(outcome)
            said.with_suffix(".new").replace(said)
        return place

    return folder
