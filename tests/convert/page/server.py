"""The page's server without a socket, and a window that talks to it."""

import asyncio
import time
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

TOKEN, PORT = "a-token-of-this-start", 8123
BASE = f"http://127.0.0.1:{PORT}"


class Window:
    """One browser window: remembers the revision it has seen, as the page does."""

    def __init__(self, app: FastAPI, *, token: str = TOKEN, base: str = BASE) -> None:
        self.app = app
        self.base = base
        self.headers: dict[str, Any] = {"X-Ownblock-Token": token}
        self.revision: str | None = None

    def ask(self, method: str, path: str, body: Any = None, **more: Any) -> httpx.Response:
        """One request, answered whole."""
        headers = {**self.headers, **more.pop("headers", {})}
        if self.revision is not None and "If-Match" not in headers:
            headers["If-Match"] = f'"{self.revision}"'

        async def asked() -> httpx.Response:
            transport = httpx.ASGITransport(app=self.app, raise_app_exceptions=False)
            async with httpx.AsyncClient(transport=transport, base_url=self.base, timeout=300) as client:
                return await client.request(method, path, json=body, headers=headers, **more)

        answer = asyncio.run(asked())
        if (
            answer.content
            and answer.headers.get("content-type") == "application/json"
            and isinstance(answer.json(), dict)
        ):
            self.revision = answer.json().get("revision", self.revision)
        return answer

    def get(self, path: str, **more: Any) -> Any:
        """What a GET answers; it must go well."""
        answer = self.ask("GET", path, **more)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def change(self, method: str, path: str, body: Any = None, **more: Any) -> Any:
        """What a change answers; it must go well."""
        answer = self.ask(method, path, body, **more)
        assert answer.status_code in (200, 201, 202), answer.text
        return answer.json()

    def refused(self, method: str, path: str, body: Any = None, **more: Any) -> dict[str, str]:
        """What is said when something is refused: always the same shape."""
        answer = self.ask(method, path, body, **more)
        assert 400 <= answer.status_code < 500, (answer.status_code, answer.text[:200])
        said = answer.json()
        assert set(said) == {"problem", "remedy", "code"}, said
        assert len(said["problem"]) > 10
        assert len(said["remedy"]) > 3, said
        return {**said, "status": str(answer.status_code)}

    def bring(self, job: str, data: bytes, name: str = "front.jpg") -> httpx.Response:
        """Bring in a picture."""
        headers = {"Content-Type": "image/*", "X-File-Name": name.encode()}
        return self.ask("POST", f"/api/jobs/{job}/pictures", content=data, headers=headers)

    def read_all(self, job: str, *, seconds: float = 240.0) -> dict[str, Any]:
        """The job's state once nothing is being read any more."""
        until = time.monotonic() + seconds
        while True:
            state: dict[str, Any] = self.get(f"/api/jobs/{job}")
            if all(piece["state"] in ("read", "stuck") for piece in state["pieces"]):
                return state
            assert time.monotonic() < until, [piece["state"] for piece in state["pieces"]]
            time.sleep(0.1)


def alive(app: FastAPI, work: Callable[[], Coroutine[Any, Any, Any]]) -> Any:
    """Run something while the application is up."""

    async def run() -> Any:
        async with app.router.lifespan_context(app):
            return await work()

    return asyncio.run(run())


def copy_of(path: Path, target: Path) -> Path:
    """A job folder without what was made of it."""
    for file in path.rglob("*"):
        if file.is_file() and "out" not in file.relative_to(path).parts:
            there = target / file.relative_to(path)
            there.parent.mkdir(parents=True, exist_ok=True)
            there.write_bytes(file.read_bytes())
    return target
