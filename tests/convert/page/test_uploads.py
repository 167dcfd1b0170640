"""Twenty things that are no picture of a pattern piece: each refused in words, the server alive, its memory flat."""

import io
import os
import re
import struct
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from tests.convert.page.server import Window
from tests.lab import SAMPLES

FRONT = (SAMPLES / "wardrobe" / "s1_front" / "photo.jpg").read_bytes()


def picture(size: tuple[int, int], kind: str, **more: Any) -> bytes:
    """A picture of noise."""
    noise = np.random.default_rng(1).integers(0, 255, (size[1], size[0], 3), np.uint8)
    out = io.BytesIO()
    Image.fromarray(noise).save(out, kind, **more)
    return out.getvalue()


def png_that_says(width: int, height: int) -> bytes:
    """A PNG of a few bytes whose head promises so many pixels. Source: ISO/IEC 15948, IHDR."""

    def part(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", zlib.compress(b"\0" * 1000)) + part(b"IEND", b"")


def bomb() -> bytes:
    """A true decompression bomb: 30000 by 30000 pixels of nothing in some kilobytes."""
    out = io.BytesIO()
    Image.new("1", (30_000, 30_000)).save(out, "PNG")
    return out.getvalue()


def gif() -> bytes:
    frames = [Image.new("P", (800, 600), colour) for colour in (0, 1, 2)]
    out = io.BytesIO()
    frames[0].save(out, "GIF", save_all=True, append_images=frames[1:])
    return out.getvalue()


SVG = b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'
WRONG: dict[str, Callable[[], bytes]] = {
    "nothing at all": lambda: b"",
    "text as JPEG": lambda: b"this is a shopping list, not a picture\n" * 50,
    "one byte": lambda: b"\xff",
    "a JPEG's first bytes": lambda: FRONT[:2],
    "a JPEG cut short": lambda: FRONT[:30_000],
    "a JPEG's head and noise": lambda: FRONT[:600] + os.urandom(5_000),
    "noise": lambda: os.urandom(100_000),
    "an SVG with a script": lambda: SVG,
    "an SVG after a remark": lambda: b'<?xml version="1.0"?><!-- x -->' + SVG,
    "a page": lambda: b"<!doctype html><script>alert(1)</script>",
    "a bomb": bomb,
    "a head that promises 2 gigapixels": lambda: png_that_says(50_000, 40_000),
    "a head that promises more than there is": lambda: png_that_says(4_000, 3_000),
    "zero pixels": lambda: png_that_says(0, 0),
    "a line": lambda: picture((20_000, 1), "PNG"),
    "a stamp": lambda: picture((64, 64), "JPEG"),
    "a film": gif,
    "a PDF with nothing in it": lambda: b"%PDF-1.4\n%%EOF\n",
    "an archive": lambda: b"PK\x03\x04" + os.urandom(2_000),
    "a program": lambda: b"\x7fELF" + os.urandom(2_000),
    "a TIFF that points nowhere": lambda: b"II*\0" + struct.pack("<I", 0xFFFFFFF0) + b"\0" * 64,
}


@pytest.fixture
def job(window: Window) -> str:
    made: str = window.change("POST", "/api/jobs", {"title": "Uploads"})["id"]
    return made


@pytest.mark.parametrize("what", WRONG)
def test_what_is_no_picture_is_refused_in_words(window: Window, job: str, tmp_path: Path, what: str) -> None:
    said = window.refused(
        "POST", f"/api/jobs/{job}/pictures", content=WRONG[what](), headers={"X-File-Name": "front.jpg"}
    )
    assert said["status"] in ("413", "422")
    assert "front.jpg" in said["problem"], said
    assert ".coming" not in said["problem"] + said["remedy"]
    assert str(tmp_path) not in said["problem"] + said["remedy"]
    assert window.get(f"/api/jobs/{job}")["pictures"] == []
    assert not list((tmp_path / "uploads" / "pictures").iterdir())


NAMES = [
    "../../../etc/passwd",
    "..%2F..%2F..%2Fetc%2Fpasswd",
    "..\\..\\windows\\system.ini",
    "/etc/passwd",
    "....//....//x.jpg",
    "a\x7fb.jpg",
    "%00.jpg",
    "CON.jpg",
    ".htaccess",
    "job.toml",
    "x" * 1500 + ".jpg",
    "<script>alert(1)</script>.jpg",
    "Ärmel%20vorn%20%26%20hinten.JPG",
    "%ff%fe",
    "",
    ".",
    "..",
]


def test_a_files_name_is_words_never_a_path(window: Window, job: str, tmp_path: Path) -> None:
    small = picture((700, 600), "PNG")
    before = {path for path in tmp_path.rglob("*") if path.is_file()}
    for name in NAMES:
        answer = window.bring(job, small, name)
        assert answer.status_code == 201, (name, answer.text)
    new = {path for path in tmp_path.rglob("*") if path.is_file()} - before
    assert len(new) == len(NAMES)
    for path in new:
        assert path.parent == tmp_path / "uploads" / "pictures"
        assert path.suffix == ".png", "the ending is what the content is"
        assert re.fullmatch("[a-z0-9][a-z0-9-]*", path.stem), path
        assert path.stem != "con"
    assert len(window.get(f"/api/jobs/{job}")["pictures"]) == len(NAMES)


def chunks(megabytes: int) -> Iterator[bytes]:
    yield FRONT[:1000]
    for _ in range(megabytes):
        yield b"\xff" * 1_000_000


def rss_mb() -> float:
    """Resident memory of this process. Source: proc(5), statm."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_200_megabytes_are_let_run_by(window: Window, job: str, tmp_path: Path) -> None:
    class Slowly:
        def __aiter__(self) -> Any:
            return self._given()

        async def _given(self) -> Any:
            for chunk in chunks(200):
                yield chunk

    for told in ({}, {"Content-Length": "200001000"}):
        before = rss_mb()
        said = window.refused(
            "POST", f"/api/jobs/{job}/pictures", content=Slowly(), headers={"X-File-Name": "big.jpg", **told}
        )
        assert (said["status"], said["code"]) == ("413", "too-big")
        assert "60 MB" in said["problem"]
        assert rss_mb() - before < 20
    assert not list((tmp_path / "uploads").rglob(".coming*"))


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_memory_stays_flat(window: Window, job: str) -> None:
    wrong = [WRONG[what]() for what in ("text as JPEG", "a bomb", "a JPEG cut short", "noise", "a film")]
    for data in (*wrong, FRONT):
        window.bring(job, data)
    before = rss_mb()
    for _ in range(4):
        for data in wrong:
            assert window.bring(job, data).status_code == 422
    assert rss_mb() - before < 15
    assert window.bring(job, FRONT).status_code == 201, "the server is alive"


def test_the_same_picture_twice_is_two_files(window: Window, job: str) -> None:
    one, other = (window.bring(job, FRONT, "front.jpg").json() for _ in range(2))
    assert (one["width"], one["height"]) == (4000, 3000)
    assert [one["name"], other["name"]] == ["front.jpg", "front-2.jpg"]
    assert one["picture"] != other["picture"]
