"""Readings kept on the disk beside the job, under what they were made from. Throwing them away loses time only."""

import contextlib
import dataclasses
import hashlib
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import calibration
import convert
from calibration.ground.errors import OutputError
from calibration.ground.files import write_atomically
from convert.page.desk.packed import packed, unpacked

FOLDER = ".readings"
_MOST = 60  # files in one job's folder, of 1 to 3 MB: five pieces, and what was told of them one thing after another
_NOT_READING = ("page", "cli", "paper", "redrawn", "block", "body")  # rooms of convert that no reading depends on


@cache
def version() -> str:
    """What the program's reading is at present: a hash of everything that readings are made by."""
    told = hashlib.blake2s(digest_size=8)
    roots = [Path(str(package.__file__)).parent for package in (calibration, convert)]
    for root in roots:
        for path in sorted(root.rglob("*.py")):
            inside = path.relative_to(root).parts
            if inside[0] not in _NOT_READING:
                told.update("/".join(inside).encode() + b"\0" + path.read_bytes())
    return told.hexdigest()


def name_of(what: str, key: Any) -> str:
    """The file's name for a value made from a key: dataclasses, tuples, paths and plain values."""
    plain = json.dumps([what, version(), key], default=_plain, sort_keys=True)
    return f"{what}-{hashlib.blake2s(plain.encode(), digest_size=16).hexdigest()}"


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: getattr(value, one.name) for one in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return dict(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    return str(value)


def recalled(job: Path, name: str) -> Any:
    """The value kept under a name, or None; what can't be read any more counts as not kept."""
    file = job / FOLDER / name
    try:
        value = unpacked(file.read_bytes())
        file.touch()
    except (OSError, ValueError):
        return None
    return value


def remember(job: Path, name: str, value: Any) -> None:
    """Keep a value; those used longest ago go. A disk that can't be written to costs time only."""
    folder = job / FOLDER
    with contextlib.suppress(OSError, OutputError):
        folder.mkdir(exist_ok=True)
        write_atomically(folder / name, packed(value))
        kept = sorted((one for one in folder.iterdir() if one.is_file()), key=lambda one: -one.stat().st_mtime)
        for old in kept[_MOST:]:
            old.unlink(missing_ok=True)
