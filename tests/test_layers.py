"""Arrows between the rooms run one way: from a later room of the list to an earlier one, and nowhere in a circle."""

import ast
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# A room is a folder, or a module that stands by itself; it may use itself and what stands before it.
ROOMS = [
    "calibration.ground",
    "calibration.picture",
    "calibration.lattice",
    "calibration.view",
    "calibration.sheet",
    "calibration.doubts",
    "calibration.scan",
    "calibration.calibrate",
    "calibration.joining",
    "calibration.overlay",
    "calibration.printed_grid",
    "calibration",
    "convert.trace.tracing",
    "convert.trace.paper",
    "convert.trace.ink",
    "convert.trace.edge",
    "convert.trace.unseen",
    "convert.trace.printed",
    "convert.trace.nest",
    "convert.trace.cuts",
    "convert.trace.told",
    "convert.trace.trace",
    "convert.trace",
    "convert.piece.width_words",
    "convert.piece.outline",
    "convert.piece.piece",
    "convert.piece.names",
    "convert.piece.darts",
    "convert.piece.holes",
    "convert.piece.allowance",
    "convert.piece.together",
    "convert.piece.read",
    "convert.piece.record",
    "convert.piece.plausible",
    "convert.piece",
    "convert.body",
    "convert.block.shape",
    "convert.block.block",
    "convert.block.moves",
    "convert.block.measured",
    "convert.block.compared",
    "convert.block.drafts",
    "convert.block.trued",
    "convert.block.solved",
    "convert.block.toile",
    "convert.block.record",
    "convert.block",
    "convert.paper.cautions",
    "convert.paper.draw",
    "convert.paper.sheets",
    "convert.paper.files",
    "convert.paper.steps",
    "convert.paper.practice",
    "convert.paper.report",
    "convert.paper.card",
    "convert.paper.output",
    "convert.paper",
    "convert.redrawn",
    "convert.job",
    "convert.pipeline",
    "convert.page.server",
    "convert.page.desk",
    "convert.page.steps",
    "convert.page.app",
    "convert.page",
    "convert.cli",
    "convert",
]
RANK = {room: k for k, room in enumerate(ROOMS)}
FILES = sorted(path for package in ("calibration", "convert") for path in (ROOT / package).rglob("*.py"))


def dotted(path: Path) -> str:
    """A file's dotted name; a package's is that of its folder."""
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


MODULES = {dotted(path) for path in FILES}


def imports(path: Path) -> set[str]:
    """Modules of ours that a file imports anywhere in it, dotted."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names} - {"convert"}  # the package by itself: only its place
        elif isinstance(node, ast.ImportFrom) and node.module:
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= (inside & MODULES) or {node.module}
    return found & MODULES


def room_of(module: str) -> str:
    """The room that a module lies in: the longest name in the list that it begins with."""
    return max((room for room in ROOMS if f"{module}.".startswith(f"{room}.")), key=len)


@pytest.mark.parametrize("path", FILES, ids=dotted)
def test_arrows_run_to_earlier_rooms(path: Path) -> None:
    own = room_of(dotted(path))
    assert own not in ("convert", "calibration") or path.name == "__init__.py", "a module outside every room"
    late = [other for other in imports(path) if RANK[room_of(other)] > RANK[own]]
    assert not late, f"{dotted(path)} imports {late}"


def test_no_circles() -> None:
    arrows = {dotted(path): imports(path) - {dotted(path)} for path in FILES if path.name != "__init__.py"}
    TopologicalSorter(arrows).prepare()  # raises CycleError, which names the circle


def test_calibration_knows_nothing_of_sewing() -> None:
    for path in FILES:
        if dotted(path).startswith("calibration"):
            assert not {module for module in imports(path) if module.startswith("convert")}, path


def test_every_room_is_there() -> None:
    """A room in the list that does not exist would let its name pass unseen."""
    for room in ROOMS:
        place = ROOT / room.replace(".", "/")
        assert (place / "__init__.py").is_file() or place.with_suffix(".py").is_file(), room


def test_rooms_are_small() -> None:
    """A folder holds what one person looks for in one place: about a dozen files."""
    for package in {path.parent for path in FILES}:
        assert len(list(package.glob("*.py"))) <= 21, package
