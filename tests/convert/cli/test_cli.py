"""The command line as a person meets it: help, exit codes, one sentence and a remedy."""

import json
import os
import re
import shlex
import shutil
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from convert.cli import main as cli
from convert.cli import tracing
from convert.pipeline.look import Look
from convert.pipeline.name import PieceRead
from tests.lab import SAMPLES

ROOT = Path(__file__).parents[3]
FRONT = SAMPLES / "wardrobe" / "s1_front" / "photo.jpg"


def run(*words: str | Path) -> int:
    """Exit code of the command line in this process."""
    return cli.run([str(word) for word in words])


def command_of(name: str) -> click.Command:
    command = cli.ownblock.get_command(click.Context(cli.ownblock), name)
    assert command is not None
    return command


def test_help_loads_nothing_heavy() -> None:
    """It answers in a blink because it loads no library but click; what it takes is told by tests/bench/clocks.py."""
    heavy = ("numpy", "scipy", "cv2", "shapely", "pydantic", "fastapi", "reportlab", "ezdxf", "rapidocr", "PIL")
    words = (
        "import sys; from convert.cli import main as cli; code = cli.run(['--help']); "
        f"print('heavy:', *[name for name in {heavy!r} if name in sys.modules]); sys.exit(code)"
    )
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr
    assert "make" in done.stdout
    assert done.stdout.splitlines()[-1] == "heavy:"


@pytest.mark.parametrize("name", cli.COMMANDS)
def test_every_command_helps_with_an_example(name: str) -> None:
    for word in ("-h", "--help"):
        shown = CliRunner().invoke(cli.ownblock, [name, word])
        assert shown.exit_code == 0
        assert f"ownblock {name}" in shown.output.split("Example")[1]


@pytest.mark.parametrize("name", [name for name in cli.COMMANDS if name not in ("make", "compare", "toile", "open")])
def test_examples_run(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    if name in ("print", "practice"):  # their examples come after make's
        shutil.copytree(request.getfixturevalue("demo_made"), tmp_path / "sample_scans" / "wardrobe")
    else:
        (tmp_path / "sample_scans").symlink_to(SAMPLES)
    monkeypatch.chdir(tmp_path)
    for line in re.findall(rf"^\s*(ownblock {name} .*)$", command_of(name).help or "", re.MULTILINE):
        assert run(*shlex.split(line)[1:]) == 0, line


def test_the_page_is_served_until_it_is_interrupted(tmp_path: Path) -> None:
    """The example of ``open``, without a browser: the address is said, answers, and Ctrl+C ends it quietly."""
    (tmp_path / "sample_scans").symlink_to(SAMPLES)
    words = [sys.executable, "-m", "convert.cli.main", "open", "sample_scans/wardrobe", "--no-browser"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(words, cwd=tmp_path, env=environment, stderr=subprocess.PIPE, text=True) as serving:
        assert serving.stderr is not None
        try:
            address = re.search(r"http://\S+", serving.stderr.readline())
            assert address is not None
            with urllib.request.build_opener(urllib.request.HTTPCookieProcessor()).open(address[0], timeout=20) as page:
                assert page.status == 200
                assert b"ownblock" in page.read()
        finally:
            serving.send_signal(signal.SIGINT)
            assert serving.wait(timeout=30) in (0, 130)
            assert "Traceback" not in serving.stderr.read()


def test_unknown_words_are_the_commands_own_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("trase") == 2
    assert run("trace", FRONT, "--grid", "1cm", "--piece", "bodice sideways", "--out", "never.json") == 2
    assert "bodice front" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("empty.jpg", b""),
        ("words.jpg", b"this is a shopping list, not a picture"),
        ("cut.jpg", FRONT.read_bytes()[:30_000]),
    ],
)
def test_what_is_no_picture_is_refused(
    name: str, content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture, out = tmp_path / name, tmp_path / "piece.json"
    picture.write_bytes(content)
    assert run("trace", picture, "--grid", "1cm", "--piece", "bodice front", "--out", out) == 3
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 2, said
    assert name in said[0]
    assert not out.exists()


def test_a_missing_picture_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("trace", tmp_path / "gone.jpg", "--grid", "1cm", "--piece", "sleeve", "--out", tmp_path / "p.json") == 3
    assert "gone.jpg" in capsys.readouterr().err


def test_nothing_is_overwritten_unasked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "piece.json"
    out.write_text("drawn by hand")
    assert run("trace", FRONT, "--grid", "1cm", "--piece", "bodice front", "--out", out) == 4
    assert "--overwrite" in capsys.readouterr().err
    assert out.read_text() == "drawn by hand"


def test_a_grid_must_be_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("trace", FRONT, "--piece", "bodice front", "--out", tmp_path / "p.json") == 2
    assert "--grid" in capsys.readouterr().err


def test_trace_writes_the_contract(tmp_path: Path) -> None:
    out, svg = tmp_path / "piece.json", tmp_path / "piece.svg"
    assert run("trace", FRONT, "--grid", "1cm", "--piece", "bodice front", "--out", out, "--svg", svg, "-q") == 0
    record = json.loads(out.read_text())
    assert (record["format"], record["version"], record["y"]) == ("ownblock-piece", 1, "up")
    assert [edge["name"] for edge in record["edges"]] == [
        "waist",
        "side seam",
        "armhole",
        "shoulder",
        "neckline",
        "centre front",
    ]
    for edge, after in zip(record["edges"], record["edges"][1:] + record["edges"][:1], strict=True):
        assert edge["points"][-1] == after["points"][0]
    truth = json.loads((FRONT.parent / "truth.json").read_text())["piece"]["piece_measurements"]
    measured = {one["name"]: one for one in record["measurements"]}
    # the paper stands up to 1 mm off the mat: that is 0.1 % of a length, and in the stated interval
    for name, true in (("bust", "bust_width_at_underarm"), ("waist", "waist_net"), ("side seam", "side_seam_net")):
        assert measured[name]["mm"] == pytest.approx(truth[true], abs=1.0)
        assert abs(measured[name]["mm"] - truth[true]) <= measured[name]["uncertainty_mm"]
    assert "<image" in svg.read_text()


def test_told_allowance_wins(tmp_path: Path, demo_front: PieceRead, monkeypatch: pytest.MonkeyPatch) -> None:
    look = Look(read=demo_front.read, tracings=(demo_front.tracing,))
    monkeypatch.setattr(tracing, "look", lambda *_, **__: (look,))  # it is what the seam is made of that counts here
    out = tmp_path / "piece.json"
    words = ("--allowance", "12mm", "--allowance", "side seam=19mm", "--fold", "centre front")
    assert run("trace", FRONT, "--grid", "1cm", "--piece", "bodice front", "--out", out, "-q", *words) == 0
    edges = {edge["name"]: edge for edge in json.loads(out.read_text())["edges"]}
    assert (edges["side seam"]["allowance"], edges["side seam"]["evidence"]) == (19.0, "told")
    assert (edges["shoulder"]["allowance"], edges["shoulder"]["evidence"]) == (12.0, "told")
    assert edges["centre front"]["allowance"] == 0.0


def test_no_connection_is_ever_opened() -> None:
    """Measurements stay on the maker's machine: nothing in the program imports a way out.

    One place knocks at an address: whether the page is open already on this very machine.
    """
    opening = (ROOT / "convert/cli/opening.py").read_text(encoding="utf-8")
    assert re.findall(r"create_connection\(\((\w+),", opening) == ["HOST"]
    assert re.findall(r"^HOST = (.*)$", opening, re.M) == ['"127.0.0.1"']
    assert len(re.findall(r"socket\.", opening)) == 1
    for package in ("calibration", "convert"):
        for path in (ROOT / package).rglob("*.py"):
            found = re.findall(
                r"^\s*(?:import|from)\s+(socket|urllib\.request|http\.client|requests|httpx|ftplib)\b",
                path.read_text(),
                re.M,
            )
            allowed = ["socket"] if path == ROOT / "convert/cli/opening.py" else []
            assert found in ([], allowed), path


if os.name == "nt":  # pragma: no cover
    pytest.skip("symbolic links need rights on this system", allow_module_level=True)
