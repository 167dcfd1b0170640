"""Only this machine's browser with this start's token is answered; no path comes from a request."""

from pathlib import Path

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
