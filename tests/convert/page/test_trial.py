"""The trial pieces are there after ``pip install .``, without the repository."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
BEGIN = """
from pathlib import Path
from convert.page.desk.jobs import Shelf
import convert
folder = Shelf(Path("jobs")).begin_demo()
print(Path(convert.__file__).parent, *sorted(one.parent.name for one in folder.path.rglob("photo.jpg")))
"""


def test_the_trial_pieces_come_with_the_program(tmp_path: Path) -> None:
    pytest.importorskip("setuptools", minversion="77", reason="what builds the program is not here")
    source, place = tmp_path / "source", tmp_path / "place"
    for name in ("calibration", "convert", "sample_scans/wardrobe"):
        shutil.copytree(ROOT / name, source / name, ignore=shutil.ignore_patterns("__pycache__", "out", "truth.json"))
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, source / name)
    pip = [sys.executable, "-m", "pip", "install", "-q", "--no-deps", "--no-build-isolation", "--no-index"]
    subprocess.run([*pip, "--prefix", str(place), f"{source}{os.sep}"], check=True, capture_output=True)
    shutil.rmtree(source)
    (site,) = place.glob("lib/*/site-packages")
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([str(site), *sys.path[1:]])}
    said = subprocess.run(
        [sys.executable, "-c", BEGIN], env=env, cwd=tmp_path, check=True, capture_output=True, text=True
    )
    where, *pieces = said.stdout.split()
    assert Path(where) == site / "convert"
    assert pieces == ["s1_front", "s2_back", "s3_sleeve", "s4_skirt-front", "s5_skirt-back"]
