"""Schemathesis asks every address what it should never be asked, as /openapi.json describes it: no fault, one shape.

Source of the checks: schemathesis' own (server errors, status codes, content types and schemas as documented).
"""

from typing import Any

import pytest
from fastapi import FastAPI

from tests.convert.page.server import BASE, TOKEN, Window
from tests.lab import SAMPLES

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed")
hypothesis = pytest.importorskip("hypothesis")
EXAMPLES = 6


FRONT = SAMPLES / "wardrobe" / "s1_front" / "photo.jpg"


@pytest.fixture
def described(app: FastAPI, window: Window) -> Any:
    return app, window.get("/openapi.json")


@pytest.fixture
def ids(window: Window) -> dict[str, str]:
    """A job with a piece that is read, so that what is asked gets past the door."""
    job = window.change("POST", "/api/jobs", {"title": "A"})["id"]
    window.change("PATCH", f"/api/jobs/{job}", {"grid": "1cm"})
    picture = window.bring(job, FRONT.read_bytes()).json()["picture"]
    piece = window.change("POST", f"/api/jobs/{job}/pieces", {"kind": "bodice front", "pictures": [picture]})["id"]
    window.change("PUT", f"/api/jobs/{job}/maker", {"entries": {"bust": "94", "waist": "79"}})
    window.read_all(job)
    return {"job": job, "picture": picture, "piece": piece}


def test_the_description_is_whole(described: Any) -> None:
    _, schema = described
    assert len(schema["paths"]) > 25
    for path, methods in schema["paths"].items():
        for method, operation in methods.items():
            assert operation.get("description") or operation.get("summary"), (method, path)
            assert "4XX" in operation["responses"], (method, path)


@pytest.mark.filterwarnings("ignore")
def test_nothing_that_is_asked_breaks_it(described: Any, ids: dict[str, str]) -> None:
    app, schema = described
    loaded = schemathesis.openapi.from_dict(schema)
    loaded.app = app
    window = Window(app)
    asked = 0

    for result in loaded.get_all_operations():
        operation = result.ok()
        if operation.path.endswith("/events"):
            continue

        @hypothesis.settings(
            max_examples=EXAMPLES,
            deadline=None,
            database=None,
            derandomize=True,
            suppress_health_check=list(hypothesis.HealthCheck),
            phases=[hypothesis.Phase.generate],
        )
        @hypothesis.given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            nonlocal asked
            asked += 1
            case.path_parameters = {
                **(case.path_parameters or {}),
                **{k: v for k, v in ids.items() if f"{{{k}}}" in case.path},
            }
            sent = case.as_transport_kwargs(base_url=BASE)
            headers = {**dict(sent.get("headers") or {}), "X-Ownblock-Token": TOKEN}
            if case.method not in ("GET", "DELETE"):  # a piece taken out could be asked nothing more
                headers["If-Match"] = window.get(f"/api/jobs/{ids['job']}")["revision"]
            headers = {key: str(value).encode("utf-8", "replace") for key, value in headers.items() if key != "Host"}
            body: dict[str, Any] = {}
            if sent.get("json") is not None:
                body["json"] = sent["json"]
            elif sent.get("data") is not None:
                data = sent["data"]
                body["content"] = data if isinstance(data, bytes) else str(data).encode()
            answer = _asked(window, case.method, sent["url"], headers, sent.get("params"), body)
            assert answer.status_code < 500, (case.method, sent["url"], body, answer.text)
            if answer.status_code >= 400:
                assert set(answer.json()) == {"problem", "remedy", "code"}, answer.text

        ask()
    assert asked > 100


def _asked(window: Window, method: str, url: str, headers: dict[str, bytes], params: Any, body: dict[str, Any]) -> Any:
    import asyncio

    import httpx

    async def run() -> httpx.Response:
        transport = httpx.ASGITransport(app=window.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url=BASE, timeout=120) as client:
            return await client.request(method, url, headers=headers, params=params, **body)

    return asyncio.run(run())
