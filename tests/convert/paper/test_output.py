"""Files are written whole, and what a person put or changed there is kept."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from calibration.ground.errors import OutputError
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


KILLED = """
import os, signal, sys
from pathlib import Path
from convert.paper.output import write_files
real = os.fsync
count = [0]
def killing(handle):
    count[0] += 1
    if count[0] == int(sys.argv[2]):
        os.kill(os.getpid(), signal.SIGKILL)
    real(handle)
os.fsync = killing
write_files(Path(sys.argv[1]), {"a": "new" * 9999, "b": "new" * 9999})
"""


@pytest.mark.parametrize("moment", [1, 2, 3, 4])
def test_a_killed_run_leaves_each_file_whole(tmp_path: Path, moment: int) -> None:
    """Killed outright while it writes its 1st, 2nd ... file: each file is the old or the new one, and all can go on."""
    write_files(tmp_path, {"a": "old", "b": "old"})
    words = [sys.executable, "-c", KILLED, str(tmp_path), str(moment)]
    done = subprocess.run(words, cwd=Path(__file__).parents[3], capture_output=True)
    assert done.returncode == -signal.SIGKILL, done.stderr
    for name in ("a", "b"):
        assert (tmp_path / name).read_text() in ("old", "new" * 9999)
    write_files(tmp_path, {"a": "newer", "b": "newer"})  # what the killed run wrote is not taken for a person's
    assert (tmp_path / "b").read_text() == "newer"


def test_a_full_disk_while_writing_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_files(tmp_path, {"a": "old"})

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left") as caught:
        write_files(tmp_path, {"a": "new"})
    assert "disk" in caught.value.remedy
    assert (tmp_path / "a").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == [MANIFEST, "a"]


def test_a_spoilt_list_keeps_everything(tmp_path: Path) -> None:
    write_files(tmp_path, {"a": "one"})
    (tmp_path / MANIFEST).write_text("[broken")
    with pytest.raises(OutputError):
        write_files(tmp_path, {"a": "two"})
