"""Arrows between the rooms run one way."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# a room may use itself and the rooms before it
CONVERT_ROOMS = ["trace", "piece", "body", "block", "paper", "job", "pipeline", "page", "cli"]
CALIBRATION_ROOMS = {
    "errors": 0,
    "units": 1,
    "points": 1,
    "files": 1,
    "lens": 2,
    "mat": 2,
    "photo": 2,
    "derivatives": 3,
    "accuracy": 4,
    "view": 5,
    "fit": 4,
    "calibrate": 8,
    "flatten": 6,
}


def imports(path: Path) -> set[str]:
    """Modules that a file imports, dotted."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def room_of(module: str) -> str:
    """The room of convert that a dotted module lies in: ``job_file`` and ``job_told`` belong to ``job``."""
    return module.split(".")[1].split("_")[0]


@pytest.mark.parametrize("path", sorted((ROOT / "calibration").rglob("*.py")), ids=lambda path: path.name)
def test_calibration_knows_nothing_of_sewing(path: Path) -> None:
    assert not {module for module in imports(path) if module.split(".")[0] in ("convert", "tests")}


@pytest.mark.parametrize("name", CALIBRATION_ROOMS)
def test_calibration_runs_one_way(name: str) -> None:
    own = CALIBRATION_ROOMS[name]
    for module in imports(ROOT / "calibration" / f"{name}.py"):
        other = module.removeprefix("calibration.")
        if module.startswith("calibration.") and other in CALIBRATION_ROOMS:
            assert CALIBRATION_ROOMS[other] < own, f"{name} imports {other}"


@pytest.mark.parametrize("path", sorted((ROOT / "convert").rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT)))
def test_convert_runs_one_way(path: Path) -> None:
    own = path.relative_to(ROOT / "convert").parts[0].removesuffix(".py").split("_")[0]
    if own not in CONVERT_ROOMS:
        return
    for module in imports(path):
        if module.startswith("convert.") and room_of(module) in CONVERT_ROOMS:
            assert CONVERT_ROOMS.index(room_of(module)) <= CONVERT_ROOMS.index(own), f"{path.name} imports {module}"


def test_rooms_are_where_the_design_says() -> None:
    for room in ("trace", "piece", "body", "block", "paper", "cli"):
        assert (ROOT / "convert" / room / "__init__.py").is_file()
