"""The one table of what can be told, against all that read it, write it and explain it."""

import re
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np

import convert.job
from calibration.sheet.on_sheet import PictureOnSheet
from calibration.sheet.scan_frame import ScanFrame
from convert.job.file import PictureTable
from convert.job.tellable import TELLABLE, Tellable
from convert.job.told import PictureTold
from convert.page.steps.piece import Told, add_told

PAPER = (Path(convert.job.__file__).parent / "JOB.md").read_text(encoding="utf-8")


def test_the_file_on_the_disk_has_just_these_entries() -> None:
    assert set(PictureTable.model_fields) == set(TELLABLE)


def test_the_value_behind_the_door_holds_them_all() -> None:
    held = {field.name for field in fields(PictureTold)}
    assert held == (set(TELLABLE) - {"add_darts"}) | {"no_darts"}  # darts added stand among the darts


def test_the_words_for_makers_explain_each() -> None:
    rows = re.findall(r"^\| (`[^|]*`) \|", PAPER.split("What is put right by hand")[1], re.MULTILINE)
    explained = {name for row in rows for name in re.findall(r"`(\w+)`", row)}
    assert explained == set(TELLABLE)


def test_all_that_lies_on_the_paper_can_be_told_on_the_page_and_is_shown_there() -> None:
    """``job.toml`` in pixels -> what the page shows in mm -> what the page may tell again."""
    on_paper = {key for key, one in TELLABLE.items() if one.frame == "sheet"}
    table = PictureTable.model_validate({key: _told(one) for key, one in TELLABLE.items() if key in on_paper})
    frame = ScanFrame(size_px=(2000, 1000), mm_per_px=np.array([0.1, 0.1]), origin_mm=np.zeros(2))
    shown: dict[str, Any] = {}
    add_told(shown, table, PictureOnSheet(frame=frame, move=np.eye(3)))
    assert set(shown) == on_paper
    again = Told.model_validate(shown).model_dump(exclude_unset=True)
    assert {key for key, value in again.items() if value} == on_paper


def _told(one: Tellable) -> Any:
    """Something that can be told of each shape, in pixels."""
    line = [[100.0, 100.0], [200.0, 150.0], [300.0, 120.0]][: max(one.counts or (3,))]
    dart = {"legs": [[10.0, 10.0], [20.0, 10.0]], "apexes": [[15.0, 60.0]]}
    holes = {"at": [[30.0, 40.0]], "means": "grain"}
    return {"edges": {"waist": line}, "darts": [dart], "holes": [holes], "stretches": [line]}.get(one.shape, line)


def test_what_can_be_said_not_to_be_there_is_explained_so() -> None:
    table = PAPER.split("What is put right by hand")[1]
    for one in TELLABLE.values():
        row = next(row for row in table.splitlines() if row.startswith("|") and f"`{one.key}`" in row.split("|")[1])
        assert ("`false`" in row) == one.replaces, one.key
