"""Files are written whole, and what a person put or changed there is kept."""

import os
from pathlib import Path

import pytest

from calibration.errors import OutputError
from convert.paper.output import MANIFEST, write_files


def test_own_files_are_replaced(tmp_path: Path) -> None:
    write_files(tmp_path / "out", {"block.svg": "one", "block.json": b"1"})
    write_files(tmp_path / "out", {"block.svg": "two", "block.json": b"2"})
    assert (tmp_path / "out" / "block.svg").read_text() == "two"


@pytest.mark.parametrize("known_before", [True, False])
def test_a_changed_or_foreign_file_is_kept(tmp_path: Path, known_before: bool) -> None:
    if known_before:
        write_files(tmp_path, {"block.svg": "one", "block.json": "1"})
    (tmp_path / "block.svg").write_text("hers")
    with pytest.raises(OutputError, match=r"block\.svg") as caught:
        write_files(tmp_path, {"block.json": "2", "block.svg": "two"})
    assert caught.value.remedy
    assert (tmp_path / "block.svg").read_text() == "hers"
    assert not (tmp_path / "block.json").exists() or (tmp_path / "block.json").read_text() == "1"
    write_files(tmp_path, {"block.svg": "two"}, overwrite=True)
    assert (tmp_path / "block.svg").read_text() == "two"


def test_a_full_disk_leaves_whole_files_and_the_next_run_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, {"a": "old", "b": "old"})
    real, calls = os.replace, []

    def full(source: str, target: Path) -> None:
        calls.append(target)
        if Path(target).name == "b":
            raise OSError(28, "No space left on device")
        real(source, target)

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(OutputError, match="No space left"):
        write_files(tmp_path, {"a": "new", "b": "new"})
    monkeypatch.setattr(os, "replace", real)
    assert (tmp_path / "a").read_text() == "new"
    assert (tmp_path / "b").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == [MANIFEST, "a", "b"]
    write_files(tmp_path, {"a": "newer", "b": "newer"})
    assert (tmp_path / "b").read_text() == "newer"


def test_a_spoilt_list_keeps_everything(tmp_path: Path) -> None:
    write_files(tmp_path, {"a": "one"})
    (tmp_path / MANIFEST).write_text("[broken")
    with pytest.raises(OutputError):
        write_files(tmp_path, {"a": "two"})
