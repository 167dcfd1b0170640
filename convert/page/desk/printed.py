"""The sheets and other files that were made: one list, each by its maker, state and kind, the stale ones marked.

``out/.printed.json`` remembers what every file was made of; a file whose block has changed since is stale.
"""

import contextlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from calibration.ground.files import write_atomically
from convert.block.toile.fittings import State
from convert.page.desk.jobs import Folder, digest_of
from convert.page.server import words

_RECORD = ".printed.json"
FITTED = "fitted"
_WHAT: Mapping[str, str] = {
    "sheets.pdf": "print",
    "sheets-to-sew.pdf": "print",
    "sheets-half.pdf": "print",
    "sheets-half-to-sew.pdf": "print",
    "sheets-quarter.pdf": "print",
    "sheets-quarter-to-sew.pdf": "print",
    "block.pdf": "block",
    "toile.pdf": "toile",
    "practice.pdf": "practice",
    "steps.pdf": "steps",
    "fitting.html": "fitting",
    "report.pdf": "report",
    "report.html": "report",
    "block.svg": "drawing",
    "block.dxf": "cutting-room",
    "block.png": "picture",
    "block.json": "numbers",
}
_SAME_AS: Mapping[str, str] = {"sheets.pdf": "block.pdf", "sheets-to-sew.pdf": "toile.pdf"}
_SAME_AS_PRACTICE = "sheets-quarter.pdf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """A file that was made: where it lies below ``out``, what to call it, what it is, and the block it was made of."""

    file: str
    name: str
    what: str
    of: str


def kept_as(scale: str, *, to_sew: bool) -> str:
    """The file that holds the sheets of a scale, with or without seam allowance."""
    return f"sheets{'' if scale == 'full' else f'-{scale}'}{'-to-sew' if to_sew else ''}.pdf"


def note_printed(folder: Folder, made: Mapping[str, Any], state: State, *, sheets: str, paper: str) -> None:
    """Remember what was just written: ``made`` names the files in ``out``, ``sheets`` the one that she asked for."""
    sign = folder.block_sign()
    whose = state.block.maker.name
    hidden = {_SAME_AS.get(sheets), "practice.pdf" if sheets == _SAME_AS_PRACTICE else None}
    fresh = []
    fitted = _names(folder.path / "out" / FITTED) if state.number else []
    for file in [sheets, *fitted, *made]:
        last = file.rpartition("/")[2]
        if last in hidden or (last not in _WHAT and Path(last).suffix != ".svg"):
            continue
        about_made = state.number > 0 and file != sheets and "/" not in file
        if about_made and not last.startswith("report."):
            continue  # the newest state has its own
        what = _WHAT.get(last, "piece")
        name = words.file_name(
            whose, words.kind_of_file(last, what, paper=paper), 0 if about_made else state.number, Path(last).suffix
        )
        fresh.append(Printed(file=file, name=name, what=what, of=sign))
    fresh = list({one.file: one for one in fresh}.values())
    files = {one.file for one in fresh}
    older = [one for one in printed(folder) if one.what == "print" and one.file not in files]
    (folder.path / "out").mkdir(exist_ok=True)
    write_atomically(folder.path / "out" / _RECORD, json.dumps([asdict(one) for one in (*fresh, *older)], indent=1))


def _names(place: Path) -> list[str]:
    if not place.is_dir():
        return []
    return [f"{place.name}/{one.name}" for one in place.iterdir() if one.is_file() and one.name[0] != "."]


def printed(folder: Folder) -> list[Printed]:
    """What was made and is still there, the sheets asked for first."""
    kept: list[Printed] = []
    with contextlib.suppress(OSError, ValueError, TypeError):
        kept = [Printed(**one) for one in json.loads((folder.path / "out" / _RECORD).read_text(encoding="utf-8"))]
    order = list(_WHAT)
    kept = [one for one in kept if _inside(folder, one.file)]
    return sorted(
        kept, key=lambda one: order.index(last) if (last := one.file.rpartition("/")[2]) in order else len(order)
    )


def _inside(folder: Folder, file: str) -> bool:
    """Whether a file lies where this program writes, and is there."""
    under, _, last = file.rpartition("/")
    return under in ("", FITTED) and last[:1] not in ("", ".") and (folder.path / "out" / file).is_file()


def as_shown(folder: Folder) -> list[dict[str, Any]]:
    """Every file once; stale ones are marked."""
    sign = folder.block_sign()
    return [
        {
            "id": f"f{digest_of(one.file)}",
            "file": one.file,
            "name": one.name,
            "what": one.what,
            "size": (folder.path / "out" / one.file).stat().st_size,
            "stale": one.of != sign,
        }
        for one in printed(folder)
    ]


def how_printed(folder: Folder) -> str:
    """``none``, ``stale`` or ``fresh``: whether the sheets that were made are those of the block as it stands."""
    sheets = [one for one in printed(folder) if one.what == "print"]
    sign = folder.block_sign()
    return "none" if not sheets else "fresh" if any(one.of == sign for one in sheets) else "stale"
