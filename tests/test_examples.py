"""The examples in the docstrings do what they say."""

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
WITH_EXAMPLES = sorted(
    ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for package in ("calibration", "convert")
    for path in (ROOT / package).rglob("*.py")
    if any(">>> " in line and "+SKIP" not in line for line in path.read_text(encoding="utf-8").splitlines())
)


@pytest.mark.parametrize("module", WITH_EXAMPLES)
def test_examples_run(module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)  # some read one of our own samples
    result = doctest.testmod(importlib.import_module(module), raise_on_error=False)
    assert result.attempted > 0, "an example that doctest does not find"
    assert result.failed == 0
