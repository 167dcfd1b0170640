"""Only this machine's browser with this start's token is answered; no path comes from a request."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest

from convert.page.server.static_files import known_files
from tests.convert.page.server import PORT, TOKEN, Window

ROOT = Path(__file__).parents[3]


def test_the_first_call_makes_the_token_a_cookie(window: Window) -> None:
    window.headers = {}
    assert window.refused("GET", "/api/jobs")["code"] == "token"
    welcome = window.ask("GET", f"/?token={TOKEN}")
    assert (welcome.status_code, welcome.headers["location"]) == (303, "/")
    cookie = welcome.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert TOKEN in cookie.split(";")[0]
    window.headers = {"Cookie": cookie.split(";")[0]}
    assert window.get("/api/jobs")["jobs"] == []


@pytest.mark.parametrize("token", ["", "another", TOKEN + "x", TOKEN[:-1], "ü"])
def test_another_token_is_refused(window: Window, token: str) -> None:
    window.headers = {"X-Ownblock-Token": token.encode()}
    assert window.refused("GET", "/api/jobs")["status"] == "401"
    assert window.refused("GET", "/", params={"token": token})["status"] == "401"


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"0.0.0.0:{PORT}", ""]
)
def test_another_name_for_this_machine_is_refused(window: Window, host: str) -> None:
    """A foreign site can give 127.0.0.1 a name of its own: what it calls then is not answered."""
    assert window.refused("GET", "/api/jobs", headers={"Host": host})["code"] == "host"
    assert window.refused("GET", "/", headers={"Host": host})["code"] == "host"


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", f"https://127.0.0.1:{PORT}", f"http://127.0.0.1:{PORT + 1}"]
)
def test_another_page_is_refused(window: Window, origin: str) -> None:
    assert window.refused("POST", "/api/jobs", {"title": "x"}, headers={"Origin": origin})["code"] == "origin"
    assert window.get("/api/jobs")["jobs"] == []


def test_its_own_page_is_let_in(window: Window) -> None:
    for host in ("127.0.0.1", "localhost"):
        origin = f"http://{host}:{PORT}"
        window.base = origin
        assert window.ask("GET", "/api/jobs", headers={"Origin": origin}).status_code == 200


def test_every_answer_keeps_the_page_to_itself(window: Window) -> None:
    for path in ("/", "/api/jobs", "/nothing", "/static/app.js"):
        headers = window.ask("GET", path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy
        assert "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"
    assert window.ask("GET", "/api/jobs").headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static//etc/passwd",
        "/static/%2fetc%2fpasswd",
        "/static/steps/../../app.py",
        "/static/",
        "/static/.hidden",
        "/api/jobs/..",
        "/api/jobs/%2e%2e%2f%2e%2e/files/x",
        "/api/jobs/../../etc/passwd",
    ],
)
def test_no_path_leads_out(window: Window, path: str) -> None:
    assert window.refused("GET", path)["code"] in ("missing", "request")


def test_only_the_pages_own_files_are_served() -> None:
    for name, path in known_files().items():
        inside = (ROOT / "convert" / "page" / "static", ROOT / "convert" / "paper" / "fonts")
        assert any(path.resolve().is_relative_to(place) for place in inside), name


def test_files_of_a_job_have_ids_only(window: Window, tmp_path: Path) -> None:
    job = window.change("POST", "/api/jobs", {"title": "A"})["id"]
    (tmp_path / "secret.pdf").write_bytes(b"%PDF secret")
    for name in ("../../secret.pdf", "..%2f..%2fsecret.pdf", "block.pdf", "fffffffffff"):
        window.refused("GET", f"/api/jobs/{job}/files/{name}")
        window.refused("GET", f"/api/jobs/{job}/pictures/{name}/image")


def test_titles_are_words_not_paths(window: Window, tmp_path: Path) -> None:
    for title in ("../../outside", "/etc/cron.d/x", "a\0b", "CON", "..", "", "x" * 300, "Bluse für Ä."):
        answer = window.ask("POST", "/api/jobs", {"title": title})
        assert answer.status_code == 201, answer.text
    below = {path.parent for path in tmp_path.rglob("job.toml")}
    assert len(below) == 8
    assert all(place.parent == tmp_path and place.name == place.name.strip(". ") for place in below)


def test_a_body_too_large_is_refused(window: Window) -> None:
    assert window.refused("POST", "/api/jobs", {"title": "x" * 5_000_000})["status"] == "413"


def test_a_name_is_good_for_one_opening(window: Window) -> None:
    """Whoever reads it in a list of processes afterwards gets nothing."""
    window.headers = {}
    assert window.ask("GET", f"/?token={TOKEN}").status_code == 303
    assert window.refused("GET", f"/?token={TOKEN}")["status"] == "401"


BROWSER = """import sys, pathlib
pathlib.Path(sys.argv[1]).write_text("\\n".join(sys.argv[2:]))
"""


def test_another_user_of_the_machine_gets_nothing(tmp_path: Path) -> None:
    """What the browser is started with opens nothing; all that is written is readable by its owner alone."""
    script, seen = tmp_path / "browser.py", tmp_path / "seen.txt"
    script.write_text(BROWSER)
    env = {**os.environ, "HOME": str(tmp_path), "BROWSER": f"{sys.executable} {script} {seen} %s"}
    words = [sys.executable, "-m", "convert.cli.main", "open"]
    with subprocess.Popen(words, env=env, stderr=subprocess.PIPE, text=True, cwd=Path(__file__).parents[3]) as running:
        try:
            door = tmp_path / "ownblock" / "Open ownblock.html"
            assert soon(lambda: seen.is_file() and seen.read_text() and door.is_file())
            assert seen.read_text() == door.as_uri(), "no name and no token among the browser's words"
            everything = [
                one.read_bytes().replace(b"\0", b" ")
                for one in Path("/proc").glob("[0-9]*/cmdline")
                if one.parent.exists() and os.access(one, os.R_OK)
            ]
            address = re.search(r"http://127[^\"]*", door.read_text())
            assert address is not None
            assert not [one for one in everything if address[0].rpartition("=")[2].encode() in one]
            with httpx.Client(follow_redirects=True, timeout=20) as client:
                base = address[0].partition("?")[0]
                assert client.get(f"{base}api/jobs").status_code == 401
                assert client.get(address[0]).status_code == 200
                assert client.post(f"{base}api/jobs", json={"title": "A"}).status_code == 201
                assert httpx.get(address[0]).status_code == 401, "a name that was used"
                fresh = re.search(r"http://127[^\"]*", door.read_text())
                assert fresh is not None
                assert httpx.get(fresh[0]).status_code == 303, "the file opens the last page again"
                again = subprocess.run(words, env=env, capture_output=True, text=True, cwd=Path(__file__).parents[3])
                assert again.returncode == 0
                assert "running already" in again.stderr
                written = [door, *(tmp_path / "ownblock").rglob("*")]
                assert len(written) > 3
                assert {one.name: oct(one.stat().st_mode) for one in written if one.stat().st_mode & 0o077} == {}
                assert client.post(f"{base}api/stop").status_code == 202
            assert running.wait(timeout=30) == 0
            assert not door.exists()
        finally:
            running.kill()


def soon(true: Callable[[], object]) -> bool:
    """Whether something comes true within half a minute."""
    for _ in range(300):
        if true():
            return True
        time.sleep(0.1)
    return False
