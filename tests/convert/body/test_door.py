"""Whatever is typed into a card or a chart, a sentence comes back and never a traceback."""

from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.ground.errors import InputError
from convert.body.charts import chart
from convert.body.definitions import definitions
from convert.body.read_card import card_from_toml, read_card

anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12) | st.dates(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=5,
)
lengths = st.text("0123456789 .,/-½'\"incmft″", max_size=9)


@settings(max_examples=300)
@given(st.dictionaries(st.sampled_from(sorted(definitions())) | st.text(max_size=8), anything | lengths, max_size=3))
def test_any_rows(rows: dict[str, object]) -> None:
    with suppress(InputError):
        assert all(mm > 0 for mm in card_from_toml({"measurements": rows}).told().values())


@settings(max_examples=200)
@given(st.dictionaries(st.sampled_from(["name", "unit", "measurements", "answered", "bust"]), anything, max_size=4))
def test_any_entries(entries: dict[str, object]) -> None:
    with suppress(InputError):
        card_from_toml(entries)


@settings(max_examples=200)
@given(st.text(max_size=60) | st.binary(max_size=40))
def test_any_file(content: str | bytes) -> None:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "x.toml"
        file.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "replace"))
        for read in (read_card, lambda path: chart(str(path))):
            with suppress(InputError):
                read(file)


@pytest.mark.parametrize("typed", ["9" * 400, "9" * 5000, '"' + "9" * 400 + '"', '"1/0"', '"0/5"', "1979-05-27"])
def test_odd_numbers(tmp_path: Path, typed: str) -> None:
    (tmp_path / "maker.toml").write_text(f"[measurements]\nbust = {typed}\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_card(tmp_path / "maker.toml")
    assert len(caught.value.problem) < 200


def test_brackets_within_brackets(tmp_path: Path) -> None:
    (tmp_path / "maker.toml").write_text(f"bust = {'[' * 5000}", encoding="utf-8")
    with pytest.raises(InputError, match="can't be read"):
        read_card(tmp_path / "maker.toml")
