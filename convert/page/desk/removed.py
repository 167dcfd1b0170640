"""What was taken out of a job, kept until it is asked back: pieces with all that was told of them, and pictures."""

import os
from pathlib import Path
from typing import Any

import tomlkit

from calibration.ground.errors import OutputError
from convert.job.write import changed_job, piece_table, pieces_of, remove_piece
from convert.page.desk.jobs import PICTURES, Folder, PieceEntry
from convert.page.server import words
from convert.page.server.problems import PageError
from convert.paper.draw.svg import slug

_KEPT = "removed"  # in the page's own file
_MOST = 20
_ASIDE = ".out-"  # before the name of a picture that was taken out
_STEM = 40  # characters kept of a file's own name


def take_piece_out(folder: Folder, entry: PieceEntry) -> None:
    """A piece out of the job; its pictures stay in sight."""
    brought = _keep_pictures(folder, entry.names)
    with changed_job(folder.path) as document:
        text = tomlkit.dumps({"pieces": [piece_table(document, entry.number).unwrap()]})
        remove_piece(document, entry.number)
    _push(folder, {"what": "piece", "kind": entry.kind, "number": entry.number, "told": text, "brought": brought})


def take_picture_out(folder: Folder, path: Path) -> None:
    """A picture that no piece needs out of sight; only one that lies among those brought in."""
    if path.parent != folder.path / PICTURES:
        return
    os.replace(path, path.with_name(f"{_ASIDE}{path.name}"))
    _push(folder, {"what": "picture", "name": path.name})


def last_removed(folder: Folder) -> str | None:
    """What would come back, in words; None if nothing would."""
    kept = folder.place().get(_KEPT) or []
    if not kept:
        return None
    return str(kept[-1]["kind"] if kept[-1]["what"] == "piece" else kept[-1]["name"])


def bring_back(folder: Folder) -> None:
    """What was taken out last, in again.

    Raises
    ------
    PageError
        If there is nothing, or there is another piece of that kind by now.
    """
    kept = list(folder.place().get(_KEPT) or [])
    if not kept:
        raise PageError(409, "nothing", *words.NOTHING_TAKEN_OUT)
    last = kept.pop()
    if last["what"] == "picture":
        aside = folder.path / PICTURES / f"{_ASIDE}{last['name']}"
        if aside.is_file():
            os.replace(aside, aside.with_name(last["name"]))
    else:
        _bring_piece_back(folder, last)
    folder.keep_place({_KEPT: kept or None})


def _bring_piece_back(folder: Folder, last: dict[str, Any]) -> None:
    if any(piece.kind == last["kind"] for piece in folder.pieces()):
        raise PageError(409, "twice", *words.there_already(last["kind"]))
    own = tomlkit.parse(last["told"])["pieces"][0]
    with changed_job(folder.path) as document:
        if not pieces_of(document):
            document["pieces"] = tomlkit.aot()
        document["pieces"].insert(last["number"] - 1, own)
    for name in last["brought"]:  # they were put in sight for as long as no piece named them
        (folder.path / name).unlink(missing_ok=True)


def _push(folder: Folder, one: dict[str, Any]) -> None:
    kept = [*(folder.place().get(_KEPT) or []), one]
    folder.keep_place({_KEPT: kept[-_MOST:]})


def _keep_pictures(folder: Folder, names: list[str]) -> list[str]:
    """Pictures that lie elsewhere in the folder are put among those brought in, or they would be lost to sight."""
    own = folder.path / PICTURES
    brought = []
    for name in names:
        path = folder.path / name
        still = sum(name in piece.names for piece in folder.pieces()) > 1
        if still or path.parent == own or not path.is_file():
            continue
        own.mkdir(exist_ok=True)
        target = own / f"{slug(Path(name).with_suffix('').as_posix())[:_STEM]}{path.suffix.lower()}"
        if not target.exists():
            try:
                os.link(path, target)
            except OSError as err:
                raise OutputError(*words.picture_not_kept(path.name)) from err
            brought.append(f"{PICTURES}/{target.name}")
    return brought
