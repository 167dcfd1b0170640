"""The one table of what can be told, against all that read it, write it and explain it."""

import re
from dataclasses import fields
from pathlib import Path

import convert.job
from convert.job.file import PictureTable
from convert.job.tellable import TELLABLE
from convert.job.told import PictureTold

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


def test_what_can_be_said_not_to_be_there_is_explained_so() -> None:
    table = PAPER.split("What is put right by hand")[1]
    for one in TELLABLE.values():
        row = next(row for row in table.splitlines() if row.startswith("|") and f"`{one.key}`" in row.split("|")[1])
        assert ("`false`" in row) == one.replaces, one.key
