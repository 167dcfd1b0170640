"""Thousands of spoilt inputs at every door: each is read, or refused with a problem and a remedy; nothing else happens.

A spoilt input is a sound one with one or two things changed: a value put in place of another, a line lost, doubled or
torn, a character that does not belong. The same seeds spoil the same way every time.
"""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from calibration.ground.errors import OwnblockError
from convert.body.read_card import read_card
from convert.job.fittings import read_fittings
from convert.job.job import read_job
from convert.paper.draw.draw_piece import draw_piece
from convert.paper.draw.svg import svg_page
from convert.piece.record import from_record, to_record
from convert.redrawn.read_svg import read_layers
from tests.convert.paper.plain_pieces import bodice
from tests.convert.paper.test_svg import WORDS

JOB = """title = "Blouse of the second act"
grid = "1cm"
unit = "cm"
[pattern]
chart = "misses"
size = 14
year = 1972
body = { bust = "90 cm", waist = 71 }
[[pieces]]
piece = "bodice front"
pictures = ["front.jpg", "more.jpg"]
allowance = { "side seam" = "19 mm", waist = "4 cm" }
fold = "centre front"
size = 3
at = "left"
[pieces.on."front.jpg"]
crop = [[0, 0], [800, 900]]
[[pieces]]
piece = "sleeve"
pictures = ["sleeve.jpg"]
scan = true
[block]
ease = { word = "close", bust = "6 cm" }
[paper]
size = "A4"
scale = "full"
overlap = "1 cm"
allowance = "15 mm"
"""
CARD = """name = "maker A"
unit = "cm"
[measurements]
bust = 94
"high bust" = "89,5"
waist = 79
hip = "102 cm"
height = "1.65 m"
"upper arm" = 29.5
"""
TOILE = """[[fittings]]
date = 2026-11-25
note = "second fitting"
changes = ["side seam, bodice back: in 1 cm", "above the waist: shorten 1.5 cm"]
[[fittings]]
changes = ["waist: let out 2 cm"]
undone = true
"""
ODD = (
    *("1e309", "-1e309", "nan", "inf", "-1", "0", "1e-320", "9" * 400, "1979-05-27", "true", "[]", "{}", '""', "[[]]"),
    *(
        '"' + "x" * 5000 + '"',
        '"../../../etc"',
        '"\\u0000"',
        '"\\u202e½ 1/0"',
        '"1/0 in"',
        '"1e309 cm"',
        '"nan cm"',
        "07",
    ),
    *(
        '["a", 1, [2]]',
        "{ a = { b = 1 } }",
        '"' + "é" * 300 + '.jpg"',
        '"front.jpg/inside"',
        '"."',
        '"٣"',
        '"1 2 3/4 5"',
    ),
)
VALUE = re.compile(r"\"[^\"\n]*\"|-?\d+(?:\.\d+)?|true|false")


def spoilt(text: str, rng: np.random.Generator) -> str:
    """The text with one or two things changed."""
    for _ in range(int(rng.integers(1, 3))):
        lines = text.split("\n")
        at = int(rng.integers(len(lines)))
        what = int(rng.integers(8))
        if what <= 3 and (values := list(VALUE.finditer(text))):
            one = values[int(rng.integers(len(values)))]
            text = text[: one.start()] + ODD[int(rng.integers(len(ODD)))] + text[one.end() :]
        elif what == 4:
            text = "\n".join([*lines[:at], *lines[at + 1 :]])
        elif what == 5:
            text = "\n".join([*lines[: at + 1], *lines[at:]])
        elif what == 6:
            text = text[: int(rng.integers(len(text) + 1))]
        else:
            place = int(rng.integers(len(text) + 1))
            text = text[:place] + str(rng.choice(list('"[]{}=,.#\n\x00\ufeff½-'))) + text[place + 1 :]
    return text


def opened(door: Callable[[], object]) -> bool:
    """Whether a door read what was brought; if it refused, it must have said what is wrong and what to do."""
    try:
        door()
    except OwnblockError as err:
        if not (err.problem and err.remedy):
            raise AssertionError("a refusal without words") from err
        return False
    return True


def tried(count: int, once: Callable[[np.random.Generator], Callable[[], object]]) -> tuple[int, list[str]]:
    """How many of so many spoilt inputs were read, and those at which something else than a refusal happened."""
    read, faults = 0, []
    for seed in range(count):
        door = once(np.random.default_rng(seed))
        try:
            read += opened(door)
        except Exception as err:  # whatever it is, it is what the test is about
            faults.append(f"seed {seed}: {type(err).__name__}: {str(err)[:90]}")
    return read, faults


@pytest.mark.parametrize(
    ("name", "text", "door", "count"),
    [
        ("job.toml", JOB, read_job, 1500),
        ("maker.toml", CARD, lambda folder: read_card(folder / "maker.toml"), 800),
        ("toile.toml", TOILE, read_fittings, 600),
    ],
)
def test_a_spoilt_file_is_read_or_refused(
    tmp_path: Path, name: str, text: str, door: Callable[[Path], object], count: int
) -> None:
    for picture in ("front.jpg", "more.jpg", "sleeve.jpg"):
        (tmp_path / picture).touch()
    (tmp_path / "maker.toml").write_text(CARD, encoding="utf-8")
    (tmp_path / name).write_text(text, encoding="utf-8")
    assert opened(lambda: door(tmp_path))

    def once(rng: np.random.Generator) -> Callable[[], object]:
        (tmp_path / name).write_text(spoilt(text, rng), encoding="utf-8")
        return lambda: door(tmp_path)

    read, faults = tried(count, once)
    assert faults == []
    assert 0 < read < count  # some harm nothing, most are refused


@pytest.mark.parametrize("value", ["x" * 5000 + ".jpg", "a\\u0000b.jpg"])
@pytest.mark.parametrize("entry", ["pictures", "chart", "drawn"])
def test_a_file_name_that_no_disk_can_hold_is_refused(tmp_path: Path, entry: str, value: str) -> None:
    """Found by spoiling: the system's own error came through."""
    (tmp_path / "front.jpg").touch()
    (tmp_path / "maker.toml").write_text(CARD, encoding="utf-8")
    picture = value if entry == "pictures" else "front.jpg"
    more = f'[pattern]\nchart = "{value}.toml"\nsize = 1\n' if entry == "chart" else ""
    more += f'[block]\ndrawn = "{value}"\n' if entry == "drawn" else ""
    (tmp_path / "job.toml").write_text(
        f'grid = "1cm"\n[[pieces]]\npiece = "sleeve"\npictures = ["{picture}"]\n{more}', encoding="utf-8"
    )
    assert not opened(lambda: read_job(tmp_path))


def test_a_spoilt_drawing_is_read_or_refused() -> None:
    sound = svg_page([draw_piece(bodice("bodice front"), WORDS)], title="Block", description="Full size")
    assert opened(lambda: read_layers(sound))
    number = re.compile(r"-?\d+(?:\.\d+)?(?:mm)?")

    def once(rng: np.random.Generator) -> Callable[[], object]:
        if rng.random() < 0.5:
            text = spoilt(sound, rng)
        else:
            values = list(number.finditer(sound))
            one = values[int(rng.integers(len(values)))]
            odd = str(rng.choice(["1e309", "-1e309mm", "nan", "inf", "0", "", "1e308", "-", "1e-320", "%", "100%"]))
            text = sound[: one.start()] + odd + sound[one.end() :]
        return lambda: read_layers(text)

    read, faults = tried(120, once)
    assert faults == []
    assert 0 < read < 120


@pytest.mark.parametrize("length", ["1e309", "1e309mm", "-1e309mm", "nan", "inf"])
def test_a_drawing_of_no_size_is_refused(length: str) -> None:
    """Found by spoiling: a length beyond every number came through as a fault of the program."""
    sound = svg_page([draw_piece(bodice("bodice front"), WORDS)], title="Block", description="Full size")
    spoilt_size = re.sub(r'height="[^"]*"', f'height="{length}"', sound, count=1)
    assert spoilt_size != sound
    assert not opened(lambda: read_layers(spoilt_size))


WRONG: tuple[Any, ...] = (
    None,
    [],
    {},
    "",
    "x" * 5000,
    -1,
    0,
    1e308,
    float("nan"),
    float("inf"),
    True,
    [[1, 2]],
    [1],
    10**30,
)


def spoilt_record(value: Any, rng: np.random.Generator) -> Any:
    """A record with one thing in it, at any depth, left out or put in another's place."""
    if isinstance(value, dict) and value and rng.random() < 0.92:
        key = str(rng.choice(list(value)))
        if rng.random() < 0.1:
            return {name: one for name, one in value.items() if name != key}
        return {**value, key: spoilt_record(value[key], rng)}
    if isinstance(value, list) and value and rng.random() < 0.9:
        at = int(rng.integers(len(value)))
        if rng.random() < 0.2:
            return [*value[:at], *value[at + 1 :]]
        return [*value[:at], spoilt_record(value[at], rng), *value[at + 1 :]]
    return WRONG[int(rng.integers(len(WRONG)))]


def test_a_spoilt_piece_is_read_or_refused() -> None:
    sound = json.loads(json.dumps(to_record(bodice("bodice front"))))
    assert opened(lambda: from_record(sound))
    read, faults = tried(1200, lambda rng: lambda: from_record(spoilt_record(sound, rng)))
    assert faults == []
    assert 0 < read < 1200
