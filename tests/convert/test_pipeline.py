"""The order of the stages: what is refused before any picture is looked at."""

import shutil
from pathlib import Path

import pytest

from calibration.ground.errors import InputError
from convert.job.job import read_job
from convert.pipeline.make import make
from tests.lab import SAMPLES


def test_an_empty_card_makes_no_block(tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / "wardrobe", tmp_path / "job", ignore=shutil.ignore_patterns("out"))
    (tmp_path / "job" / "maker.toml").write_text("")
    seen: list[str] = []
    with pytest.raises(InputError, match="Nothing is written on the measurement card") as refused:
        make(read_job(tmp_path / "job"), progress=seen.append)
    assert "bust first" in refused.value.remedy
    assert not seen
